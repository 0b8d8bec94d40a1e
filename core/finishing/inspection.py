"""What to look for on both sides of a sheet before it is used, and how each flaw will look from the front.

Common practice, no source; the sheet maker's handling advice comes first.
"""

from dataclasses import dataclass
from typing import Literal

from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One look. flaw: what is looked for; from_front: how it will look on the finished piece; then: what to do."""

    code: str
    side: Literal["front", "back", "edge"]
    flaw: str
    from_front: str
    then: str


_FRONT = (
    Check(
        code="front-film-cut",
        side="front",
        flaw="the front film is cut, nicked or lifted",
        from_front="a fine scratch under the cut; smoke stains where the film has lifted",
        then="feel along the cut with a nail: if it catches, keep the piece off that place; tape over lifted film",
    ),
    Check(
        code="front-scratch",
        side="front",
        flaw="scratches or dents in the front face",
        from_front="a bright line or a dull spot, seen at a slant",
        then="note the place as a defect on the sheet, so that the piece is laid beside it",
    ),
)
_BACK_COATED = (
    Check(
        code="back-film-cut",
        side="back",
        flaw="the back film or paper is cut",
        from_front="nothing yet, but the cut may go through the coat below",
        then="lift the film there and look at the coat",
    ),
    Check(
        code="coat-scratch",
        side="back",
        flaw="a scratch or pinhole in the back coat (hold a lamp behind)",
        from_front="a fine line or a point of light or of the paint behind it",
        then="lay the piece beside it, or inside an area that is cleared anyway",
    ),
    Check(
        code="coat-blister",
        side="back",
        flaw="blisters, cloudy or soft spots in the coat",
        from_front="a dark or dull spot in the mirror; the edge of a burned area tears there",
        then="don't use that part of the sheet",
    ),
    Check(
        code="coat-dirt",
        side="back",
        flaw="fingerprints, glue from the film, dust on the coat",
        from_front="uneven clearing: specks of coat left in a burned area",
        then="clean dry or as the sheet's maker says, never with solvent",
    ),
)
_BACK_CLEAR = (
    Check(
        code="back-scratch",
        side="back",
        flaw="scratches in the back face",
        from_front="a fine line, the clearer the lighter the paint behind it",
        then="lay the piece beside it",
    ),
)
_GLASS = (
    Check(
        code="edge-chip",
        side="edge",
        flaw="chips and shells at the edge",
        from_front="a bright bite at the rim, from which a crack can run when it gets warm",
        then="keep away from it; gloves and eye protection as licensed practice asks",
    ),
)
_ACRYLIC_EDGE = (
    Check(
        code="edge-craze",
        side="edge",
        flaw="fine cracks at a sawn or cut edge",
        from_front="silvery threads from the rim, which grow where solvent or paint thinner reaches them",
        then="cut them off, or let the sheet be annealed as its maker says",
    ),
    Check(
        code="warp",
        side="edge",
        flaw="the sheet is not flat on the bed",
        from_front="lines left in some areas and frosting in others, as the focus wanders",
        then="hold it down as the machine's manual says, or measure the focus at several places",
    ),
)


def checks_for(stock: Stock) -> tuple[Check, ...]:
    """The looks for a sheet of this stock, front first."""
    back = _BACK_COATED if stock.coat else _BACK_CLEAR
    return (*_FRONT, *back, *(_GLASS if "glass" in stock.kind else _ACRYLIC_EDGE))
