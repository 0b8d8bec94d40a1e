"""Exact extents of paths: a plate drawn with round ends is as wide as its maker drew it."""

import numpy as np

from core.geometry.path import ARC, CUBIC, Floats, Path, arc_points


def exact_bounds(path: Path) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of a path that is not empty."""
    arcs = path.segments[path.kinds == ARC]
    cubics = path.segments[path.kinds == CUBIC].reshape(-1, 4, 2)
    places = np.concatenate([path.start_points, path.end_points, _arc_extremes(arcs), _cubic_extremes(cubics)])
    return (*places.min(0).tolist(), *places.max(0).tolist())


def _arc_extremes(arcs: Floats) -> Floats:
    """Where x or y turns, within each arc: tan t = v / u of that coordinate."""
    low, high = np.minimum(arcs[:, 6], arcs[:, 7]), np.maximum(arcs[:, 6], arcs[:, 7])
    found = []
    for axis in (0, 1):
        turn = np.arctan2(arcs[:, 4 + axis], arcs[:, 2 + axis])
        first = turn + np.pi * np.ceil((low - turn) / np.pi)
        for half_turns in (0, 1, 2):
            t = first + np.pi * half_turns
            found.append(arc_points(arcs[t <= high], t[t <= high]))
    return np.concatenate(found)


def _cubic_extremes(cubics: Floats) -> Floats:
    """Where x or y turns, within each cubic: the roots of its derivative."""
    p0, p1, p2, p3 = (cubics[:, i] for i in range(4))
    a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0
    with np.errstate(all="ignore"):
        root = np.sqrt(b * b - 4 * a * c)
        q = -(b + np.where(b < 0, -root, root)) / 2  # without the cancellation of the school formula
        candidates = np.stack([q / a, c / q])
    t = np.where((candidates > 0) & (candidates < 1), candidates, 0.0)
    places = []
    for roots in t:
        for axis in (0, 1):
            u = roots[:, axis, None]
            s = 1 - u
            places.append(s**3 * p0 + 3 * s * s * u * p1 + 3 * s * u * u * p2 + u**3 * p3)
    return np.concatenate(places)
