"""Coverage of a job that was only shifted is shifted with it: as if it were worked out there."""

import numpy as np
import pytest
import shapely

from core.burning.coverage import coverage
from core.burning.dose import ClearingLine
from core.burning.scan_rows import scan_rows
from core.geometry.affine import apply
from core.job.moving import moved_coverage, moved_rows

LINE = ClearingLine(spot_mm=0.137, peak_j_mm2=0.2912, clearing_dose_j_mm2=0.19)
REGION = shapely.union(shapely.box(0, 0, 6, 4), shapely.box(8, 1, 8.03, 3))
SHIFT = (12.5, -3.25)


def ends(rows):
    y = rows.row_y_mm[rows.row_index]
    return np.column_stack([apply(rows.to_bed, np.column_stack([x, y])) for x in (rows.x0_mm, rows.x1_mm)])


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0])
def test_rows_lie_where_the_artwork_lies(angle_deg):
    rows = scan_rows(REGION, pitch_mm=0.1, angle_deg=angle_deg)
    assert ends(moved_rows(rows, *SHIFT)) == pytest.approx(ends(rows) + np.array([*SHIFT, *SHIFT]))


def test_places_and_grid_go_along_and_no_figure_changes():
    rows = scan_rows(REGION, pitch_mm=0.06, angle_deg=20.0)
    here = coverage(REGION, rows, LINE)
    there = moved_coverage(here, *SHIFT)
    assert there.left_over_mm2 == here.left_over_mm2 and len(there.places) == len(here.places) > 0
    for one, other in zip(here.places, there.places, strict=True):
        assert (other.x_mm - one.x_mm, other.y_mm - one.y_mm) == pytest.approx(SHIFT)
        assert np.subtract(other.bounds_mm, one.bounds_mm) == pytest.approx([*SHIFT, *SHIFT])
    corner = apply(there.grid.to_bed, [(0.0, 0.0)]) - apply(here.grid.to_bed, [(0.0, 0.0)])
    assert corner[0] == pytest.approx(SHIFT)
