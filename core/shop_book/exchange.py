"""The shop book as JSON, and back: to carry it to another machine, to keep it safe, to share what was learned.

``{"tain_shop_book": 1, "entries": [{"uuid", "kind", "name", "stamp", "removed", "note", "data", "earlier": [...]}]}``.
Merging is by uuid and stamp, so importing the same file twice, or two books into each other, doubles nothing.
"""

import json
import uuid as uuids
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from core.errors import UnreadableError
from core.job.as_data import from_data, to_data
from core.shop_book.kinds import KINDS
from core.shop_book.store import STAMP_FORMAT, Entry, ShopBook

FORMAT = "tain_shop_book"
VERSION = 1


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
        for entry in (*book.entries(kind), *book.entries(kind, removed=True)):
            _, *earlier = book.history(entry.uuid)
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
            counts[book.take_in(entry, earlier)] += 1
    return Imported(**counts, problems=tuple(problems))


def import_file(book: ShopBook, path: Path) -> Imported:
    """Merge an export that lies in a file. Raises UnreadableError, also when it can't be opened; WriteError."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise UnreadableError(f"{path} can't be opened: {error.strerror or error}.") from None
    return import_into(book, data, name=path.name)


def _state_data(entry: Entry) -> dict[str, Any]:
    return {
        "name": entry.name,
        "stamp": entry.stamp,
        "removed": entry.removed,
        "note": entry.note,
        "data": to_data(entry.value),
    }


def _entries(data: bytes, name: str) -> tuple[list[tuple[Entry, list[Entry]]], list[str]]:
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        raise UnreadableError(
            f"{name} is no export of a shop book.", hint="Name a JSON file that Tain wrote."
        ) from None
    version = document.get(FORMAT) if isinstance(document, dict) else None
    if not isinstance(version, int) or not isinstance(document.get("entries"), list):
        raise UnreadableError(f"{name} is no export of a shop book.", hint="Name a JSON file that Tain wrote.")
    if version > VERSION:
        raise UnreadableError(f"{name} was exported by a newer Tain.", hint="Update Tain.")
    entries, problems = [], []
    for number, item in enumerate(document["entries"], start=1):
        try:
            entry = _entry(item, item, f"{name}, entry {number}")
            earlier = [_entry(item, state, f"{name}, entry {number}") for state in item.get("earlier", [])]
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
        datetime.strptime(stamp, STAMP_FORMAT)
        if not all(isinstance(word, str) for word in (name, note)) or not isinstance(state["removed"], bool):
            raise TypeError
    except (KeyError, TypeError, ValueError, AttributeError):
        raise UnreadableError(f"{what} can't be understood.") from None
    if kind not in KINDS:
        raise UnreadableError(f"{what}: “{kind}” is not known here.")
    value = from_data(KINDS[kind], state.get("data"), what=what)
    return Entry(uuid=uuid, kind=kind, name=name, value=value, stamp=stamp, removed=state["removed"], note=note)
