"""Outlines that look like lettering: small, in rows, close together, of one size but of several forms."""

import numpy as np
import scipy
import shapely
from numpy.typing import NDArray

MOST_HEIGHT_MM = 25.0
"""Letters taller than this are as likely to be cut out (common practice, no source)."""
LEAST_LETTERS = 2
"""Room numbers have two."""
_PLAIN = 0.93
"""Share of its convex hull that a hole, a slot or a plate fills; most letters fill less."""


def is_plain(regions: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which regions are discs, slots, rectangles and the like, without bays, (n,)."""
    filled = shapely.area(shapely.polygons(shapely.get_exterior_ring(_largest(regions))))
    hull = shapely.area(shapely.convex_hull(regions))
    result: NDArray[np.bool_] = filled >= _PLAIN * hull
    return result


def lettering(regions: NDArray[np.object_], *, alike: bool = False) -> NDArray[np.bool_]:
    """Which of these outlines' regions (n,) look like letters of a word.

    alike: one form again and again may be lettering, too.
    """
    result = np.zeros(len(regions), bool)
    x0, y0, x1, y1 = shapely.bounds(regions).T
    height = y1 - y0
    some = np.flatnonzero((height > 0) & (height <= MOST_HEIGHT_MM) & (x1 - x0 <= 2 * MOST_HEIGHT_MM))
    if len(some) < LEAST_LETTERS:
        return result
    boxes = shapely.box(x0[some] - height[some], y0[some], x1[some] + height[some], y1[some])
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    a, b = some[first], some[second]
    smaller, larger = np.minimum(height[a], height[b]), np.maximum(height[a], height[b])
    beside = np.maximum(x0[a], x0[b]) - np.minimum(x1[a], x1[b]) <= 0.8 * larger
    in_row = (np.abs(y1[a] - y1[b]) <= 0.35 * larger) & (smaller >= 0.4 * larger) & beside
    links = scipy.sparse.coo_array(
        (np.ones(int(in_row.sum())), (first[in_row], second[in_row])), shape=(len(some), len(some))
    )
    _, row = scipy.sparse.csgraph.connected_components(links, directed=False)
    plain = is_plain(regions[some])
    area = shapely.area(regions[some])
    order = np.argsort(row, kind="stable")
    for members in np.split(order, np.flatnonzero(np.diff(row[order])) + 1):
        forms = len(np.unique(np.round(np.log(np.maximum(area[members], 1e-9)) * 30)))
        if len(members) >= LEAST_LETTERS and not plain[members].all() and (alike or forms >= max(2, len(members) // 4)):
            result[some[members]] = True
    return result


def _largest(regions: NDArray[np.object_]) -> NDArray[np.object_]:
    """The largest part of each region."""
    parts, owner = shapely.get_parts(regions, return_index=True)
    order = np.lexsort((shapely.area(parts), owner))
    last = np.append(np.diff(owner[order]) > 0, True) if len(order) else np.zeros(0, bool)
    result = np.full(len(regions), shapely.Polygon(), object)
    result[owner[order[last]]] = parts[order[last]]
    return result


def repeated(regions: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which regions are there more than once, as large and of the same width and height, (n,)."""
    x0, y0, x1, y1 = shapely.bounds(regions).T
    sizes = np.round(np.stack([x1 - x0, y1 - y0, np.sqrt(shapely.area(regions))], axis=1), 1)
    _, which, counts = np.unique(sizes, axis=0, return_inverse=True, return_counts=True)
    result: NDArray[np.bool_] = counts[which.ravel()] > 1
    return result
