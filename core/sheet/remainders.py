"""What a job leaves of a piece: offcuts with their outlines and flaws, usable rectangles, waste."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.sheet.flaws import flaw_region, turned_flaw
from core.sheet.offcuts import Piece, outline_of, piece_region, sheet_of, to_origin
from core.sheet.placement import Flaw
from core.sheet.rest import Bounds, largest_rectangle

STRIP_MM = 3.0
"""Strips narrower than this break off or warp: they are waste. Common practice, no source."""
LEAST_SIDE_MM = 20.0
"""An offcut is kept when a square of this side can be cut from it."""
_PLACES = 9
"""Coordinates are rounded to so many: all but zero, they make the geometry engine divide by nothing."""
_MANY_CORNERS = 250
_SIMPLER_MM = 0.04


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Remainders:
    """What is left of a piece. kept: regions of the offcuts worth keeping, largest first, and waste, both in the
    piece's front frame; areas of the two and ``taken`` add up to the piece."""

    kept: tuple[BaseGeometry, ...]
    waste: BaseGeometry
    taken: BaseGeometry
    pieces: tuple[Piece, ...]

    @property
    def kept_mm2(self) -> float:
        """Area of all that is worth keeping, mm²."""
        return float(sum(region.area for region in self.kept))


def remainders(
    piece: Piece,
    taken: BaseGeometry,
    *,
    marked: BaseGeometry | None = None,
    least_side_mm: float = LEAST_SIDE_MM,
    note: str = "",
) -> Remainders:
    """What is left once ``taken`` (finished pieces and kerf, front frame) is gone.

    marked: coat that was burned off without the sheet being cut there; it becomes a flaw of the offcut it lies on.
    The offcuts' price is their share of the piece's by area. Raises UnreadableError for a piece that is no polygon.
    """
    region = piece_region(piece)
    taken = shapely.make_valid(shapely.transform(taken, lambda points: np.round(points, _PLACES)))
    left = shapely.difference(region, taken)
    open_ = shapely.intersection(
        left,
        left.buffer(-STRIP_MM / 2, join_style="mitre").buffer(STRIP_MM / 2, join_style="mitre"),
    )
    parts = [part for part in shapely.get_parts(open_) if part.geom_type == "Polygon"]
    parts = [part for part in parts if _holds_square(part, least_side_mm)]
    kept = tuple(sorted(parts, key=lambda part: -part.area))
    # no double counting: everything of the piece is kept, taken, or waste
    return Remainders(
        kept=kept,
        waste=shapely.difference(left, shapely.union_all(kept)),
        taken=shapely.intersection(region, taken),
        pieces=tuple(_offcut(piece, region.area, part, marked, note) for part in kept),
    )


def usable_rectangles(
    region: BaseGeometry, *, count: int = 3, least_side_mm: float = LEAST_SIDE_MM
) -> tuple[Bounds, ...]:
    """The largest rectangle along the axes, then the largest in what is left of it, and so on; no overlaps."""
    found: list[Bounds] = []
    while len(found) < count:
        parts = [part for part in shapely.get_parts(region) if part.area >= least_side_mm**2]
        rectangles = [rectangle for part in parts if (rectangle := largest_rectangle(part)) is not None]
        usable = [(x0, y0, x1, y1) for x0, y0, x1, y1 in rectangles if min(x1 - x0, y1 - y0) >= least_side_mm - 1e-6]
        if not usable:
            break
        found.append(max(usable, key=lambda box: (box[2] - box[0]) * (box[3] - box[1])))
        region = shapely.difference(region, shapely.box(*found[-1]))
    return tuple(found)


def _holds_square(region: BaseGeometry, side_mm: float) -> bool:
    """Whether a square of that side, along the axes, lies in the region."""
    if region.area < side_mm**2:
        return False
    rectangle = largest_rectangle(region)
    if rectangle is not None and min(rectangle[2] - rectangle[0], rectangle[3] - rectangle[1]) >= side_mm - 1e-6:
        return True
    return not shapely.buffer(region, -side_mm / np.sqrt(2)).is_empty


def _offcut(piece: Piece, whole_mm2: float, part: BaseGeometry, marked: BaseGeometry | None, note: str) -> Piece:
    outline, dx, dy = to_origin(_simpler(part))
    return replace(
        piece,
        outline=outline_of(outline),
        price=piece.price * part.area / whole_mm2,
        flaws=tuple(_flaws_on(piece, part, marked, dx, dy)),
        full=False,
        note=note,
    )


def _flaws_on(piece: Piece, part: BaseGeometry, marked: BaseGeometry | None, dx: float, dy: float) -> Iterable[Flaw]:
    """The piece's flaws that reach onto the part, and coat that was burned off there, in the part's own frame."""
    sheet = sheet_of(piece)
    for flaw in piece.flaws:
        if flaw_region(flaw, sheet).intersects(part):
            seen = flaw if flaw.noted_from == "front" else turned_flaw(flaw, sheet)
            yield replace(seen, points=tuple((x + dx, y + dy) for x, y in seen.points))
    if marked is None:
        return
    for patch in shapely.get_parts(shapely.intersection(marked, part)):
        if patch.geom_type == "Polygon" and patch.area > 0:
            ring = shapely.get_coordinates(shapely.simplify(patch, _SIMPLER_MM).exterior)[:-1]
            points = tuple((float(x) + dx, float(y) + dy) for x, y in ring)
            yield Flaw(kind="patch", points=points, width_mm=2 * _SIMPLER_MM, note="burned by an earlier job")


def _simpler(region: BaseGeometry) -> BaseGeometry:
    """The region, or one inside it with fewer corners."""
    if shapely.get_num_coordinates(region) <= _MANY_CORNERS:
        return region
    inner = shapely.get_parts(shapely.simplify(shapely.buffer(region, -_SIMPLER_MM), _SIMPLER_MM))
    largest: BaseGeometry = max(inner, key=lambda part: part.area)
    return largest
