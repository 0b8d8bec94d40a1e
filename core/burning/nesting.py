"""Which line lies inside which closed outline."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.geometry.flattening import Polylines, flatten
from core.geometry.path import Path, joined

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

TOLERANCE_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """Which lines lie in which closed outlines.

    parents: for each line the smallest outline it lies in, or -1. inner (m,), outer (m,): all pairs of a line and an
    outline that holds it, sorted by the outline.
    """

    parents: list[int]
    inner: Ints
    outer: Ints

    def inside(self, outline: int) -> list[int]:
        """All lines that lie in this outline, whatever else they lie in."""
        first, stop = np.searchsorted(self.outer, (outline, outline + 1))
        result: list[int] = self.inner[first:stop].tolist()
        return result


def parents_of(lines: Sequence[Path]) -> list[int]:
    """For each line (one subpath) the index of the smallest closed outline it lies in, or -1."""
    return held_lines(lines).parents


def held_lines(lines: Sequence[Path]) -> Held:
    """Which line (one subpath) lies in which closed outlines.

    A line lies in an outline of larger area whose box holds its box, when a point inside it (or halfway along it,
    where it is open) is inside the outline by the even-odd rule. So there are no circles, and of two equal outlines
    neither lies in the other.
    """
    nothing = np.zeros(0, np.intp)
    if not lines:
        return Held(parents=[], inner=nothing, outer=nothing)
    flat = flatten(joined(list(lines)), TOLERANCE_MM)
    count = len(flat)
    areas, probes = np.zeros(count), flat.points[(flat.starts[:-1] + flat.starts[1:]) // 2]
    rings, outlines = _outlines(flat)
    if not len(rings):
        return Held(parents=[-1] * count, inner=nothing, outer=nothing)
    areas[rings] = shapely.area(outlines)
    with np.errstate(all="ignore"):
        probes[rings] = shapely.get_coordinates(shapely.point_on_surface(outlines))
    low, high = (reduce.reduceat(flat.points, flat.starts[:-1]) for reduce in (np.minimum, np.maximum))
    inner, outer = _contained(probes, outlines)
    outer = rings[outer]
    held = (
        (areas[outer] > areas[inner] * (1 + 1e-9))
        & (low[outer] <= low[inner] + TOLERANCE_MM).all(1)  # a hole may touch its outline, and both are chords
        & (high[outer] >= high[inner] - TOLERANCE_MM).all(1)
    )
    inner, outer = inner[held], outer[held]
    parents = np.full(count, -1)
    largest_first = np.argsort(-areas[outer], kind="stable")
    parents[inner[largest_first]] = outer[largest_first]  # of equal indices the last, smallest, stays
    by_outer = np.lexsort((inner, outer))
    return Held(parents=parents.tolist(), inner=inner[by_outer], outer=outer[by_outer])


def _outlines(flat: Polylines) -> tuple[Ints, NDArray[np.object_]]:
    """The closed lines that hold an area: their indices and polygons."""
    point_counts = np.diff(flat.starts)
    rings = np.flatnonzero(flat.closed & (point_counts >= 4))
    line_of_point = np.repeat(np.arange(len(flat)), point_counts)
    ring_of_line = np.full(len(flat), -1)
    ring_of_line[rings] = np.arange(len(rings))
    ring_of_point = ring_of_line[line_of_point]
    if not len(rings):
        return rings, np.zeros(0, object)
    on_ring = ring_of_point >= 0
    outlines = np.asarray(
        shapely.polygons(shapely.linearrings(flat.points[on_ring], indices=ring_of_point[on_ring])), object
    )
    crossed = ~shapely.is_valid(outlines)
    outlines[crossed] = shapely.make_valid(outlines[crossed])
    areal = shapely.area(outlines) > 0
    return rings[areal], outlines[areal]


def _contained(probes: Floats, outlines: NDArray[np.object_]) -> tuple[Ints, Ints]:
    """Pairs (probe, outline) where the probe is inside."""
    pairs = shapely.STRtree(outlines).query(shapely.points(probes), predicate="within")
    return pairs[0].astype(np.intp), pairs[1].astype(np.intp)
