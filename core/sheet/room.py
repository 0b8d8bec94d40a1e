"""Where a shape can lie on a piece: the exact region of its translations, sampled on a grid.

A shape lies in the piece when it lies in the piece's convex hull and meets none of what the hull adds to the piece
(notches and holes). The first is a half-plane for each side of the hull; the second, for a notch N and a shape F, is
the Minkowski sum of N and -F (T. Lozano-Pérez, Spatial Planning: A Configuration Space Approach, IEEE Transactions on
Computers C-32, 1983), put together here from convex parts, which may overlap each other.
"""

import math
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.sheet.raster import Bools, Floats, Grid, inside

TOUCHING_MM = 1e-6
"""Overlap that still counts as touching."""
CONTACT_MM = 1.5 * TOUCHING_MM
"""What regions of meeting are drawn in by at most, a corner's slant counted: added to where they end, for contact."""
SIMPLER_MM = 0.02
"""How far outlines with many corners are grown where they are held against notches."""
_FINE_MM = 0.001
"""The same where it has to be known whether a shape fits at all."""
_MANY_CORNERS = 250
_NO_NOTCH_MM2 = 1e-6
"""Notches smaller than this are rounding."""
_GOLDEN = (5**0.5 - 1) / 2
_CONVEX = 1e-9
"""What a polygon may lack of its hull, against the hull, to be convex but for rounding."""


def translation_grid(room: BaseGeometry, shape: BaseGeometry, cell_mm: float) -> Grid | None:
    """The translations that keep the shape's box inside the room's box, from its top left corner on.

    None where the shape is too large.
    """
    x0, y0, x1, y1 = room.bounds
    u0, v0, u1, v1 = shape.bounds
    slack_x, slack_y = (x1 - x0) - (u1 - u0), (y1 - y0) - (v1 - v0)
    if not min(slack_x, slack_y) >= -TOUCHING_MM:
        return None
    columns, rows = (math.floor(max(slack, 0.0) / cell_mm + 1e-6) + 1 for slack in (slack_x, slack_y))
    return Grid(x_mm=x0 - u0, y_mm=y0 - v0, cell_mm=cell_mm, columns=columns, rows=rows)


def feasible(room: BaseGeometry, shape: BaseGeometry, grid: Grid) -> Bools:
    """At which translations of the grid the shape lies wholly inside the room (rows, columns); touching is allowed.

    room: a polygon, holes allowed. shape: any polygons. Shapes with many corners are grown by up to twice
    ``SIMPLER_MM`` against notches and holes, so that no place is ever promised that is none.
    """
    hull = room.convex_hull
    result = inside(_inside_hull(hull, shape), grid)
    notches = shapely.get_parts(shapely.difference(hull, room))
    for notch in notches[shapely.area(notches) > _NO_NOTCH_MM2]:
        if result.any():
            result &= ~inside(meeting(notch, shape), grid)
    return result


def _inside_hull(hull: BaseGeometry, shape: BaseGeometry) -> BaseGeometry:
    """The translations that keep the shape in a convex polygon."""
    corners = shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
    own = shapely.get_coordinates(shape.convex_hull)
    along = np.roll(corners, -1, axis=0) - corners
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
    needed = (inward * corners).sum(1) - (inward @ own.T).min(1) - TOUCHING_MM
    (x0, y0), (x1, y1) = corners.min(0) - own.max(0) - 1.0, corners.max(0) - own.min(0) + 1.0
    clipped = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    scattered = np.argsort(np.arange(len(needed)) * _GOLDEN % 1.0)  # so that little is left after few of many edges
    for edge in scattered.tolist():
        clipped = _clipped(clipped, inward[edge], needed[edge])
        if not len(clipped):
            break
    return shapely.Polygon(clipped) if len(clipped) >= 3 else shapely.Polygon()


def _clipped(points: Floats, normal: Floats, least: float) -> Floats:
    """A convex polygon's corners, cut to where ``normal · p >= least``."""
    if not len(points):
        return points
    height = points @ normal - least
    if (height >= 0).all():
        return points
    following, ahead = np.roll(points, -1, axis=0), np.roll(height, -1)
    crossing = (height >= 0) != (ahead >= 0)
    share = np.divide(height, height - ahead, out=np.zeros_like(height), where=crossing)
    both = np.stack([points, points + share[:, None] * (following - points)], axis=1)
    result: Floats = both[np.stack([height >= 0, crossing], axis=1)]
    return result


def free_places(room: BaseGeometry, shape: BaseGeometry) -> BaseGeometry:
    """All translations at which the shape lies wholly inside the room, touching allowed; polygons, however small.

    Right to ``TOUCHING_MM``, for shapes with many corners to twice ``_FINE_MM``; slower than ``feasible`` where
    there is much room.
    """
    hull = room.convex_hull
    free = _inside_hull(hull, shape)
    for notch in shapely.get_parts(shapely.difference(hull, room)):
        if free.is_empty:
            return free
        if notch.area > _NO_NOTCH_MM2:
            blocked = meeting(notch, shape, near=free.bounds, simpler_mm=_FINE_MM)
            free = shapely.difference(free, shapely.union_all(blocked))
    return free


