"""Many polylines in one array: flattened, moved, thinned out for a zoom and clipped to a view. No Qt here."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from core.geometry.affine import Affine, apply
from core.geometry.flattening import flatten
from core.geometry.path import Path, joined

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Box = tuple[float, float, float, float]

BASE_TOLERANCE_MM = 0.005
"""How far drawn chords may lie from their curve: finer than what is burned, so that deep zooms stay round."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Outlines:
    """Polylines end to end. A closed one repeats its first point as its last.

    points: (n, 2) mm; starts: (m + 1,), polyline i is ``points[starts[i]:starts[i + 1]]``, of two points or more;
    unit: (m,), rising: the thing (shape, polygon, line) that a polyline belongs to.
    """

    points: Floats
    starts: Ints
    unit: Ints

    def __len__(self) -> int:
        return len(self.unit)

    @cached_property
    def boxes(self) -> Floats:
        """(x0, y0, x1, y1) of each polyline, (m, 4)."""
        return boxes_of_runs(self.points, self.starts)

    @cached_property
    def closed(self) -> NDArray[np.bool_]:
        """Which polylines end where they start, (m,)."""
        result: NDArray[np.bool_] = (self.points[self.starts[:-1]] == self.points[self.starts[1:] - 1]).all(1)
        return result

    def unit_boxes(self, unit_count: int) -> Floats:
        """Bounds of each unit, (unit_count, 4); nan for units without polylines."""
        result = np.full((unit_count, 4), np.nan)
        if len(self):
            firsts = np.flatnonzero(np.diff(self.unit, prepend=-1))
            units = self.unit[firsts]
            result[units, :2] = np.minimum.reduceat(self.boxes[:, :2], firsts)
            result[units, 2:] = np.maximum.reduceat(self.boxes[:, 2:], firsts)
        return result

    def transformed(self, matrix: Affine) -> "Outlines":
        """All of it through an affine map."""
        return Outlines(points=apply(matrix, self.points), starts=self.starts, unit=self.unit)

    def chosen(self, polylines: Ints) -> "Outlines":
        """These polylines only, in this order (units must stay rising)."""
        counts = np.diff(self.starts)[polylines]
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
        index = np.arange(starts[-1]) + np.repeat(self.starts[:-1][polylines] - starts[:-1], counts)
        return Outlines(points=self.points[index], starts=starts, unit=self.unit[polylines])

    def thinned(self, tolerance_mm: float) -> "Outlines":
        """Fewer points, none of the old ones further than the tolerance from the new lines.

        (D. H. Douglas, T. K. Peucker, The Canadian Cartographer 10, 1973, as GEOS does it.) What shrinks to nothing
        keeps its bounding box, so that small things stay to be seen.
        """
        if not len(self):
            return self
        counts = np.diff(self.starts)
        lines = shapely.linestrings(self.points, indices=np.repeat(np.arange(len(self)), counts))
        thin = shapely.simplify(lines, tolerance_mm, preserve_topology=False)
        points, of = shapely.get_coordinates(thin, return_index=True)
        kept = np.bincount(of, minlength=len(self))
        boxed = self.closed & (kept < 4) & (counts > 5)
        new_counts = np.where(boxed, 5, kept)
        starts = np.concatenate([[0], np.cumsum(new_counts)]).astype(np.intp)
        result = np.empty((starts[-1], 2))
        result[np.repeat(~boxed, new_counts)] = points[~boxed[of]]
        x0, y0, x1, y1 = self.boxes[boxed].T
        corners = np.stack([x0, y0, x1, y0, x1, y1, x0, y1, x0, y0], axis=1)
        result[np.repeat(boxed, new_counts)] = corners.reshape(-1, 2)
        return Outlines(points=result, starts=starts, unit=self.unit)


NO_OUTLINES = Outlines(points=np.zeros((0, 2)), starts=np.zeros(1, np.intp), unit=np.zeros(0, np.intp))


def outlines_of_paths(paths: Sequence[Path], *, tolerance_mm: float = BASE_TOLERANCE_MM) -> Outlines:
    """Each path one unit, flattened."""
    counts = np.array([len(path.starts) if len(path) else 0 for path in paths], np.intp)
    flat = flatten(joined(tuple(paths)), tolerance_mm)
    return Outlines(points=flat.points, starts=flat.starts, unit=np.repeat(np.arange(len(paths)), counts))


