"""Entries of the shop book, and rows of its tables understood as such."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

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
