"""Where a flaw of the sheet matters.

In the coat: inside a fill it is burned away, outside the finished piece it is waste; it shows only on coat that stays.
On the clear face it shows anywhere in the finished piece, bare and painted places included.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply
from core.sheet.faces import turn_matrix
from core.sheet.placement import Flaw, Sheet

LEAST_WIDTH_MM = 0.1
"""A flaw noted thinner than this is taken to be this wide: what the eye can just make out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShownFlaw:
    """A flaw that shows in the finished piece: which of the sheet's, what of it, front frame."""

    number: int
    flaw: Flaw
    region: BaseGeometry


def turned_flaw(flaw: Flaw, sheet: Sheet) -> Flaw:
    """The same flaw as it would be noted from the other side. Twice is the flaw itself."""
    moved = apply(turn_matrix(flaw.turn, sheet), np.array(flaw.points, float))
    return replace(
        flaw,
        points=tuple((float(x), float(y)) for x, y in moved),
        noted_from="back" if flaw.noted_from == "front" else "front",
    )


def flaw_region(flaw: Flaw, sheet: Sheet, *, grown_mm: float = 0.0) -> BaseGeometry:
    """What the flaw takes up, seen from the front, grown by ``grown_mm`` for doubt about its place."""
    seen = flaw if flaw.noted_from == "front" else turned_flaw(flaw, sheet)
    half_mm = max(flaw.width_mm, LEAST_WIDTH_MM) / 2 + grown_mm
    if flaw.kind == "patch" and len(seen.points) >= 3:
        return shapely.make_valid(shapely.Polygon(seen.points)).buffer(half_mm)
    if len(seen.points) >= 2:
        return shapely.LineString(seen.points).buffer(half_mm)
    return shapely.Point(seen.points[0]).buffer(half_mm)


def flaws_in(sheet: Sheet, surface: str, *, grown_mm: float = 0.0) -> list[BaseGeometry]:
    """The regions of all flaws on one surface, front frame."""
    return [flaw_region(flaw, sheet, grown_mm=grown_mm) for flaw in sheet.flaws if flaw.surface == surface]


def shown_flaws(
    sheet: Sheet, finished: BaseGeometry, cleared: BaseGeometry, *, has_coat: bool = True
) -> tuple[ShownFlaw, ...]:
    """The sheet's flaws that show. finished: what is kept, cleared: where the coat goes; both front frame.

    has_coat False: the sheet has no coat, so what is on its back shows as what is on its front does.
    """
    shown = []
    for number, flaw in enumerate(sheet.flaws):
        region = shapely.intersection(flaw_region(flaw, sheet), finished)
        if flaw.surface == "coat" and has_coat:
            region = shapely.difference(region, cleared)
        if region.area > 0:
            shown.append(ShownFlaw(number=number, flaw=flaw, region=region))
    return tuple(shown)


def shown_area_mm2(shown: Iterable[ShownFlaw]) -> float:
    """Area of all that shows, mm²; flaws that lie over each other count once each."""
    return float(sum(one.region.area for one in shown))
