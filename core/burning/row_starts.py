"""Where rows may begin is the receiving software's choice: what of thin parts hangs on it."""

import numpy as np

from core.burning.scan_rows import Floats


def share_of_starts_that_hit_all(low_mm: Floats, high_mm: Floats, *, pitch_mm: float) -> float:
    """In which share of all places where rows may begin, every one of the parts has a row.

    low_mm, high_mm: the reach of each part across the rows, (n,). A part lower than the pitch is missed while no row
    lies in its reach: rows that begin within an arc of the circle [0, pitch). The share is what no arc covers.
    """
    height = high_mm - low_mm
    if not len(height) or float(height.min()) >= pitch_mm:
        return 1.0
    thin = height < pitch_mm
    begin = np.mod(high_mm[thin], pitch_mm)
    end = begin + pitch_mm - height[thin]
    over = end > pitch_mm
    begins = np.concatenate([begin, np.zeros(int(over.sum()))])
    ends = np.concatenate([np.minimum(end, pitch_mm), end[over] - pitch_mm])
    order = np.argsort(begins)
    begins, ends = begins[order], np.maximum.accumulate(ends[order])
    free = begins[0] + np.maximum(begins[1:] - ends[:-1], 0.0).sum() + pitch_mm - ends[-1]
    return float(min(max(free / pitch_mm, 0.0), 1.0))
