"""Where turned shapes can lie on a room, and where two of them meet, on a grid of translations and exactly."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region, rotation
from core.progress import Progress
from core.sheet.raster import Bools, Floats, Grid
from core.sheet.room import TOUCHING_MM, convex_parts, feasible, translation_grid

MAX_CELLS = 12_000_000
"""Of all fields together: the grid is made coarser for many shapes on a large sheet."""
CELLS_A_SHAPE = 10
"""Where many shapes and angles are to be looked at, cells along a shape of the mean area; exact contact comes after."""
FEW_FIELDS = 60
_MANY_CORNERS = 100
_SIMPLER_MM, _COARSEST_MM = 0.05, 3.0
"""How far shapes with many corners are grown to have fewer: as little as does, and at most so much."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """One shape at one angle: the translations that are looked at, and which of them keep it on the sheet.

    ``wanted``: which of the shapes wanted; ``outline``: the shape turned, or one around it with fewer corners.
    """

    number: int
    wanted: int
    angle_deg: float
    outline: BaseGeometry
    grid: Grid
    free: Bools


class ConvexEdges:
    """Edges of convex polygons, polygon after polygon."""

    def __init__(self, polygons: Sequence[Floats]) -> None:
        self.starts = np.concatenate(polygons)
        self.ends = np.concatenate([np.roll(corners, -1, axis=0) for corners in polygons])

    def crossings(self, at: float, axis: int) -> Floats:
        """(k, 2) where a line enters and leaves the polygons that it crosses.

        axis 0: the line runs along x at y = ``at``; 1: along y at x = ``at``.
        """
        from_mm, to_mm = self.starts[:, 1 - axis], self.ends[:, 1 - axis]
        cut = np.flatnonzero((from_mm < at) != (to_mm < at))
        start, end = self.starts[cut, axis], self.ends[cut, axis]
        where = start + (at - from_mm[cut]) / (to_mm[cut] - from_mm[cut]) * (end - start)
        result: Floats = np.sort(where.reshape(-1, 2), axis=1)
        return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Meeting:
    """At which translations of one field its shape meets that of another field, which lies at its own first one.

    Counted in cells from (column, row) of the first field's grid. edges: the same exactly, for the laid shape at the
    origin.
    """

    column: int
    row: int
    meets: Bools
    edges: "ConvexEdges"


def grid_cell_mm(shapes: Sequence[tuple[BaseGeometry, int]], finest_mm: float, *, fields: int) -> float:
    """The finest cell, or a multiple of it for large shapes in many fields; (shape, count) pairs."""
    if fields <= FEW_FIELDS:
        return finest_mm
    mean_mm2 = sum(shape.area * count for shape, count in shapes) / sum(count for _, count in shapes)
    return finest_mm * max(1, math.floor(math.sqrt(mean_mm2) / CELLS_A_SHAPE / finest_mm))


def fields_of(
    room: BaseGeometry, turned: Sequence[tuple[int, BaseGeometry, float]], cell_mm: float, progress: Progress
) -> list[Field]:
    """Those of (number of the shape, outline, angle) that fit on the room at all."""
    x0, y0, x1, y1 = room.bounds
    cell_mm = max(cell_mm, math.sqrt((x1 - x0) * (y1 - y0) * len(turned) / MAX_CELLS))
    fields: list[Field] = []
    for number, (of, outline, angle_deg) in enumerate(turned):
        progress(number / len(turned), "looking where shapes can lie")
        shape = apply_to_region(rotation(angle_deg), outline)
        grid = translation_grid(room, shape, cell_mm)
        if grid is not None and (free := feasible(room, shape, grid)).any():
            field = Field(number=len(fields), wanted=of, angle_deg=angle_deg, outline=shape, grid=grid, free=free)
            fields.append(field)
    return fields


def simpler(shape: BaseGeometry, smallest_mm2: float) -> BaseGeometry:
    """The shape, or one around it with few corners; holes that are too small for any shape are filled."""
    solid = [
        shapely.Polygon(part.exterior, [ring for ring in part.interiors if shapely.Polygon(ring).area > smallest_mm2])
        for part in shapely.get_parts(shape)
    ]
    simple = shapely.union_all(solid)
    grown_mm = _SIMPLER_MM
    while shapely.get_num_coordinates(simple) > _MANY_CORNERS and grown_mm < _COARSEST_MM:
        grown = shapely.buffer(shapely.union_all(solid), grown_mm, join_style="mitre", mitre_limit=2.0)
        simple = shapely.simplify(grown, grown_mm)
        grown_mm *= 2
    return simple if shapely.get_num_coordinates(simple) <= _MANY_CORNERS else shape.convex_hull


def spaced(shape: BaseGeometry, spacing_mm: float) -> BaseGeometry:
    """Grown by the spacing; corners that are not rounded: a little further away, but no more of them."""
    return shapely.buffer(shape, spacing_mm, join_style="mitre", mitre_limit=2.0) if spacing_mm > TOUCHING_MM else shape


class Meetings:
    """The meetings of fields, each worked out once."""

    def __init__(self, fields: Sequence[Field], spacing_mm: float) -> None:
        self.fields, self.spacing_mm = fields, spacing_mm
        self.bounds = np.array([field.outline.bounds for field in fields])
        # half of the spacing round each: so that either of two is met by the other at the same places
        self.parts = parts = [convex_parts(spaced(field.outline, spacing_mm / 2)) for field in fields]
        self._laid = [[_Rim(corners) for corners in own] for own in parts]
        self._other = [[_Rim(-corners) for corners in own] for own in parts]
        self._known: dict[tuple[int, int], Meeting] = {}

    def of(self, laid: int, other: int) -> Meeting:
        """Where the other field's shape meets the laid one's."""
        key = (laid, other)
        if key not in self._known:
            regions = [_sum(one, two) for one in self._laid[laid] for two in self._other[other]]
            self._known[key] = _meeting(self.fields[laid].grid, self.fields[other].grid, regions)
        return self._known[key]


class _Rim:
    """A convex polygon as its lowest corner and its edges by direction."""

    def __init__(self, corners: Floats) -> None:
        ahead = np.roll(corners, -1, axis=0) - corners
        twice_mm2 = float(
            (corners[:, 0] * np.roll(corners[:, 1], -1) - np.roll(corners[:, 0], -1) * corners[:, 1]).sum()
        )
        if twice_mm2 < 0:
            corners = corners[::-1]
            ahead = np.roll(corners, -1, axis=0) - corners
        lowest = int(np.lexsort((corners[:, 0], corners[:, 1]))[0])
        self.lowest = corners[lowest]
        self.edges = np.roll(ahead, -lowest, axis=0)
        self.angles = np.mod(np.arctan2(self.edges[:, 1], self.edges[:, 0]) + _ROUNDING_RAD, 2 * np.pi)


_ROUNDING_RAD = 1e-12


def _sum(one: _Rim, other: _Rim) -> Floats:
    """The Minkowski sum of two convex polygons from its lowest corner on, drawn in so that touching stays allowed."""
    edges = np.concatenate([one.edges, other.edges])[np.argsort(np.concatenate([one.angles, other.angles]))]
    corners = np.empty_like(edges)
    corners[0] = one.lowest + other.lowest
    corners[1:] = corners[0] + np.cumsum(edges[:-1], axis=0)
    inward = corners.mean(0) - corners
    result: Floats = corners + inward * min(1.0, TOUCHING_MM / np.abs(inward).max())
    return result


def _meeting(laid: Grid, other: Grid, regions: Sequence[Floats]) -> Meeting:
    """From where a shape at the origin is met; ``laid`` and ``other`` are the grids of both fields."""
    every = np.concatenate(regions)
    origin = np.array([laid.x_mm, laid.y_mm])
    (x0, y0), (x1, y1) = every.min(0) + origin, every.max(0) + origin
    cell_mm = other.cell_mm
    column, row = math.floor((x0 - other.x_mm) / cell_mm), math.floor((y0 - other.y_mm) / cell_mm)
    columns = math.ceil((x1 - other.x_mm) / cell_mm) - column + 1
    rows = math.ceil((y1 - other.y_mm) / cell_mm) - row + 1
    xs_mm = other.x_mm - laid.x_mm + (column + np.arange(columns)) * cell_mm
    ys_mm = other.y_mm - laid.y_mm + (row + np.arange(rows)) * cell_mm
    meets = np.zeros((rows, columns), bool)
    for corners in regions:
        first, stop = np.searchsorted(ys_mm, (corners[0, 1], corners[:, 1].max()))
        if stop > first:
            low, high = _breadth(corners, ys_mm[first:stop])
            meets[first:stop] |= (xs_mm >= low[:, None]) & (xs_mm <= high[:, None])
    return Meeting(column=column, row=row, meets=meets, edges=ConvexEdges(regions))


def _breadth(corners: Floats, ys_mm: Floats) -> tuple[Floats, Floats]:
    """Least and greatest x of a convex polygon at heights within it; its lowest corner comes first."""
    top = int(corners[:, 1].argmax()) + 1
    one, other = corners[:top], np.concatenate([corners[top - 1 :], corners[:1]])[::-1]
    ends = [np.interp(ys_mm, side[:, 1], side[:, 0]) for side in (one, other)]
    return np.minimum(*ends), np.maximum(*ends)
