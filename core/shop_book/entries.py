"""Entries of the shop book, and rows of its tables understood as such."""

import bisect
import itertools
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple, overload

from core.errors import UnreadableError
from core.job.as_data import from_data, to_data
from core.shop_book.kinds import KINDS

SEED_STAMP = "2000-01-01T00:00:00.000000Z"
"""Older than any change by hand, so that a changed starting profile always wins over an untouched one."""

STAMP_FORMAT = "%Y-%m-%dT%H:%M:%S.%fZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry as it stands, or as it stood at ``stamp`` (UTC, ISO). ``note`` says why it was changed last.

    ``value`` is of the class that ``KINDS`` names for its kind.
    """

    uuid: str
    kind: str
    name: str
    value: Any
    stamp: str
    removed: bool = False
    note: str = ""


class Listed(NamedTuple):
    """An entry as lists show it: all but its value."""

    uuid: str
    kind: str
    name: str
    stamp: str
    note: str


class ListedEntries(Sequence[Listed]):
    """What a book lists of one kind or several, as it was when it was asked.

    The rows stay as the index gave them; each becomes a ``Listed`` when it is looked at, since lists of hundreds of
    thousands are made for a few that are shown.
    """

    def __init__(self, kinds: Sequence[tuple[str, list[tuple[str, str, str, str]]]]) -> None:
        """kinds: name of a kind, and its rows of uuid, name, stamp, note."""
        self._kinds = kinds
        self._ends = list(itertools.accumulate(len(rows) for _, rows in kinds))

    def __len__(self) -> int:
        return self._ends[-1] if self._ends else 0

    @overload
    def __getitem__(self, at: int) -> Listed: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[Listed, ...]: ...

    def __getitem__(self, at: int | slice) -> Listed | tuple[Listed, ...]:
        if isinstance(at, slice):
            return tuple(self[one] for one in range(*at.indices(len(self))))
        place = range(len(self))[at]
        which = bisect.bisect_right(self._ends, place)
        kind, rows = self._kinds[which]
        return _listed(kind, rows[place - self._ends[which]])  # counted from the end of its own kind

    def __iter__(self) -> Iterator[Listed]:
        for kind, rows in self._kinds:
            for row in rows:
                yield _listed(kind, row)


def _listed(kind: str, row: tuple[str, str, str, str]) -> Listed:
    uuid, name, stamp, note = row
    return Listed(uuid, kind, name, stamp, note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Damaged:
    """In place of a value that can't be understood: what the book holds instead, and why that is none."""

    text: str
    why: str


def renamed(entry: Entry, name: str) -> Entry:
    """The entry, and what it holds, under another name."""
    value = replace(entry.value, name=name) if hasattr(entry.value, "name") else entry.value
    return replace(entry, name=name, value=value)


def known_kind(kind: str) -> str:
    """The kind, once it is one of the book's. Raises UnreadableError."""
    if kind not in KINDS:
        raise UnreadableError(f"The shop book holds no “{kind}”.", hint=f"It holds: {', '.join(KINDS)}.")
    return kind


def check_entry(kind: str, name: str, value: Any, note: str) -> None:
    """Raises UnreadableError for what could not be read back: it goes through the door it would come in by."""
    what = f"The {kind}"
    for text in (name, note):
        from_data(str, text, what=what)
    from_data(KINDS[known_kind(kind)], to_data(value), what=what)


def body_of(value: Any) -> str:
    """What stands in the book for the value."""
    if isinstance(value, Damaged):
        return value.text
    return json.dumps(to_data(value), ensure_ascii=False, allow_nan=False, sort_keys=True)


def named(row: tuple[Any, ...]) -> dict[str, Any]:
    """A row's columns by their names."""
    return dict(zip(("uuid", "kind", "name", "body", "stamp", "removed", "note"), row, strict=True))


def decoded(row: dict[str, Any]) -> Entry:
    """The entry of a row. Raises UnreadableError where it can't be understood."""
    what = f"The shop book's {row['kind']} “{row['name']}”"
    try:
        data = json.loads(row["body"])
    except ValueError:
        raise UnreadableError(f"{what} can't be understood: it is no JSON.") from None
    value = from_data(KINDS[known_kind(row["kind"])], data, what=what)
    return Entry(
        uuid=row["uuid"], kind=row["kind"], name=row["name"], value=value, stamp=row["stamp"],
        removed=bool(row["removed"]), note=row["note"],
    )  # fmt: skip


def looked_at(row: dict[str, Any]) -> Entry:
    """The entry, its value a ``Damaged`` where it can't be understood."""
    try:
        return decoded(row)
    except UnreadableError as error:
        value = Damaged(text=row["body"], why=error.message)
        return Entry(
            uuid=row["uuid"], kind=row["kind"], name=row["name"], value=value, stamp=row["stamp"],
            removed=bool(row["removed"]), note=row["note"],
        )  # fmt: skip


def understood(row: dict[str, Any]) -> Entry | None:
    """The entry of a row, None where it can't be understood."""
    try:
        return decoded(row)
    except UnreadableError:
        return None


def stamp_after(stamp: str) -> str:
    """Now, or just after ``stamp`` where a clock that runs ahead wrote that."""
    now = datetime.now(UTC).strftime(STAMP_FORMAT)
    if now > stamp:
        return now
    try:
        later = datetime.strptime(stamp, STAMP_FORMAT) + timedelta(microseconds=1)
    except (ValueError, OverflowError):  # no stamp of ours, or at the end of all time
        return now
    return later.strftime(STAMP_FORMAT)
