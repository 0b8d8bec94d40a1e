"""The shop book: machines, stocks, recipes, coupons, readings and jobs done, in one SQLite file.

Every change is one transaction. The classic rollback journal is used, not the write-ahead log, since shared folders
on a network can't hold the latter. What is changed or removed is kept as an earlier state, so nothing that another
window wrote in between is ever lost.
"""

import itertools
import os
import re
import sqlite3
import uuid as uuids
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Literal

import platformdirs

from core.burning.machines import STARTING_MACHINES
from core.errors import TainError, UnreadableError, WriteError
from core.sheet.stock import STARTING_STOCKS
from core.shop_book.entries import (
    SEED_STAMP,
    Damaged,
    Entry,
    Listed,
    ListedEntries,
    body_of,
    check_entry,
    decoded,
    known_kind,
    looked_at,
    named,
    renamed,
    stamp_after,
    understood,
)
from core.shop_book.kinds import KINDS, SAME_NAMES
from core.shop_book.migrations import VERSION, migrate, version_of
from core.shop_book.words import digest_of, match_of, searched_words, timed_machine

FILE_NAME = "shop-book.sqlite"
BUSY_TIMEOUT_S = 10.0
_NAMES = uuids.UUID("6ed1b6a4-8b2b-4b7b-9a52-5c1a50f1d3a0")
"""Starting profiles get the same uuid in every book, so that books merge without doubling them."""
MOST_FOUND = 500
MOST_NAMED = 12
Merged = Literal["added", "updated", "kept", "unchanged"]
"""What became of an entry taken in: "kept" means that only its state went into the history of a newer one."""


class StaleEntryError(TainError):
    """The entry was changed elsewhere since it was read."""

    exit_code = 1


def book_path() -> Path:
    """Where the shop book lies: the user's data folder, or what ``TAIN_HOME`` names."""
    folder = Path(os.environ.get("TAIN_HOME") or platformdirs.user_data_dir("tain", appauthor=False))
    return folder / FILE_NAME


def open_book(path: Path | None = None) -> "ShopBook":
    """Open the shop book; made, with the starting profiles, where there is none; brought up to date where it is old.

    Raises UnreadableError (no shop book, damaged, or from a newer version), WriteError (can't be made or updated).
    """
    return ShopBook(path or book_path())


