"""Steps of painting that were ticked off, and the waits that they came to."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from core.errors import UnreadableError


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTick:
    """A step that is done. label: as the timetable has it, ``"navy: coat 2"``; at: when it ended, ISO date and time."""

    label: str
    piece: int
    at: str

    def check_whole(self) -> None:
        """Raises UnreadableError where ``at`` is no date and time."""
        moment_of(self.at)


def moment_of(at: str) -> datetime:
    """A tick's time, without a zone: the workshop's own clock. Raises UnreadableError."""
    try:
        return datetime.fromisoformat(at).replace(tzinfo=None)
    except ValueError:
        raise UnreadableError(f"“{at}” is no date and time.", hint="Write it like 2026-03-02T09:18.") from None


def coat_label(paint: str, coat: int) -> str:
    """How the timetable calls a coat."""
    return f"{paint}: coat {coat}"


def ticked_coats(ticks: Iterable[StepTick], paint: str, *, most: int = 99) -> tuple[tuple[datetime, ...], ...]:
    """When the coats of a paint ended, one row a piece, as far as they were ticked without a gap from the first on."""
    at = {(tick.piece, tick.label): moment_of(tick.at) for tick in ticks}
    rows = []
    for piece in sorted({piece for piece, _ in at}):
        row = []
        for coat in range(1, most + 1):
            if (piece, coat_label(paint, coat)) not in at:
                break
            row.append(at[piece, coat_label(paint, coat)])
        rows.append(tuple(row))
    return tuple(row for row in rows if row)


def ticked_waits_min(ticks: Iterable[StepTick], paint: str, *, coat_min: float) -> tuple[float, ...]:
    """From the end of each coat to the beginning of the next on the same piece, min, as ticked."""
    return tuple(
        max(0.0, (after - before).total_seconds() / 60 - coat_min)
        for row in ticked_coats(ticks, paint)
        for before, after in pairwise(row)
    )
