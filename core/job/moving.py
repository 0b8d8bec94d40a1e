"""Coverage results that were worked out elsewhere on the bed, moved to where the artwork lies now."""

from dataclasses import replace

import numpy as np

from core.burning.coverage import Coverage
from core.burning.coverage_map import Place
from core.burning.scan_rows import ScanRows
from core.geometry.affine import apply, compose, translation


def moved_rows(rows: ScanRows, dx_mm: float, dy_mm: float) -> ScanRows:
    """The same rows, shifted by (dx, dy) in the bed frame."""
    along_mm, across_mm = apply(rows.from_bed, np.array([dx_mm, dy_mm])).tolist()
    return replace(rows, row_y_mm=rows.row_y_mm + across_mm, x0_mm=rows.x0_mm + along_mm, x1_mm=rows.x1_mm + along_mm)


def moved_coverage(coverage: Coverage, dx_mm: float, dy_mm: float) -> Coverage:
    """The same coverage, its places and grid shifted by (dx, dy) in the bed frame."""
    grid = replace(coverage.grid, to_bed=compose(translation(dx_mm, dy_mm), coverage.grid.to_bed))
    return replace(coverage, places=tuple(_moved_place(place, dx_mm, dy_mm) for place in coverage.places), grid=grid)


def _moved_place(place: Place, dx_mm: float, dy_mm: float) -> Place:
    x0, y0, x1, y1 = place.bounds_mm
    return replace(
        place,
        x_mm=place.x_mm + dx_mm,
        y_mm=place.y_mm + dy_mm,
        bounds_mm=(x0 + dx_mm, y0 + dy_mm, x1 + dx_mm, y1 + dy_mm),
    )