def outlines_of_region(region: "BaseGeometry") -> Outlines:
    """The rings of a region; each polygon one unit."""
    polygons = shapely.get_parts(region)
    polygons = polygons[(shapely.get_type_id(polygons) == shapely.GeometryType.POLYGON) & ~shapely.is_empty(polygons)]
    if not len(polygons):
        return NO_OUTLINES
    rings, unit = shapely.get_rings(polygons, return_index=True)
    points, of = shapely.get_coordinates(rings, return_index=True)
    starts = np.searchsorted(of, np.arange(len(rings) + 1)).astype(np.intp)
    return Outlines(points=points, starts=starts, unit=unit.astype(np.intp))


def boxes_of_runs(points: Floats, starts: Ints) -> Floats:
    """(x0, y0, x1, y1) of each run of points, (m, 4); no run may be empty."""
    if len(starts) < 2:
        return np.zeros((0, 4))
    low = np.minimum.reduceat(points, starts[:-1])
    high = np.maximum.reduceat(points, starts[:-1])
    return np.hstack([low, high])


def meet(boxes: Floats, box: Box) -> NDArray[np.bool_]:
    """Which boxes (m, 4) touch or overlap this one."""
    x0, y0, x1, y1 = box
    result: NDArray[np.bool_] = (boxes[:, 0] <= x1) & (boxes[:, 2] >= x0) & (boxes[:, 1] <= y1) & (boxes[:, 3] >= y0)
    return result


def clipped_rings(outlines: Outlines, box: Box) -> Outlines:
    """Closed polylines cut down to a box (I. E. Sutherland, G. W. Hodgman, Comm. ACM 17, 1974).

    Right for filling: edges that run along the box may be laid twice. Rings that vanish are left out.
    """
    for axis, bound, sign in ((0, box[0], 1.0), (0, box[2], -1.0), (1, box[1], 1.0), (1, box[3], -1.0)):
        outlines = _cut_by_half_plane(outlines, axis, bound, sign)
        if not len(outlines):
            break
    return outlines


def _cut_by_half_plane(outlines: Outlines, axis: int, bound: float, sign: float) -> Outlines:
    depth = sign * (outlines.points[:, axis] - bound)
    inside = depth >= 0
    # an edge runs from each point to the next; the last point of a ring is its first again and starts none
    starts_edge = np.ones(len(depth), bool)
    starts_edge[outlines.starts[1:] - 1] = False
    a = np.flatnonzero(starts_edge)
    b = a + 1
    crosses = inside[a] != inside[b]
    emitted = crosses.astype(np.intp) + inside[b]
    slots = np.concatenate([[0], np.cumsum(emitted)]).astype(np.intp)
    points = np.empty((slots[-1], 2))
    where = np.flatnonzero(crosses)
    share = (depth[a[where]] / (depth[a[where]] - depth[b[where]]))[:, None]
    crossing = outlines.points[a[where]] * (1 - share) + outlines.points[b[where]] * share
    crossing[:, axis] = bound
    points[slots[where]] = crossing
    enters = np.flatnonzero(inside[b])
    points[slots[enters] + crosses[enters]] = outlines.points[b[enters]]
    ring_of_edge = np.repeat(np.arange(len(outlines)), np.diff(outlines.starts) - 1)
    counts = np.bincount(ring_of_edge, weights=emitted, minlength=len(outlines)).astype(np.intp)
    kept = np.flatnonzero(counts > 2)
    return _reclosed(points, counts, kept, outlines.unit)


def _reclosed(points: Floats, counts: Ints, kept: Ints, unit: Ints) -> Outlines:
    old_starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
    starts = np.concatenate([[0], np.cumsum(counts[kept] + 1)]).astype(np.intp)
    index = np.arange(starts[-1]) + np.repeat(old_starts[kept] - starts[:-1], counts[kept] + 1)
    index[starts[1:] - 1] = old_starts[kept]
    return Outlines(points=points[index], starts=starts, unit=unit[kept])


def runs_meeting(points: Floats, box: Box) -> list[tuple[int, int]]:
    """Runs [a, b) of a polyline's points whose segments' boxes meet the box."""
    low, high = np.minimum(points[:-1], points[1:]), np.maximum(points[:-1], points[1:])
    near = np.concatenate([[False], meet(np.hstack([low, high]), box), [False]])
    edges = np.flatnonzero(np.diff(near.astype(np.int8)))
    return [(int(a), int(b) + 1) for a, b in edges.reshape(-1, 2)]
