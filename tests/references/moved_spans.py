"""What spans bare when nothing adds, as polygons for GEOS (through shapely): each the contour of its own dose.

The dose of a line of finite length is solved for its contour by bisection, apart from ``core.burning``.
"""

import numpy as np
import shapely
from scipy.special import ndtr
from shapely.geometry.base import BaseGeometry

from core.burning.dose import ClearingLine
from core.burning.scan_rows import ScanRows
from core.geometry.affine import apply


def span_outlines(rows: ScanRows, line: ClearingLine, *, points: int = 32) -> "np.ndarray":
    """A polygon in the scan frame for each span that bares anything, with ``points`` along each side of each end."""
    sigma = line.spot_mm / 4
    peak = line.peak_j_mm2 / line.clearing_dose_j_mm2
    half = (rows.x1_mm - rows.x0_mm) / 2 / sigma
    axis = peak * (2 * ndtr(half) - 1)
    some = np.flatnonzero(axis > 1)
    half, axis = half[some], axis[some]
    tip = 2 * sigma * np.sqrt(np.log(axis) / 2)
    u = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 2 * points + 1)) * tip[:, None]
    needed = np.exp(2 * (u / (2 * sigma)) ** 2) / peak
    low, high = np.zeros(u.shape), np.broadcast_to(half[:, None] + 6, u.shape).copy()
    for _ in range(60):
        middle = (low + high) / 2
        over = ndtr(middle + half[:, None]) - ndtr(middle - half[:, None]) >= needed
        low, high = np.where(over, middle, low), np.where(over, high, middle)
    centre = ((rows.x0_mm + rows.x1_mm) / 2)[some][:, None]
    y = rows.row_y_mm[rows.row_index[some]][:, None] + u
    right = np.stack([centre + low * sigma, y], -1)
    left = np.stack([centre - low * sigma, y], -1)[:, ::-1]
    rings = np.concatenate([right, left, right[:, :1]], axis=1)
    return shapely.polygons(rings)


def areas_by_geos_mm2(
    region: BaseGeometry, rows: ScanRows, line: ClearingLine, *, points: int = 32
) -> tuple[float, float]:
    """Left-over and spill of a region of the bed frame."""
    scan = shapely.transform(region, lambda points: apply(rows.from_bed, points))
    bared = shapely.union_all(shapely.make_valid(span_outlines(rows, line, points=points)))
    return scan.difference(bared).area, bared.difference(scan).area