def meeting(
    notch: BaseGeometry,
    shape: BaseGeometry,
    *,
    near: tuple[float, float, float, float] | None = None,
    simpler_mm: float = SIMPLER_MM,
) -> NDArray[np.object_]:
    """Polygons that together are the translations at which the shape overlaps the notch.

    near: only those matter that reach into this box.
    """
    outline = _simpler(shape, simpler_mm)
    holes = shapely.get_parts(shapely.difference(_without_holes(outline), outline))
    if not any(_could_hold(hole.bounds, notch.bounds) for hole in holes):
        outline = _without_holes(outline)  # the notch can't lie inside a hole of the shape
    own = [-corners for corners in convex_parts(outline)]
    boxes = np.array([(*corners.min(0), *corners.max(0)) for corners in own])
    points, count = np.concatenate(own), np.array([len(corners) for corners in own])
    result = [np.empty(0, object)]
    for corners in convex_parts(_simpler(notch, simpler_mm)):
        middle = corners.mean(0)
        # drawn in, so that touching stays allowed
        shrunk = corners - (corners - middle) * min(1.0, TOUCHING_MM / np.abs(corners - middle).max())
        reach = np.ones(len(own), bool) if near is None else _reaching(boxes, shrunk, near)
        if not reach.any():
            continue
        sums = (points[np.repeat(reach, count), None] + shrunk[None]).reshape(-1, 2)
        # through the sums in any order: their hull is that of the points, and lines are made far quicker
        lines = shapely.linestrings(sums, indices=np.repeat(np.arange(reach.sum()), count[reach] * len(shrunk)))
        result.append(shapely.convex_hull(lines))
    return np.concatenate(result)


def _reaching(boxes: Floats, corners: Floats, near: tuple[float, float, float, float]) -> Bools:
    """Which of the boxes (n, 4), moved by all of the corners, reach into a box."""
    (u0, v0), (u1, v1) = corners.min(0), corners.max(0)
    x0, y0, x1, y1 = near
    across = (boxes[:, 0] + u0 <= x1) & (boxes[:, 2] + u1 >= x0)
    result: Bools = across & (boxes[:, 1] + v0 <= y1) & (boxes[:, 3] + v1 >= y0)
    return result


def _simpler(region: BaseGeometry, by_mm: float) -> BaseGeometry:
    """The region, or one around it with fewer corners."""
    if shapely.get_num_coordinates(region) <= _MANY_CORNERS:
        return region
    grown = shapely.buffer(region, by_mm, join_style="mitre", mitre_limit=2.0)
    simple: BaseGeometry = shapely.simplify(grown, by_mm, preserve_topology=True)
    return simple


def _without_holes(region: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(region)
    filled: BaseGeometry = shapely.union_all(shapely.polygons(shapely.get_exterior_ring(parts)))
    return filled


def _could_hold(hole: tuple[float, ...], notch: tuple[float, ...]) -> bool:
    return hole[2] - hole[0] >= notch[2] - notch[0] and hole[3] - hole[1] >= notch[3] - notch[1]


@lru_cache(maxsize=256)
def convex_parts(region: BaseGeometry) -> tuple[Floats, ...]:
    """Corners of convex polygons that together are the region."""
    polygons = shapely.get_parts(region)
    hulls = shapely.convex_hull(polygons)
    is_convex = shapely.area(hulls) - shapely.area(polygons) <= _CONVEX * shapely.area(hulls)
    parts = list(polygons[is_convex])
    for polygon in polygons[~is_convex]:
        parts += _merged(shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)))
    return tuple(shapely.get_coordinates(part)[:-1] for part in parts)


def _merged(triangles: NDArray[np.object_]) -> list[BaseGeometry]:
    """Triangles put together for as long as they stay convex, over their longest common sides first.

    S. Hertel, K. Mehlhorn, Fast Triangulation of Simple Polygons, FCT 1983: what is left is at most four times the
    fewest convex parts.
    """
    parts: list[BaseGeometry] = list(triangles)
    corners_of: list[Floats] = [shapely.get_coordinates(part) for part in parts]
    areas: list[float] = shapely.area(triangles).tolist()
    joined_to = list(range(len(parts)))

    def now_in(number: int) -> int:
        while joined_to[number] != number:
            joined_to[number] = number = joined_to[joined_to[number]]
        return number

    sides: dict[frozenset[tuple[float, float]], list[int]] = {}
    for number, around in enumerate(corners_of):
        corners = [(x, y) for x, y in around.tolist()]
        for side in pairwise(corners):
            sides.setdefault(frozenset(side), []).append(number)
    common = [(math.dist(*side), numbers) for side, numbers in sides.items() if len(numbers) == 2]
    for _, numbers in sorted(common, reverse=True):
        one, other = (now_in(number) for number in numbers)
        if one == other:
            continue
        through: Any = shapely.linestrings(np.concatenate((corners_of[one], corners_of[other])))
        together = shapely.convex_hull(through)
        area = float(shapely.area(together))
        if area - areas[one] - areas[other] <= _CONVEX * area:
            parts[one], areas[one], corners_of[one] = together, area, shapely.get_coordinates(together)
            joined_to[other] = one
    return [part for number, part in enumerate(parts) if joined_to[number] == number]
