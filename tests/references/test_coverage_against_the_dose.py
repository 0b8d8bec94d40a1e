"""Coverage against a numerical integration of the dose: a fine grid and its contour (``numerical_dose``).

Left-over and spill are to agree within 2 % of themselves or within 0.1 % of the region's area, for text of 2 to 6 mm,
strokes of 0.05 to 0.5 mm, dots and rings, pitches from a third to three times the cleared width, S of 1, 0.8 and 0.
"""

import os

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, box
from shapely.geometry.base import BaseGeometry

from core.burning.coverage import coverage
from core.burning.dose import ClearingLine, line_peak_j_mm2
from core.burning.scan_rows import scan_rows
from tests.references.numerical_dose import areas_by_grid_mm2

SPOT_MM = 0.137
LINE = ClearingLine(
    spot_mm=SPOT_MM,
    peak_j_mm2=float(line_peak_j_mm2(power_w=20, speed_mm_s=800, spot_mm=SPOT_MM)),
    clearing_dose_j_mm2=0.19,
)
WIDTH_MM = LINE.cleared_width_mm
STROKES_MM = (0.05, 0.08, 0.12, 0.2, 0.5)


def letters(height_mm: float) -> BaseGeometry:
    """An E, an S and an O of our own drawing, with strokes a tenth of their height."""
    h = height_mm
    e = [box(0, 0, 0.15 * h, h)] + [box(0, y * h, 0.6 * h, (y + 0.11) * h) for y in (0, 0.445, 0.89)]
    angle = np.linspace(0.4, 1.5 * np.pi, 24)
    upper = np.column_stack([0.25 * np.cos(angle - 0.4), -0.25 * np.sin(angle - 0.4)]) * h + [h, 0.3 * h]
    s = shapely.linestrings(np.vstack([upper, ([2 * h, h] - upper)[::-1]])).buffer(0.05 * h)
    o = Point(1.9 * h, 0.5 * h).buffer(0.5 * h).difference(Point(1.9 * h, 0.5 * h).buffer(0.4 * h))
    return shapely.union_all([*e, s, o])


SHAPES: dict[str, BaseGeometry] = {
    **{f"upright {w:g}": box(0.003, 0.001, 0.003 + w, 0.65) for w in STROKES_MM},
    **{f"level {w:g}": box(0.003, 0.007, 0.65, 0.007 + w) for w in STROKES_MM},
    **{f"slanted {w:g}": affinity.rotate(box(0, 0, 0.65, w), 40) for w in STROKES_MM},
    "dot 0.1": Point(0, 0).buffer(0.05),
    "dot 0.3": Point(0, 0).buffer(0.15),
    "ring": Point(0, 0).buffer(0.35).difference(Point(0, 0).buffer(0.27)),
    "comb": MultiPolygon([box(0.13 * i, 0, 0.13 * i + 0.07, 0.4 + 0.013 * i) for i in range(6)]),
}


def assert_agrees(region, rows, line, s, step_mm):
    ours = coverage(region, rows, line, clearing_s=s, spill_s=s)
    left_over, spill = areas_by_grid_mm2(region, rows, line, s, step_mm)
    assert ours.left_over_mm2 == pytest.approx(left_over, rel=0.02, abs=1e-3 * region.area)
    assert ours.spill_mm2 == pytest.approx(spill, rel=0.02, abs=1e-3 * region.area)
    assert ours.doubt_mm2 == 0.0


PITCHES, ADDING, ANGLES_DEG = (1 / 3, 0.67, 1.5, 3.0), (1.0, 0.8, 0.0), (0.0, 17.0, 90.0)


def pitches_for(s, angle_deg):
    """Every other one, so that each meets each shape, each S and each angle; all of them where one explores."""
    first = (ADDING.index(s) + ANGLES_DEG.index(angle_deg)) % 2
    return PITCHES if os.environ.get("TAIN_EXPLORE") else PITCHES[first::2]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("s", ADDING)
@pytest.mark.parametrize("angle_deg", ANGLES_DEG)
def test_strokes_dots_and_rings(shape, s, angle_deg):
    for pitches in pitches_for(s, angle_deg):
        rows = scan_rows(SHAPES[shape], pitch_mm=pitches * WIDTH_MM, angle_deg=angle_deg)
        assert_agrees(SHAPES[shape], rows, LINE, s, step_mm=0.002)


