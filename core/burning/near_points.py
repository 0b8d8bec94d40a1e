"""The nearest points of every point of a set."""

import itertools

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

PLAIN_SEARCH = 4000
_AT_ONCE = 500
ON_ONE_LINE_MM = 1e-3
MOST_AT_A_POINT = 8


def nearest_points(points: Floats, count: int) -> list[list[int]]:
    """For each of (n, 2) points about ``count`` of the nearest others, nearest first.

    By plain search for few; for many among the neighbours, and theirs, in the Delaunay graph: these hold nearly all
    that is near. Where many points coincide only some of them are named.
    """
    size = len(points)
    if size <= PLAIN_SEARCH:
        return _by_plain_search(points, min(count, size - 1))
    return _by_delaunay(points, count)


def _by_plain_search(points: Floats, count: int) -> list[list[int]]:
    found: list[list[int]] = []
    for first in range(0, len(points), _AT_ONCE):
        some = points[first : first + _AT_ONCE]
        away = np.hypot(some[:, None, 0] - points[None, :, 0], some[:, None, 1] - points[None, :, 1])
        away[np.arange(len(some)), first + np.arange(len(some))] = np.inf
        near = np.argpartition(away, count - 1, axis=1)[:, :count] if count else np.zeros((len(some), 0), np.intp)
        by_distance = np.argsort(np.take_along_axis(away, near, 1), axis=1, kind="stable")
        found += np.take_along_axis(near, by_distance, 1).tolist()
    return found


def _by_delaunay(points: Floats, count: int) -> list[list[int]]:
    places, node = np.unique(points.round(6), axis=0, return_inverse=True)
    node = node.reshape(-1)
    one, other = _both_ways(_delaunay_edges(places), len(places))
    starts = np.searchsorted(one, np.arange(len(places) + 1))
    further = starts[other + 1] - starts[other]  # neighbours' neighbours, pair by pair
    index = np.repeat(starts[other], further) + _counted(further)
    pairs = np.concatenate([one, np.repeat(one, further)]), np.concatenate([other, other[index]])
    keys = np.unique(pairs[0] * len(places) + pairs[1])
    a, b = np.divmod(keys, len(places))
    apart = np.hypot(*(places[a] - places[b]).T)
    by_distance = np.lexsort((apart, a))
    a, b = a[by_distance], b[by_distance]
    within = np.arange(len(a)) - np.searchsorted(a, a)
    a, b = a[within < count + 1], b[within < count + 1]
    at_place: list[list[int]] = [[] for _ in places]
    for i, place in enumerate(node.tolist()):
        if len(at_place[place]) < MOST_AT_A_POINT:
            at_place[place].append(i)
    near_place: list[list[int]] = [[] for _ in places]
    for place, neighbour in zip(a.tolist(), b.tolist(), strict=True):
        if len(near_place[place]) < count + MOST_AT_A_POINT:
            near_place[place] += at_place[neighbour]
    return [[j for j in near_place[place] if j != i] for i, place in enumerate(node.tolist())]


def _both_ways(edges: Ints, count: int) -> tuple[Ints, Ints]:
    """Edges in both directions and from every place to itself, sorted."""
    own = np.arange(count)
    one, other = np.concatenate([edges[:, 0], edges[:, 1], own]), np.concatenate([edges[:, 1], edges[:, 0], own])
    rising = np.lexsort((other, one))
    return one[rising], other[rising]


def _counted(lengths: Ints) -> Ints:
    """0, 1, 2 ... within each stretch of these lengths."""
    ends = np.cumsum(lengths)
    result: Ints = np.arange(int(lengths.sum())) - np.repeat(ends - lengths, lengths)
    return result


def _delaunay_edges(places: Floats) -> Ints:
    """(m, 2) pairs of neighbouring places (sorted by x, then y); one after the other where all lie on one line."""
    if np.linalg.svd(places - places.mean(0), compute_uv=False)[-1] < ON_ONE_LINE_MM:
        return np.array(list(itertools.pairwise(range(len(places)))), np.intp)
    edges = shapely.delaunay_triangles(shapely.multipoints(places), only_edges=True)
    ends = shapely.get_coordinates(shapely.get_parts(edges))
    _, node = np.unique(np.vstack([places, ends]), axis=0, return_inverse=True)
    node = node.reshape(-1)
    index = np.empty(int(node.max()) + 1, np.intp)
    index[node[: len(places)]] = np.arange(len(places))
    result: Ints = index[node[len(places) :]].reshape(-1, 2)
    return result
