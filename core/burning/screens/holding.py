"""What tones a recipe holds: its shortest span and gap, its rulings, how many tones, and the darkest one."""

import math
from dataclasses import dataclass

import scipy

from core.burning.dose import ClearingLine
from core.units import MM_PER_INCH

DOSE_IN_HAND = 0.10
"""A span must bare with a tenth less of the dose, a gap stand with that much more: common practice, no source."""
STEP_OF_SPOT = 0.1
"""Spans are told apart from a tenth of the spot on: common practice, no source."""
USUAL_TONES = 17


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a recipe holds of tones.

    bares_from_mm: a shorter span bares nothing. span_mm: the shortest that surely bares; gap_mm: the narrowest that
    surely stands. most: the share that rows without gaps bare. finest_lines_per_inch: of cells that hold a span and a
    gap; usual_lines_per_inch: with ``USUAL_TONES`` between them.
    """

    pitch_mm: float
    bares_from_mm: float
    span_mm: float
    gap_mm: float
    step_mm: float
    most: float

    @property
    def finest_lines_per_inch(self) -> float:
        """The finest ruling at which a cell still holds both."""
        return MM_PER_INCH / (self.span_mm + self.gap_mm)

    @property
    def usual_lines_per_inch(self) -> float:
        """A ruling at which cells hold ``USUAL_TONES``, in round numbers."""
        exact = MM_PER_INCH / (self.span_mm + self.gap_mm + (USUAL_TONES - 2) * self.step_mm)
        return max(2.0, float(5 * math.floor(exact / 5)) or float(math.floor(exact)))

    def tones_at(self, lines_per_inch: float) -> int:
        """How many tones cells of that ruling hold, bare and standing counted."""
        room_mm = MM_PER_INCH / lines_per_inch - self.span_mm - self.gap_mm
        return 2 if room_mm < 0 else 3 + int(room_mm / self.step_mm + 1e-9)


def held_tones(line: ClearingLine, *, pitch_mm: float) -> Held | None:
    """What the recipe holds; None where its lines bare nothing."""
    ratio = line.peak_over_clearing
    if ratio <= 1:
        return None
    scale = line.spot_mm / math.sqrt(2)  # of erf(span / scale): the dose in a span's middle
    needed = min(1 / (ratio * (1 - DOSE_IN_HAND)), 0.995)
    stands = max(0.0, 1 - 1 / (ratio * (1 + DOSE_IN_HAND)))  # of the missing dose in a gap's middle, all hits added
    return Held(
        pitch_mm=pitch_mm,
        bares_from_mm=float(scale * scipy.special.erfinv(1 / ratio)),
        span_mm=float(scale * scipy.special.erfinv(max(needed, 1 / ratio))),
        gap_mm=max(float(scale * scipy.special.erfinv(stands)), line.spot_mm / 10),
        step_mm=STEP_OF_SPOT * line.spot_mm,
        most=min(1.0, line.cleared_width_mm / pitch_mm),
    )
