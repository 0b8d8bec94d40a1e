"""How far a beam that is off has to go."""

import math
from collections.abc import Sequence

from core.geometry.path import Path


def jumps_mm(paths: Sequence[Path], start_mm: tuple[float, float]) -> float:
    """Length of all beam-off moves between subpaths, and from the start to the first."""
    here, total = start_mm, 0.0
    for path in paths:
        for begin, end in zip(path.start_points[path.starts], path.end_points[path.stops - 1], strict=True):
            total += math.dist(here, begin)
            here = (float(end[0]), float(end[1]))
    return total
