"""Where along a sampling line across the scan rows' strips the coat goes, for both ways in which hits may count.

*Nothing adds* (S = 1): a place is bared where one span alone reaches the clearing dose. At a distance u from its row a
long span bares from where its error-function end passes ``e^(2u²/w²) clearing/peak``, so its ends move by a signed
length, outwards on a strong line's axis and inwards near the strip's edge; a short span may bare nothing.

*Hits add* (S below 1): a place is bared where ``N Σ (peak·g·f)^q`` over all spans in reach reaches ``clearing^q``, g
across the row and f along it, q = 1/(1-S), N passes. Along a line across one strip that is worked out at nodes a
fraction of the beam's radius apart, in the stretches where span ends are near, and between nodes from a cubic.
"""

from core.burning.baring import LARGEST_ADDING_S, Baring, has_dose
from core.burning.dose import ClearingLine
from core.burning.hits_add import hits_add
from core.burning.nothing_adds import nothing_adds


def baring_for(line: ClearingLine, s: float, *, y0_mm: float, pitch_mm: float, weight: int = 1) -> Baring | None:
    """The rule for an S of the coat; None where nothing is ever bared. weight: how many rows each row stands for."""
    if not has_dose(line):
        return None
    if s > LARGEST_ADDING_S:
        return nothing_adds(line, y0_mm, pitch_mm)
    return hits_add(line, s, y0_mm, pitch_mm, weight)
