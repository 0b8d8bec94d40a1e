"""What a job leaves of a piece: offcuts with their outlines and flaws, usable rectangles, waste."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region, rotation
from core.sheet.flaws import flaw_region, turned_flaw
from core.sheet.offcuts import Piece, outline_of, piece_region, sheet_of, to_origin
from core.sheet.placement import Flaw
from core.sheet.rest import Bounds, largest_rectangle
from core.sheet.room import free_places

STRIP_MM = 3.0
"""Strips narrower than this break off or warp: they are waste. Common practice, no source."""
LEAST_SIDE_MM = 20.0
"""An offcut is kept when a square of this side can be cut from it."""
_PLACES = 9
"""Coordinates are rounded to so many: all but zero, they make the geometry engine divide by nothing."""
_MANY_CORNERS = 250
_EXACT_MM = 5e-6
"""A square is drawn in by so much all round, so that one that only just fits does."""
_EDGES_TRIED = 8
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
    def kept_price(self) -> float:
        """What all that is worth keeping is worth, in the shop's own currency."""
        return float(sum(piece.price for piece in self.pieces))

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
    The offcuts' prices are what can still be made of them (see ``_prices``). Raises UnreadableError for
    a piece that is no polygon.
    """
    region = piece_region(piece)
    taken = shapely.make_valid(shapely.transform(taken, lambda points: np.round(points, _PLACES)))
    left = shapely.difference(region, taken)
    open_ = shapely.intersection(
        left,
        left.buffer(-STRIP_MM / 2, join_style="mitre").buffer(STRIP_MM / 2, join_style="mitre"),
    )
    parts = [part for part in shapely.get_parts(open_) if part.geom_type == "Polygon"]
    parts = [part for part in parts if holds_square(part, least_side_mm)]
    kept = tuple(sorted(parts, key=lambda part: -part.area))
    # no double counting: everything of the piece is kept, taken, or waste
    return Remainders(
        kept=kept,
        waste=shapely.difference(left, shapely.union_all(kept)),
        taken=shapely.intersection(region, taken),
        pieces=tuple(
            _offcut(piece, price, part, marked, note)
            for part, price in zip(kept, _prices(piece, region, kept), strict=True)
        ),
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


def holds_square(region: BaseGeometry, side_mm: float) -> bool:
    """Whether a square of that side lies in the region, along the axes or along one of the region's longest edges.

    Exactly, by erosion: the places at which the square lies in the region are none or some.
    """
    if region.area < side_mm**2 * (1 - 1e-6):
        return False
    if not shapely.buffer(region, -side_mm / np.sqrt(2)).is_empty:
        return True  # its round fits, however it is turned
    half_mm = side_mm / 2 - _EXACT_MM
    square = shapely.box(-half_mm, -half_mm, half_mm, half_mm)
    turned = (apply_to_region(rotation(-angle_deg), region) for angle_deg in _edge_angles_deg(region))
    return any(not free_places(part, square).is_empty for whole in turned for part in shapely.get_parts(whole))


def _edge_angles_deg(region: BaseGeometry) -> list[float]:
    """How the square is tried: as it lies, and along the longest edges, each direction once."""
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(region)), return_index=True)
    along = np.diff(points, axis=0)[ring[1:] == ring[:-1]]
    longest = along[np.argsort(-np.hypot(*along.T), kind="stable")[:_EDGES_TRIED]]
    angles = np.mod(np.degrees(np.arctan2(longest[:, 1], longest[:, 0])), 90.0).round(4)
    return list(dict.fromkeys([0.0, *(float(angle % 90.0) for angle in angles)]))


def worth_mm2(region: BaseGeometry) -> float:
    """What can still be made of a piece: the area of the largest rectangle along its axes, mm²."""
    boxes = [largest_rectangle(part) for part in shapely.get_parts(region)]
    return max(((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in filter(None, boxes)), default=0.0)


def _prices(piece: Piece, region: BaseGeometry, kept: tuple[BaseGeometry, ...]) -> list[float]:
    """What each offcut is worth of the piece's price.

    By what can still be made of it, against what could be made of the whole piece; never so much that the job would
    pay less than its own area and the waste come to.
    """
    worths = [worth_mm2(part) for part in kept]
    together = sum(worths)
    if not together:
        return [0.0 for _ in kept]
    share = min(together / max(worth_mm2(region), together), sum(part.area for part in kept) / region.area)
    return [piece.price * share * worth / together for worth in worths]


def _offcut(piece: Piece, price: float, part: BaseGeometry, marked: BaseGeometry | None, note: str) -> Piece:
    outline, dx, dy = to_origin(_simpler(part))
    return replace(
        piece,
        outline=outline_of(outline),
        price=price,
        flaws=tuple(_flaws_on(piece, part, marked, dx, dy)),
        full=False,
        note=note,
        reserved_for="",
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
