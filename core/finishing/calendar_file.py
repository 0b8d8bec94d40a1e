"""Handwork as an iCalendar file (RFC 5545): of the timetable, one event a session and one when a piece is done.

Times are local without a zone ("form 1: date with local time", RFC 5545, 3.3.5): the workshop's own clock.
"""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from core.encodable import encodable
from core.finishing.timetable import Session, Timetable, sessions

if TYPE_CHECKING:
    import icalendar

_EVENTS = uuid.UUID("5b0f2f2e-7b7e-4a53-9b0a-9d0f5b1f7a10")


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What is done from when to when, local time."""

    summary: str
    start: datetime
    end: datetime
    description: str = ""


def calendar_file(table: Timetable, *, name: str, made: datetime | None = None) -> bytes:
    """The file's bytes. ``made``: when it is written (RFC 5545, DTSTAMP); the same inputs give the same bytes."""
    stamp = (made or table.start).astimezone(UTC) if made else table.start.replace(tzinfo=UTC)
    events = [
        Event(
            summary=f"{name}: {session.label}",
            start=session.start,
            end=session.end,
            description=_description(session, table),
        )
        for session in sessions(table.tasks)
    ]
    for moment in sorted(set(table.done)):
        pieces = [number for number, done in enumerate(table.done, start=1) if done == moment]
        what = "all cured, may be handled" if len(pieces) == len(table.done) else f"{piece_words(pieces)} cured"
        events.append(Event(summary=f"{name}: {what}", start=moment, end=moment + timedelta(minutes=5)))
    return events_file(events, name=name, stamp=stamp)


def events_file(events: Iterable[Event], *, name: str, stamp: datetime) -> bytes:
    """Any events as a calendar's bytes."""
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Tain//paint timetable//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", encodable(name))
    for event in events:
        calendar.add_component(_event(event.summary, event.start, event.end, stamp, event.description))
    data: bytes = calendar.to_ical()
    return data


def piece_words(pieces: list[int] | tuple[int, ...]) -> str:
    """ "piece 2", "pieces 1 to 3", "pieces 1, 3"."""
    if len(pieces) == 1:
        return f"piece {pieces[0]}"
    in_row = list(pieces) == list(range(pieces[0], pieces[-1] + 1))
    return f"pieces {pieces[0]} to {pieces[-1]}" if in_row else f"pieces {', '.join(map(str, pieces))}"


def _description(session: Session, table: Timetable) -> str:
    lines = [piece_words(session.pieces)] if len(table.done) > 1 else []
    if session.late:
        lines.append("Later than the can allows between coats: abrade first, or try it on a scrap.")
    return "\n".join([*lines, *table.notes])


def _event(summary: str, start: datetime, end: datetime, stamp: datetime, description: str) -> "icalendar.Event":
    summary = encodable(" ".join(summary.split()))
    description = encodable("\n".join(" ".join(line.split()) for line in description.splitlines()))
    import icalendar

    event = icalendar.Event()
    event.add("uid", f"{uuid.uuid5(_EVENTS, f'{summary}|{start.isoformat()}|{description}')}@tain")
    event.add("dtstamp", stamp)
    event.add("dtstart", start)
    event.add("dtend", end)
    event.add("summary", summary)
    if description:
        event.add("description", description)
    return event
