"""The shop book as JSON, and back: to carry it to another machine, to keep it safe, to share what was learned.

``{"tain_shop_book": 1, "entries": [{"uuid", "kind", "name", "stamp", "removed", "note", "data", "earlier": [...]}]}``.
Merging is by uuid and stamp, so importing the same file twice, or two books into each other, doubles nothing.
"""

import json
import uuid as uuids
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, to_data
from core.plain_file import plain_file_bytes
from core.shop_book.entries import STAMP_FORMAT, Damaged, Entry
from core.shop_book.kinds import KINDS
from core.shop_book.store import ShopBook

FORMAT = "tain_shop_book"
VERSION = 1
MOST_BYTES = 512 * 1024 * 1024
MOST_VALUES = 40_000_000
"""A book of 200,000 jobs comes to about a quarter of either."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """How many entries an import added, updated, kept as history only, found known already, and could not read.

    ``problems``: one sentence for each entry that could not be read.
    """

    added: int
    updated: int
    kept: int
    unchanged: int
    problems: tuple[str, ...]


def exported(book: ShopBook) -> bytes:
    """The whole book as JSON, entries by kind and name; the same book always gives the same bytes."""
    entries = []
    for kind in KINDS:
        for listed in (*book.listed(kind), *book.listed(kind, removed=True)):
            entry, *earlier = book.history(listed.uuid)
            states = [_state_data(state) for state in earlier]
            entries.append({"uuid": entry.uuid, "kind": kind, **_state_data(entry), "earlier": states})
    return json.dumps({FORMAT: VERSION, "entries": entries}, ensure_ascii=False, indent=1, allow_nan=False).encode()


def import_into(book: ShopBook, data: bytes, *, name: str) -> Imported:
    """Merge an export into the book, in one transaction: all of it or, on an error, nothing.

    ``name`` is for messages. Raises UnreadableError when it is no export or from a newer version, WriteError when
    the book can't be written. Entries that make no sense are left out and named.
    """
    entries, problems = _entries(data, name)
    counts = {"added": 0, "updated": 0, "kept": 0, "unchanged": 0}
    with book.writing():
        for entry, earlier in entries:
            try:
                counts[book.take_in(entry, earlier)] += 1
            except UnreadableError as error:
                problems.append(error.message)
    return Imported(**counts, problems=tuple(problems))


def import_file(book: ShopBook, path: Path) -> Imported:
    """Merge an export that lies in a file. Raises UnreadableError, also when it can't be opened; WriteError."""
    data = plain_file_bytes(path, most_bytes=MOST_BYTES, wanted="Name a JSON file that Tain wrote.")
    return import_into(book, data, name=path.name)


def _state_data(entry: Entry) -> dict[str, Any]:
    return {
        "name": entry.name,
        "stamp": entry.stamp,
        "removed": entry.removed,
        "note": entry.note,
        "data": entry.value.text if isinstance(entry.value, Damaged) else to_data(entry.value),
    }


def _entries(data: bytes, name: str) -> tuple[list[tuple[Entry, list[Entry]]], list[str]]:
    no_export = f"{name} is no export of a shop book."
    try:
        document = read_json(data, what=name, most_bytes=MOST_BYTES, most_values=MOST_VALUES, only_numbers=False)
    except UnreadableError as error:
        told = error.message if "more than" in error.message else no_export
        raise UnreadableError(told, hint="Name a JSON file that Tain wrote.") from None
    version = document.get(FORMAT) if isinstance(document, dict) else None
    if not isinstance(version, int) or not isinstance(document.get("entries"), list):
        raise UnreadableError(no_export, hint="Name a JSON file that Tain wrote.")
    if version > VERSION:
        raise UnreadableError(f"{name} was exported by a newer Tain.", hint="Update Tain.")
    entries, problems = [], []
    for number, item in enumerate(document["entries"], start=1):
        try:
            entry = _entry(item, item, f"{name}, entry {number}")
            states = item.get("earlier", [])
            if not isinstance(states, list):
                raise UnreadableError(f"{name}, entry {number} can't be understood.")
            earlier = [_entry(item, state, f"{name}, entry {number}") for state in states]
        except UnreadableError as error:
            problems.append(error.message)
        else:
            entries.append((entry, earlier))
    return entries, problems


def _entry(item: Any, state: Any, what: str) -> Entry:
    """An entry of the export in one of its states. Raises UnreadableError."""
    try:
        kind, uuid = item["kind"], str(uuids.UUID(item["uuid"]))
        name, stamp, note = state["name"], state["stamp"], state.get("note", "")
        stamp = datetime.strptime(stamp, STAMP_FORMAT).strftime(STAMP_FORMAT)  # with all its zeros: they sort as text
        if not all(isinstance(word, str) for word in (name, note)) or not isinstance(state["removed"], bool):
            raise TypeError
    except (KeyError, TypeError, ValueError, AttributeError):
        raise UnreadableError(f"{what} can't be understood.") from None
    if not stamp[:4] >= "2000" or stamp > (datetime.now(UTC) + timedelta(days=1)).strftime(STAMP_FORMAT):
        raise UnreadableError(f"{what}: its date, {stamp[:10]}, lies in the future or long ago.")
    for text in (name, note):
        from_data(str, text, what=what)
    if not isinstance(kind, str) or kind not in KINDS:
        raise UnreadableError(f"{what}: “{kind}” is not known here.")
    value = from_data(KINDS[kind], state.get("data"), what=what)
    return Entry(uuid=uuid, kind=kind, name=name, value=value, stamp=stamp, removed=state["removed"], note=note)
