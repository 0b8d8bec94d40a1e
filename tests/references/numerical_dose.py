"""What is bared, by plain numerical means: the dose on a fine grid, its contour by contourpy, areas by GEOS.

Written apart from ``core.burning``: only ``ScanRows`` and ``ClearingLine`` are taken from there, as the question.
contourpy (marching squares) and GEOS (through shapely) are general libraries.
"""

import itertools

import contourpy
import numpy as np
import shapely
from scipy.special import ndtr
from shapely.geometry.base import BaseGeometry

from core.burning.dose import ClearingLine
from core.burning.scan_rows import ScanRows
from core.geometry.affine import apply

GRID_MM = 0.002
MARGIN_SPOTS = 0.75  # there a line's dose is a hundredth of that on its axis
RADII = 3.0


def bared_by_grid(
    rows: ScanRows, line: ClearingLine, s: float, bounds: tuple[float, float, float, float], step_mm: float = GRID_MM
) -> BaseGeometry:
    """What is bared within bounds of the scan frame, in the scan frame."""
    x0, y0, x1, y1 = bounds
    x, y = np.arange(x0, x1 + step_mm, step_mm), np.arange(y0, y1 + step_mm, step_mm)
    w = line.spot_mm / 2
    peak = line.peak_j_mm2 / line.clearing_dose_j_mm2
    combined = np.zeros((len(y), len(x)))
    q = 1 / (1 - s) if s < 1 else 1.0
    from_axis = y[:, None] - rows.row_y_mm
    across = np.where(np.abs(from_axis) < RADII * w, peak * np.exp(-2 * (from_axis / w) ** 2), 0.0)
    along = np.zeros((len(rows.row_y_mm), len(x)))
    for number in range(len(along)):
        spans = np.flatnonzero(rows.row_index == number)[:, None]
        one = ndtr((x - rows.x0_mm[spans]) / (w / 2)) - ndtr((x - rows.x1_mm[spans]) / (w / 2))
        if len(one):
            along[number] = (np.maximum(one, 0.0) ** q).sum(0) if s < 1 else one.max(0)
    if s < 1:
        combined = line.passes * across**q @ along
    else:
        for number, row in enumerate(along):
            near = np.flatnonzero(across[:, number])
            combined[near] = np.maximum(combined[near], across[near, number, None] * row)
    level = np.log(np.maximum(combined, 1e-20))
    filled = contourpy.contour_generator(x, y, level, fill_type="OuterOffset").filled(0.0, np.inf)
    polygons = []
    for points, offsets in zip(*filled, strict=True):
        rings = [points[a:b] for a, b in itertools.pairwise(offsets)]
        polygons.append(shapely.Polygon(rings[0], rings[1:]))
    return shapely.union_all(shapely.make_valid(np.array(polygons, object))) if polygons else shapely.MultiPolygon()


def levels_at(rows: ScanRows, line: ClearingLine, s: float, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """ln(combined dose over clearing dose), at most -46 where there is none, at points of the scan frame."""
    w = line.spot_mm / 2
    peak = line.peak_j_mm2 / line.clearing_dose_j_mm2
    q = 1 / (1 - s) if s < 1 else 1.0
    combined = np.zeros(x.shape)
    for row_y, x0, x1 in zip(rows.row_y_mm[rows.row_index], rows.x0_mm, rows.x1_mm, strict=True):
        near = np.abs(y - row_y) < RADII * w
        along = ndtr((x[near] - x0) / (w / 2)) - ndtr((x[near] - x1) / (w / 2))
        dose = peak * np.exp(-2 * ((y[near] - row_y) / w) ** 2) * np.maximum(along, 0.0)
        combined[near] = combined[near] + line.passes * dose**q if s < 1 else np.maximum(combined[near], dose)
    level: np.ndarray = np.log(np.maximum(combined, 1e-20)) / q
    return level


def areas_by_grid_mm2(
    region: BaseGeometry, rows: ScanRows, line: ClearingLine, s: float, step_mm: float = GRID_MM
) -> tuple[float, float]:
    """Left-over and spill of a region of the bed frame."""
    scan = shapely.transform(region, lambda points: apply(rows.from_bed, points))
    x0, y0, x1, y1 = scan.bounds
    m = MARGIN_SPOTS * line.spot_mm
    bared = bared_by_grid(rows, line, s, (x0 - m, y0 - m, x1 + m, y1 + m), step_mm)
    return scan.difference(bared).area, bared.difference(scan).area
