"""Coat that stays since rows do not lie where they are told: the machine's placement error, beside the coverage.

The error of each row is normal and its own, so the gap between two neighbours is off by sqrt(2) times as much.
"""

import math
from dataclasses import replace

import numpy as np
import scipy

from core.burning.coverage import Coverage
from core.burning.scan_rows import ScanRows


def side_by_side_mm(rows: ScanRows) -> float:
    """The length over which each row runs beside the one before it, summed over all rows."""
    if not len(rows):
        return 0.0
    wide = float(rows.x1_mm.max() - rows.x0_mm.min()) + 1.0  # rows one after the other on a single line
    along = rows.row_index * wide
    ends = np.column_stack([along + rows.x0_mm, along + rows.x1_mm]).ravel()
    burned = np.concatenate([[0.0], np.cumsum(np.diff(ends) * (np.arange(len(ends) - 1) % 2 == 0))])
    before = np.interp(np.column_stack([rows.x0_mm, rows.x1_mm]) + (along - wide)[:, None], ends, burned)
    return float((before[:, 1] - before[:, 0]).sum())


def gap_left_mm(pitch_mm: float, *, cleared_width_mm: float, line_error_mm: float) -> float:
    """How wide a strip of coat stays between two neighbours in the mean: E[(pitch + error - cleared width)+]."""
    bare = pitch_mm - cleared_width_mm
    deviation = math.sqrt(2) * line_error_mm
    if deviation == 0.0:
        return max(bare, 0.0)
    z = bare / deviation
    return bare * float(scipy.special.ndtr(z)) + deviation * math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def with_rows_astray(coverage: Coverage, rows: ScanRows, *, line_error_mm: float) -> Coverage:
    """The coverage with the coat that stays in the mean for rows astray, as far as it is more than without error."""
    width = coverage.cleared_width_mm
    wider, exact = (gap_left_mm(rows.pitch_mm, cleared_width_mm=width, line_error_mm=e) for e in (line_error_mm, 0.0))
    astray_mm2 = min((wider - exact) * side_by_side_mm(rows), coverage.region_mm2 - coverage.left_over_mm2)
    return replace(coverage, left_over_mm2=coverage.left_over_mm2 + astray_mm2, astray_mm2=astray_mm2)
