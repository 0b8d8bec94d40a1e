"""Bounds of outlines: quick ones that are never too small, and close ones."""

import numpy as np

from core.artwork.svg.drawn import Bounds
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import ARC, CUBIC, Path


def rough_bounds(path: Path) -> Bounds:
    """Bounds of control points and of arcs' whole ellipses: never too small."""
    segments, kinds = path.segments, path.kinds
    points = [segments[:, 0:2], segments[:, 2:4]] if not (kinds == ARC).any() else []
    if not points:
        arcs, others = segments[kinds == ARC], segments[kinds != ARC]
        reach = np.abs(arcs[:, 2:4]) + np.abs(arcs[:, 4:6])
        points = [arcs[:, 0:2] - reach, arcs[:, 0:2] + reach, others[:, 0:2], others[:, 2:4]]
    cubics = segments[kinds == CUBIC]
    points.extend((cubics[:, 4:6], cubics[:, 6:8]))
    low = np.min([part.min(0) for part in points if len(part)], axis=0)
    high = np.max([part.max(0) for part in points if len(part)], axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def tight_bounds(path: Path) -> Bounds:
    """Bounds of a path, near enough for what is fitted to them."""
    x0, y0, x1, y1 = rough_bounds(path)
    return path_bounds_mm(path, max(x1 - x0, y1 - y0, 1e-9) / 4000)