class ShopBook:
    """An open shop book. Use it as a context manager, in one thread; open another for another thread."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._next_number: dict[tuple[str, str], int] = {}
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise WriteError(f"The folder {path.parent} can't be made: {error.strerror or error}.") from None
        with self._translated("opened"):
            self._connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
        try:
            with self._translated("opened"):
                self._connection.execute("PRAGMA synchronous = EXTRA")
                self._bring_up_to_date()
        except BaseException:
            self._connection.close()
            raise

    def __enter__(self) -> "ShopBook":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file. Everything is on disk already."""
        self._connection.close()

    # --- reading -----------------------------------------------------------------------------------------------------

    def entries(self, kind: str, *, removed: bool = False) -> tuple[Entry, ...]:
        """All entries of a kind by name; ``removed`` gives the removed ones instead.

        Entries that can't be understood are left out here; ``damaged`` names them.
        """
        rows = self._rows("WHERE kind = ? AND removed = ? ORDER BY name, stamp", (kind, int(removed)))
        return tuple(entry for row in rows if (entry := understood(row)) is not None)

    def values(self, kind: str) -> tuple[Any, ...]:
        """The values of all entries of a kind, by name."""
        return tuple(entry.value for entry in self.entries(kind))

    def entry(self, uuid: str) -> Entry:
        """The entry of that uuid, removed or not. Raises UnreadableError when there is none."""
        for row in self._rows("WHERE uuid = ?", (uuid,)):
            return decoded(row)
        raise UnreadableError(f"The shop book has no entry {uuid}.")

    def find(self, kind: str, name: str) -> Entry:
        """The one entry of a kind whose name is, or alone contains, ``name``. Raises UnreadableError otherwise."""
        return self.entry(self.find_listed(kind, name).uuid)

    def find_listed(self, kind: str, name: str) -> Listed:
        """The same without its value, which may be damaged."""
        folded = name.strip().casefold()
        like, pattern = _containing([folded])
        with self._translated("read"):
            rows = self._connection.execute(
                f"SELECT uuid, kind, name, stamp, note FROM entry WHERE kind = ? AND removed = 0 {like}"
                " ORDER BY name, stamp",
                (kind, *pattern),
            ).fetchall()
        near = [Listed._make(row) for row in rows if folded in row[2].casefold()]
        exact = [one for one in near if one.name.casefold() == folded]
        found = exact or near
        if len(found) == 1:
            return found[0]
        offered = found or self.listed(kind)
        first = [one.name for one in offered[:MOST_NAMED]]
        more = f"; and {len(offered) - MOST_NAMED} more" if len(offered) > MOST_NAMED else ""
        problem = "more than one" if found else "no"
        raise UnreadableError(
            f"The shop book has {problem} {kind} “{name}”.",
            hint=f"It has: {'; '.join(first) or 'none yet'}{more}.",
        )

    def listed(self, kind: str | None = None, *, removed: bool = False) -> ListedEntries:
        """All entries by kind and name without their values, which are not even read."""
        found = []
        with self._translated("read"):
            for one in [kind] if kind else sorted(KINDS):  # in the order of the index, which holds all that is read
                rows = self._connection.execute(
                    "SELECT uuid, name, stamp, note FROM entry WHERE kind = ? AND removed = ?"
                    " ORDER BY kind, name, stamp",
                    (one, int(removed)),
                )
                found.append((one, rows.fetchall()))
        return ListedEntries(found)

    def search(self, words: str, *, kind: str | None = None, most: int = MOST_FOUND) -> tuple[Entry, ...]:
        """The first ``most`` entries, by kind and name, that hold every word: as the beginning of one of theirs in
        name, note or figures, or anywhere in the name. Case does not matter; no words find everything. The value of
        one that can't be understood is a ``Damaged``."""
        match, folded = match_of(words), words.casefold().split()
        of_kind, kinds = ("AND kind = ?", [kind]) if kind else ("", [])
        by_name = all(word.isascii() for word in folded)  # other words are found by the index alone
        like, patterns = _containing(folded)
        listed = f"SELECT kind, name, stamp, uuid FROM entry WHERE removed = 0 {of_kind}"
        indexed = "AND number IN (SELECT rowid FROM entry_words WHERE entry_words MATCH ?)"
        with self._translated("read"):
            rows = []
            if by_name:
                order = f"{listed} {like} ORDER BY kind, name, stamp LIMIT ?"
                rows = self._connection.execute(order, (*kinds, *patterns, most)).fetchall()
            if match:
                order = f"{listed} {indexed} ORDER BY kind, name, stamp LIMIT ?"
                rows += self._connection.execute(order, (*kinds, match, most)).fetchall()
        found = [uuid for *_, uuid in sorted(set(rows))[:most]]
        return tuple(looked_at(row) for uuid in found for row in self._rows("WHERE uuid = ?", (uuid,)))  # fmt: skip

    def timed_jobs(self, *, most: int) -> dict[str, tuple[Any, ...]]:
        """The newest values of timed jobs, at most so many of each machine, by the machine's name."""
        with self._translated("read"):
            machines = self._connection.execute(
                "SELECT DISTINCT machine FROM entry WHERE machine != '' AND removed = 0 ORDER BY machine"
            ).fetchall()
        found = {}
        for (machine,) in machines:
            rows = self._rows("WHERE machine = ? AND machine != '' AND removed = 0 ORDER BY stamp DESC LIMIT ?",
                              (machine, most))  # fmt: skip
            found[machine] = tuple(entry.value for row in reversed(rows) if (entry := understood(row)) is not None)
        return found

    def history(self, uuid: str) -> tuple[Entry, ...]:
        """All states of an entry, newest first; the first is how it stands.

        The value of a state that can't be understood is a ``Damaged``, so that it can be looked at and another state
        brought back. Raises UnreadableError when there is no such entry.
        """
        now = next(iter(self._rows("WHERE uuid = ?", (uuid,))), None)
        if now is None:
            raise UnreadableError(f"The shop book has no entry {uuid}.")
        with self._translated("read"):
            rows = self._connection.execute(
                "SELECT uuid, ? AS kind, name, body, stamp, removed, note FROM earlier WHERE uuid = ?"
                " ORDER BY stamp DESC",
                (now["kind"], uuid),
            ).fetchall()
        return tuple(looked_at(row) for row in (now, *map(named, rows)))

    def damaged(self) -> tuple[str, ...]:
        """One sentence for each entry that can't be understood."""
        problems = []
        for row in self._rows("WHERE removed = 0", ()):
            try:
                decoded(row)
            except UnreadableError as error:
                problems.append(error.message)
        return tuple(problems)

    # --- changing ----------------------------------------------------------------------------------------------------

    def add(self, kind: str, name: str, value: Any, *, note: str = "") -> Entry:
        """A new entry. Raises UnreadableError where it makes no sense, WriteError when it can't be written."""
        check_entry(kind, name, value, note)
        entry = Entry(uuid=str(uuids.uuid4()), kind=kind, name=name, value=value, stamp=stamp_after(""), note=note)
        with self.writing():
            self._insert(entry)
        return entry

    def change(
        self, uuid: str, value: Any, *, name: str | None = None, note: str = "", based_on: str | None = None
    ) -> Entry:
        """The entry with a new value, and its name where the value has one; the state before it is kept.

        based_on: the stamp of the state that was edited; StaleEntryError when the entry has changed since.
        """
        with self.writing():
            old = self.entry(uuid)
            if based_on is not None and based_on != old.stamp:
                raise StaleEntryError(
                    f"“{old.name}” was changed elsewhere in the meantime.", hint="Look at it again, then change it."
                )
            own_name = str(getattr(value, "name", old.name))
            check_entry(old.kind, name or own_name, value, note)
            new = replace(old, name=name or own_name, value=value, stamp=stamp_after(old.stamp), note=note)
            self._replace(new)
        return new

    def remove(self, uuid: str, *, note: str = "") -> None:
        """Take an entry out; ``revert`` brings it back."""
        with self.writing():
            old = self.entry(uuid)
            self._replace(replace(old, stamp=stamp_after(old.stamp), removed=True, note=note))

    def revert(self, uuid: str, stamp: str) -> Entry:
        """The entry as it stood at that stamp, as its newest state. Raises UnreadableError for no such state."""
        with self.writing():
            states = self.history(uuid)
            state = next((state for state in states if state.stamp == stamp), None)
            if state is None:
                raise UnreadableError(f"“{states[0].name}” has no state of {stamp}.", hint="See its history.")
            if isinstance(state.value, Damaged):
                raise UnreadableError(state.value.why, hint="Bring back a state that is whole.")
            new = replace(state, stamp=stamp_after(states[0].stamp), removed=False, note=f"as of {stamp}")
            self._replace(new)
            return new

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction: all of it lands, or, on any error, none. May be nested; the outermost one counts."""
        if self._connection.in_transaction:
            yield
            return
        with self._translated("changed"):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def take_in(self, entry: Entry, earlier: Sequence[Entry] = ()) -> Merged:
        """Merge an entry of another book, with its earlier states: the newer state stands, the other is kept.

        A starting profile is the same entry in every book; an entry of equal kind, name and value is the same, too.
        """
        with self.writing():
            row = next(iter(self._rows("WHERE uuid = ?", (entry.uuid,))), None)
            if row is not None and row["kind"] != entry.kind:
                raise UnreadableError(
                    f"“{entry.name}” comes as a {entry.kind}, but is a {row['kind']} here (“{row['name']}”)."
                )
            if row is None:
                if entry.removed or self._has_equal(entry):
                    return "unchanged"
                clashes = entry.kind not in SAME_NAMES and self._has_name(entry.kind, entry.name)
                self._insert(renamed(entry, self._free_name(entry.kind, entry.name)) if clashes else entry)
                result: Merged = "added"
            elif entry.stamp > row["stamp"]:
                self._replace(entry)
                result = "updated"
            else:
                result = "kept" if entry.stamp != row["stamp"] and self._keep_earlier(entry) else "unchanged"
            new = [self._keep_earlier(state) for state in earlier if row is None or state.stamp != row["stamp"]]
            return "kept" if result == "unchanged" and any(new) else result

    # --- rows --------------------------------------------------------------------------------------------------------

    def _rows(self, where: str, values: tuple[Any, ...]) -> list[dict[str, Any]]:
        with self._translated("read"):
            sql = f"SELECT uuid, kind, name, body, stamp, removed, note FROM entry {where}"
            return [named(row) for row in self._connection.execute(sql, values).fetchall()]

    def _has_name(self, kind: str, name: str) -> bool:
        return self._connection.execute(
            "SELECT 1 FROM entry WHERE kind = ? AND name = ? AND removed = 0", (kind, name)
        ).fetchone() is not None  # fmt: skip

    def _has_equal(self, entry: Entry) -> bool:
        """Whether an entry of this kind, name and value stands already; a clash may have given it a number."""
        digest = digest_of(body_of(entry.value))
        return self._connection.execute(
            "SELECT 1 FROM entry WHERE kind = ? AND name = ? AND digest = ? AND removed = 0",
            (entry.kind, entry.name, digest),
        ).fetchone() is not None  # fmt: skip

    def _free_name(self, kind: str, name: str) -> str:
        """The name with the next number that is free; where it was looked for before, from the last one on."""
        for number in itertools.count(self._next_number.get((kind, name), 2)):
            if not self._has_name(kind, trial := f"{name} ({number})"):
                self._next_number[kind, name] = number + 1
                return trial
        raise AssertionError("numbers do not end")

    def _insert(self, entry: Entry) -> None:
        body = body_of(entry.value)
        self._connection.execute(
            "INSERT INTO entry (uuid, kind, name, body, stamp, removed, note, digest, machine, number)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, (SELECT coalesce(max(number), 0) + 1 FROM entry))",
            (
                entry.uuid, known_kind(entry.kind), entry.name, body, entry.stamp, entry.removed, entry.note,
                digest_of(body), timed_machine(entry.kind, body),
            ),
        )  # fmt: skip
        self._index(entry, body)

    def _replace(self, entry: Entry) -> None:
        """Put a newer state in place of the present one, which is kept as an earlier one."""
        body = body_of(entry.value)
        self._connection.execute(
            "INSERT OR IGNORE INTO earlier (uuid, stamp, name, body, removed, note)"
            " SELECT uuid, stamp, name, body, removed, note FROM entry WHERE uuid = ?",
            (entry.uuid,),
        )
        self._connection.execute(
            "UPDATE entry SET name = ?, body = ?, stamp = ?, removed = ?, note = ?, digest = ?, machine = ?"
            " WHERE uuid = ?",
            (
                entry.name, body, entry.stamp, entry.removed, entry.note, digest_of(body),
                timed_machine(entry.kind, body), entry.uuid,
            ),
        )  # fmt: skip
        self._index(entry, body)

    def _index(self, entry: Entry, body: str) -> None:
        """The entry's words in place of what the index had of it."""
        (number,) = self._connection.execute("SELECT number FROM entry WHERE uuid = ?", (entry.uuid,)).fetchone()
        self._connection.execute("DELETE FROM entry_words WHERE rowid = ?", (number,))
        if not entry.removed:
            self._connection.execute(
                "INSERT INTO entry_words (rowid, words) VALUES (?, ?)",
                (number, searched_words(entry.name, entry.note, body)),
            )

    def _keep_earlier(self, entry: Entry) -> bool:
        """Keep a state among the earlier ones; False when it is there already."""
        cursor = self._connection.execute(
            "INSERT OR IGNORE INTO earlier (uuid, stamp, name, body, removed, note) VALUES (?, ?, ?, ?, ?, ?)",
            (entry.uuid, entry.stamp, entry.name, body_of(entry.value), entry.removed, entry.note),
        )
        return cursor.rowcount > 0

    # --- opening -----------------------------------------------------------------------------------------------------

    def _bring_up_to_date(self) -> None:
        found = version_of(self._connection)
        if found > VERSION:
            raise UnreadableError(
                f"The shop book {self.path} was written by a newer Tain (its version {found}, known here {VERSION}).",
                hint="Update Tain, or name another folder in TAIN_HOME.",
            )
        if found == VERSION:
            return
        if found > 0:
            self._copy_beside(found)
        with self.writing():
            new = version_of(self._connection) == 0
            migrate(self._connection)
            if new:
                self._seed()

    def _copy_beside(self, version: int) -> None:
        """A copy of the old file, should the newer tables ever be regretted."""
        target = self.path.with_suffix(f".version-{version}.sqlite")
        if target.exists():
            return
        unfinished = target.with_suffix(".part")
        unfinished.unlink(missing_ok=True)
        copy = sqlite3.connect(unfinished)
        try:
            self._connection.backup(copy)
        finally:
            copy.close()
        unfinished.replace(target)

    def _seed(self) -> None:
        for kind, values in (("machine", STARTING_MACHINES), ("stock", STARTING_STOCKS)):
            for value in values:
                self._insert(
                    Entry(
                        uuid=starting_uuid(kind, value.name), kind=kind, name=value.name, value=value,
                        stamp=SEED_STAMP, note="starting point",
                    )
                )  # fmt: skip

    @contextmanager
    def _translated(self, done: str) -> Iterator[None]:
        """SQLite's errors as the maker's."""
        try:
            yield
        except sqlite3.Error as error:
            raise _for_the_maker(error, self.path, done) from None
        except UnicodeEncodeError:  # half a letter, as a word of the command line or a name in a file may hold it
            raise UnreadableError("What is asked for holds characters that are none.", hint="Type it anew.") from None