@pytest.mark.parametrize(
    ("height_mm", "angle_deg", "pitches", "s"),
    [(2.0, 0.0, 0.67, 1.0), (2.0, 17.0, 0.67, 0.0), (2.0, 90.0, 1.5, 0.8), (3.0, 17.0, 0.67, 0.8),
     (4.0, 0.0, 0.67, 0.0), (4.0, 0.0, 0.95, 1.0), (6.0, 90.0, 0.67, 1.0), (6.0, 17.0, 3.0, 0.0)],
)  # fmt: skip
def test_text(height_mm, angle_deg, pitches, s):
    region = letters(height_mm)
    rows = scan_rows(region, pitch_mm=pitches * WIDTH_MM, angle_deg=angle_deg)
    assert_agrees(region, rows, LINE, s, step_mm=0.006)


@pytest.mark.parametrize("passes", [1, 4])
@pytest.mark.parametrize("s", [0.8, 0.0])
def test_passes_add_as_hits_do(passes, s):
    weak = ClearingLine(spot_mm=SPOT_MM, peak_j_mm2=0.12, clearing_dose_j_mm2=0.19, passes=passes)
    rows = scan_rows(letters(1.0), pitch_mm=0.05, angle_deg=0.0)
    assert_agrees(letters(1.0), rows, weak, s, step_mm=0.004)


def test_4_mm_lettering_as_the_dose_has_it():
    """Careful figures of the starting profile: what stays is judged by single hits, what is spilt by all."""
    rows = scan_rows(letters(4.0), pitch_mm=25.4 / 600, angle_deg=0.0)
    careful = coverage(letters(4.0), rows, LINE)
    alone, together = (coverage(letters(4.0), rows, LINE, clearing_s=s, spill_s=s) for s in (1.0, 0.0))
    assert careful.left_over_mm2 == pytest.approx(alone.left_over_mm2, rel=1e-9)
    assert careful.spill_mm2 == pytest.approx(together.spill_mm2, rel=1e-9)
    assert careful.left_over_pct > 1
    assert together.left_over_mm2 < 0.1 * alone.left_over_mm2


def test_a_hair_of_upright_that_is_told_narrow_is_mostly_left():
    """An upright 0.08 mm wide: each span is too short to give its full dose, so most of the coat stays."""
    hairs = MultiPolygon([box(0.6 * i, 0, 0.6 * i + 0.08, 2) for i in range(4)])
    rows = scan_rows(hairs, pitch_mm=25.4 / 600, angle_deg=0.0)
    assert coverage(hairs, rows, LINE).left_over_pct > 40


def test_more_passes_leave_no_less():
    hairs = MultiPolygon([box(0.6 * i, 0, 0.6 * i + 0.08, 2) for i in range(4)])
    rows = scan_rows(hairs, pitch_mm=25.4 / 600, angle_deg=0.0)
    often = ClearingLine(spot_mm=SPOT_MM, peak_j_mm2=LINE.peak_j_mm2, clearing_dose_j_mm2=0.19, passes=10)
    once, ten = coverage(hairs, rows, LINE), coverage(hairs, rows, often)
    assert ten.left_over_mm2 == once.left_over_mm2
    assert ten.spill_mm2 > once.spill_mm2


def test_dense_texture_is_off_by_no_more_than_it_says():
    """So many edges in a strip that they are sampled evenly; the reference sums every row of dust exactly with GEOS."""
    squares = [box(0.05 * i, 0.031 * j, 0.05 * i + 0.021, 0.031 * j + 0.013) for i in range(250) for j in range(4)]
    dust = MultiPolygon(squares)
    rows = scan_rows(dust, pitch_mm=25.4 / 600, angle_deg=0.0)
    ours = coverage(dust, rows, LINE, clearing_s=0.0, spill_s=0.0)
    left_over, spill = areas_by_grid_mm2(dust, rows, LINE, 0.0, step_mm=0.003)
    assert 0 < ours.doubt_mm2 < dust.area
    assert abs(ours.left_over_mm2 - left_over) <= ours.doubt_mm2 + 1e-3 * dust.area
    assert abs(ours.spill_mm2 - spill) <= ours.doubt_mm2 + 1e-3 * dust.area


def test_neighbouring_parts_are_worked_out_each_for_itself_and_together_alike():
    """Two bars far apart, then joined to one artwork: clusters that do not touch do not change each other."""
    bars = [box(0, 0, 0.08, 0.4), box(0.9, 0, 1.3, 0.4)]
    rows = [scan_rows(one, pitch_mm=0.05, angle_deg=0.0) for one in (*bars, MultiPolygon(bars))]
    left, right, both = (coverage(one, its, LINE) for one, its in zip((*bars, MultiPolygon(bars)), rows, strict=True))
    assert both.left_over_mm2 == pytest.approx(left.left_over_mm2 + right.left_over_mm2, rel=1e-3)
    assert both.spill_mm2 == pytest.approx(left.spill_mm2 + right.spill_mm2, rel=1e-3)
