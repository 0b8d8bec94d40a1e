"""Whether lines close, by their flag or because their ends meet."""

import numpy as np
from numpy.typing import NDArray

from core.geometry.path import LINE, Path

_MEETING_MM = 0.01
"""Ends this near close an outline."""


def closed_subpaths(path: Path) -> NDArray[np.bool_]:
    """Which subpaths close, (m,)."""
    if path.closed.all() or (len(path) == 1 and path.kinds[0] == LINE):
        return path.closed
    starts = path.start_points[path.starts]
    ends = path.end_points[path.stops - 1]
    longer = np.add.reduceat(np.abs(path.end_points - path.start_points).sum(axis=1), path.starts) > 4 * _MEETING_MM
    curled = (path.kinds[path.starts] != LINE) | (path.stops - path.starts > 1)
    meet = np.hypot(*(ends - starts).T) <= _MEETING_MM
    result: NDArray[np.bool_] = path.closed | (meet & longer & curled)
    return result