def _containing(words: Sequence[str]) -> tuple[str, list[str]]:
    """A condition on the name, and its values: it holds each word. Words with letters beyond ASCII, of which SQLite
    knows no small form, are left to who asks."""
    plain = [word for word in words if word.isascii()]
    patterns = ["%" + re.sub(r"([%_!])", r"!\1", word) + "%" for word in plain]
    return " ".join(["AND name LIKE ? ESCAPE '!'"] * len(plain)), patterns


def starting_uuid(kind: str, name: str) -> str:
    """The uuid of a starting profile: the same in every book."""
    return str(uuids.uuid5(_NAMES, f"{kind}/{name}"))


def _for_the_maker(error: sqlite3.Error, path: Path, done: str) -> TainError:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return WriteError(
            f"The shop book {path} is in use elsewhere and could not be {done}.",
            hint="Close other windows that work on it and try again.",
        )
    if code == sqlite3.SQLITE_FULL:
        return WriteError(
            f"The disk is full: the shop book {path} could not be {done}; what it held is still there.",
            hint="Make room and try again.",
        )
    if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
        return UnreadableError(
            f"{path} is damaged or no shop book.", hint="Move it away and import your last export, or a copy of it."
        )
    return WriteError(f"The shop book {path} could not be {done}: {error}.", hint="What it held is still there.")
