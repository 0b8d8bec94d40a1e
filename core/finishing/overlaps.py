"""Overlap between areas that are burned one after the other, and the dose where it meets bare sheet.

An earlier burn reaches so far into a later area that shares a border with it that no coat is left standing between the
two, however far off each lies within the datum's play. The later burn then goes over that strip again, where no coat is
left to take its share of the dose: only paint lies on the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.dose import CAREFUL_SHEET_S, combined_dose
from core.finishing.masks import grown
from core.geometry.engine import shared, united
from core.geometry.rings import NOTHING

StripVerdict = Literal["clean", "may frost", "frosts"]
ROUNDED_SHARE = 1.01
"""Round corners of what is grown are told in chords that lie inside the round by less than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StripDose:
    """Dose at the sheet in an overlap, J/mm², beyond what paint or coat over it takes.

    alone: of the later burn. together, together_careful: with the burns before it, as the sheet's S has it and as a
    plain sum. bears: what the sheet bears before it frosts.
    """

    alone_j_mm2: float
    together_j_mm2: float
    together_careful_j_mm2: float
    bears_j_mm2: float

    @property
    def verdict(self) -> StripVerdict:
        """*frosts* where the best figure says so, *may frost* where only the careful one does."""
        if max(self.alone_j_mm2, self.together_j_mm2) >= self.bears_j_mm2:
            return "frosts"
        return "may frost" if self.together_careful_j_mm2 >= self.bears_j_mm2 else "clean"


def overlap_into(earlier: BaseGeometry, later: BaseGeometry, overlap_mm: float, *, touching_mm: float) -> BaseGeometry:
    """What an earlier burn takes of later areas besides its own: a strip along the borders they share.

    Borders count as shared within ``touching_mm``; elsewhere coat stands between the two, as it was drawn.
    """
    if overlap_mm <= 0 or earlier.is_empty or later.is_empty:
        return NOTHING
    border = shared(grown(earlier, touching_mm), later)
    if border.is_empty:
        return NOTHING
    beside = shapely.intersection(shapely.boundary(later), grown(earlier, touching_mm))
    if beside.is_empty or beside.length == 0.0:
        return NOTHING
    return shared(grown(beside, overlap_mm * ROUNDED_SHARE + touching_mm), later)


def strip_dose(
    excesses_before_j_mm2: Sequence[float], peak_j_mm2: float, *, paint_j_mm2: float, bears_j_mm2: float, sheet_s: float
) -> StripDose:
    """The dose in a strip that was bared before and carries paint only.

    excesses_before: of the burns that went over it, beyond their clearing doses. paint_j_mm2: what the paint takes.
    """
    alone = max(0.0, peak_j_mm2 - paint_j_mm2)
    hits = [max(0.0, one) for one in excesses_before_j_mm2] + [alone]
    return StripDose(
        alone_j_mm2=alone,
        together_j_mm2=float(combined_dose(hits, s=sheet_s)),
        together_careful_j_mm2=float(combined_dose(hits, s=CAREFUL_SHEET_S)),
        bears_j_mm2=bears_j_mm2,
    )


def strips(parts: Sequence[BaseGeometry]) -> BaseGeometry:
    """Several strips as one region."""
    return united(part for part in parts if not part.is_empty)
