"""What painting comes to, as plain values: areas by paint, a step for each colour, the plan of all steps."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.finishing.amounts import Amount
from core.finishing.mask_effort import EFFORT
from core.finishing.masks import Ground, MaskFigures
from core.finishing.paints import BARE, Paint
from core.finishing.tight_places import TightPlace
from core.finishing.weeding import Speck
from core.geometry.engine import subtracted

MadeBy = Literal["knife", "laser", "none"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaintArea:
    """All bared areas that get one paint, front frame; areas of different paints never overlap."""

    paint: Paint
    region: BaseGeometry
    shape_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Colouring:
    """The piece by colour, front frame.

    paint_of: shape id to paint name or "bare", for every shape that is filled. bare: areas where light shows
    through. filled: all that the laser bares. outline: the piece inside its cut lines, holes out; the whole sheet
    where nothing is cut.
    """

    areas: tuple[PaintArea, ...]
    bare: BaseGeometry
    paint_of: Mapping[str, str]
    outline: BaseGeometry
    filled: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrontArea:
    """One look of the finished piece from the front. ``name``: the paint's, or a word for what it is."""

    kind: Literal["coat", "bare", "paint"]
    name: str
    colour: str | None
    region: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaintStep:
    """One colour: its mask, and what the mask keeps off. Regions in the front frame.

    opening: where the paint lands, None without a mask. made_by: "laser" for the sheet's own film burned through with
    the coat, which then needs only ``patches`` over what waits. kept_off: names, "bare" among them where it is.
    effort_min: handwork by the same measure that orders are compared with. specks: film that is left out, as it would
    be too narrow to hold. burn: in which burn its areas are cleared, from 1. floods: paint goes over the whole back,
    since what waits is still under its coat.
    """

    number: int
    area: PaintArea
    opening: BaseGeometry | None
    made_by: MadeBy
    patches: BaseGeometry
    kept_off: tuple[str, ...]
    figures: MaskFigures
    tight_places: tuple[TightPlace, ...]
    effort_min: float
    specks: tuple[Speck, ...] = ()
    burn: int = 1
    floods: bool = False

    @property
    def needs_film(self) -> bool:
        """Whether film is cut and laid for it: a mask, or patches over what waits."""
        return self.made_by == "knife" or not self.patches.is_empty

    @property
    def is_peeled(self) -> bool:
        """Whether film comes off after its last coat: the mask, or the sheet's own film with its patches."""
        return self.made_by != "none"

    @property
    def weeding_min(self) -> float:
        """Openings taken out of the film and islands kept, of the film as it is drawn.

        ``effort_min`` knows it before it is drawn, several times too much where artwork is fine.
        """
        if not self.needs_film:
            return 0.0
        return max(0.0, self.figures.effort_min - EFFORT.lay_min) + EFFORT.tight_min * len(self.tight_places)

    def film_mm2(self, film: BaseGeometry) -> float:
        """Film cut for one piece: the whole ``film`` for a mask, a box round each of the patches."""
        masked = film.area if self.made_by == "knife" else 0.0
        return float(masked + shapely.area(shapely.envelope(self.patches)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaintPlan:
    """All colours in their order. best_order costs least; worst_effort_min is None where it was not worked out."""

    colouring: Colouring
    ground: Ground
    steps: tuple[PaintStep, ...]
    order: tuple[str, ...]
    effort_min: float
    best_order: tuple[str, ...]
    best_effort_min: float
    worst_effort_min: float | None
    exact: bool
    reasons: tuple[str, ...]
    amounts: tuple[Amount, ...]
    findings: tuple[Finding, ...]

    @property
    def film_mm2(self) -> float:
        """Masking film cut for one piece, all steps."""
        return sum(step.film_mm2(self.ground.film) for step in self.steps)

    @property
    def burns(self) -> int:
        """How many burns clear areas that are painted."""
        return max((step.burn for step in self.steps), default=1)


def front_view(coloured: Colouring, *, coat_name: str = "coat") -> tuple[FrontArea, ...]:
    """The finished piece as it looks from the front: standing coat, bare areas, painted areas; no overlaps.

    colour is None for coat and bare, which are drawn as what they are.
    """
    looks = [
        FrontArea(kind="coat", name=coat_name, colour=None, region=subtracted(coloured.outline, coloured.filled)),
        FrontArea(kind="bare", name=BARE, colour=None, region=coloured.bare),
    ]
    looks += [
        FrontArea(kind="paint", name=area.paint.name, colour=area.paint.colour, region=area.region)
        for area in coloured.areas
    ]
    return tuple(look for look in looks if not look.region.is_empty)
