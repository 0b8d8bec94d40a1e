"""Patches laid on an offcut, labels beside them that do not tell the treatment; and the job that burns it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.burning.coupon_laying import GAP_MM, LEAST_TEXT_MM, MARGIN_MM, TEXT_MM
from core.burning.patches import Label, Patch
from core.burning.score_letters import text_width_mm
from core.errors import JobError
from core.job.coupon_job import coupon_job
from core.job.job import Job
from core.purposes import Purpose
from core.sheet.recipes import Recipe
from core.trouble.trials.trial import Trial

LEAST_PAINTED_MM, LEAST_BARE_MM, MOST_MM = (12.0, 10.0), (8.0, 6.0), 25.0
"""Less can't be sprayed through a card, or judged by eye."""
PAINTED_GAP_MM = 6.0
_ROWS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The offcut: its size, whether patches are painted, and in which row its labels begin."""

    width_mm: float
    height_mm: float
    painted: bool
    first_row: int = 0


def laid_out(
    recipes: Sequence[tuple[Purpose, Recipe]], title: str, room: Room
) -> tuple[tuple[Patch, ...], Label, tuple[Label, ...]]:
    """(patches, the head line, their labels), row by row in the order given. Raises JobError where it is too small."""
    if not all(math.isfinite(side) and side > 0 for side in (room.width_mm, room.height_mm)):
        raise JobError(
            f"An offcut can't be {room.width_mm:g} x {room.height_mm:g} mm.", hint="Give a size like 120x80."
        )
    count = len(recipes)
    least = LEAST_PAINTED_MM if room.painted else LEAST_BARE_MM
    sized = [(_roominess(columns, count, room, least), columns) for columns in range(1, count + 1)]
    best, columns = max(sized, key=lambda one: (one[0], one[1]))
    if best < 1.0 or room.first_row + math.ceil(count / columns) > len(_ROWS):
        width, height = least_size_mm(count, painted=room.painted)
        raise JobError(
            f"{room.width_mm:g} x {room.height_mm:g} mm is too small for {count} patches.",
            hint=f"They need about {width:.0f} x {height:.0f} mm, or fewer levels or repeats.",
        )
    width, height = (min(side, MOST_MM) for side in _size(columns, count, room))
    gap = _gap(room)
    patches, captions = [], []
    for number, (purpose, recipe) in enumerate(recipes):
        row, column = divmod(number, columns)
        x = MARGIN_MM + column * (width + gap)
        y = MARGIN_MM + TEXT_MM + GAP_MM + row * (height + TEXT_MM + 0.6 + gap)
        label = f"{_ROWS[room.first_row + row]}{column + 1}"
        patches.append(Patch(label=label, caption="", purpose=purpose, recipe=recipe, expected="", x_mm=x, y_mm=y,
                             width_mm=width, height_mm=height))  # fmt: skip
        inside = purpose == "cut"  # what lies beside a cut patch is lost with the waste
        captions.append(Label(text=label, x_mm=x + (1.0 if inside else 0.0),
                              y_mm=y + (1.0 if inside else height + 0.6), height_mm=TEXT_MM))  # fmt: skip
    return tuple(patches), _title(title, room.width_mm), tuple(captions)


def least_size_mm(count: int, *, painted: bool) -> tuple[float, float]:
    """About the smallest offcut that holds so many patches, as square as may be."""
    least, gap = (LEAST_PAINTED_MM, PAINTED_GAP_MM) if painted else (LEAST_BARE_MM, GAP_MM)
    sizes = []
    for columns in range(1, count + 1):
        rows = math.ceil(count / columns)
        sizes.append((
            math.ceil(2 * MARGIN_MM + columns * (least[0] + gap) - gap),
            math.ceil(2 * MARGIN_MM + TEXT_MM + GAP_MM + rows * (least[1] + TEXT_MM + 0.6 + gap) - gap),
        ))  # fmt: skip
    return min(sizes, key=max)


def trial_job(trial: Trial, piece: int = 1) -> Job:
    """The job that burns one offcut of the trial."""
    return coupon_job(trial.piece(piece), called="trial")


def _gap(room: Room) -> float:
    return PAINTED_GAP_MM if room.painted else GAP_MM


def _size(columns: int, count: int, room: Room) -> tuple[float, float]:
    rows, gap = math.ceil(count / columns), _gap(room)
    width = (room.width_mm - 2 * MARGIN_MM - (columns - 1) * gap) / columns
    height = (room.height_mm - 2 * MARGIN_MM - TEXT_MM - GAP_MM - (rows - 1) * gap) / rows - TEXT_MM - 0.6
    return width, height


def _roominess(columns: int, count: int, room: Room, least: tuple[float, float]) -> float:
    width, height = _size(columns, count, room)
    return min(min(width, MOST_MM) / least[0], min(height, MOST_MM) / least[1])


def _title(words: str, width_mm: float) -> Label:
    """The head line; words fall away from its end where it would reach over the edge, its code to come before it."""
    room = width_mm - 2 * MARGIN_MM
    while words and text_width_mm(f"WWWWW-W {words}", height_mm=LEAST_TEXT_MM) > room:
        words = words.rpartition(" ")[0]
    head_mm = min(TEXT_MM, TEXT_MM * room / text_width_mm(f"WWWWW-W {words}", height_mm=TEXT_MM))
    return Label(text=words, x_mm=MARGIN_MM, y_mm=MARGIN_MM, height_mm=head_mm)
