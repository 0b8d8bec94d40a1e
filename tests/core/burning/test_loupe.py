from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import erf
from shapely.geometry import MultiPolygon, Point, box

from core.burning.beam import fill_verdict, power_w
from core.burning.coverage import coverage
from core.burning.loupe import (
    BARE,
    FROSTED,
    LEFT_OVER,
    SPILL,
    UNTOUCHED,
    coloured,
    fill_loupe,
    front_look,
    look,
)
from core.burning.machines import CO2_FLATBED
from core.burning.scan_rows import scan_rows
from core.geometry.affine import apply, apply_to_region
from core.sheet.faces import turn_matrix
from core.sheet.placement import Sheet
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.references.numerical_dose import levels_at

FILL = MIRRORED_ACRYLIC_3.fill
SHAPES = shapely.union_all(
    [
        Point(10.0, 10.0).buffer(0.8, quad_segs=12).difference(box(9.9, 9.7, 10.05, 10.4)),
        box(9.0, 11.2, 11.0, 11.25),
        box(11.1, 9.0, 11.13, 10.9),
    ]
)


def prepared(region, recipe, *, stock=MIRRORED_ACRYLIC_3):
    rows = scan_rows(
        region, pitch_mm=recipe.pitch_mm, angle_deg=recipe.scan_angle_deg, edge_inset_mm=recipe.edge_inset_mm
    )
    return rows, fill_loupe(region, rows, recipe, CO2_FLATBED, stock)


def verdicts(rows, line, s, x, y, *, beside):
    """Where the dose itself clears, and where that is certain: so far along the rows either way (mm) it is the same.

    The loupe takes the nearest of its own points along the rows, and counts no dose further than two radii off.
    """
    scan = apply(rows.from_bed, np.stack([x, y], axis=-1))
    levels = np.array(
        [levels_at(rows, line, s, scan[..., 0] + by, scan[..., 1]) for by in np.linspace(-beside, beside, 7)]
    )
    cleared = levels > 0
    certain = (cleared == cleared[3]).all(0) & (np.abs(levels).min(0) > 2e-3)
    return cleared[3], certain


def samples(bounds, shape):
    x0, y0, x1, y1 = bounds
    x = x0 + (np.arange(shape[1]) + 0.5) * (x1 - x0) / shape[1]
    y = y0 + (np.arange(shape[0]) + 0.5) * (y1 - y0) / shape[0]
    return np.meshgrid(x, y)


@settings(max_examples=25)
@given(
    lpi=st.sampled_from([250.0, 400.0, 600.0, 900.0]),
    angle=st.sampled_from([0.0, 90.0, 180.0, 37.0, -20.0, 123.4]),
    power=st.sampled_from([10.0, 15.0, 20.0, 30.0]),
    left=st.floats(8.8, 11.0),
    top=st.floats(8.8, 11.0),
    size=st.floats(0.2, 3.0),
    inset=st.sampled_from([0.0, 0.03]),
)
def test_same_place_same_verdict_as_the_exact_geometry(lpi, angle, power, left, top, size, inset):
    """Every sample that is certain for a sample's size around says what the dose, worked out at its middle, says."""
    recipe = replace(FILL, pitch_mm=25.4 / lpi, scan_angle_deg=angle, power_pct=power, edge_inset_mm=inset)
    verdict = fill_verdict(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    rows, fill = prepared(SHAPES, recipe)
    bounds, shape = (left, top, left + size, top + size), (40, 40)
    seen = look([fill], bounds, shape=shape).classes
    x, y = samples(bounds, shape)
    inside = shapely.contains_xy(SHAPES, x, y)
    (cleared, known), (spilt, spill_known) = (
        verdicts(rows, fill.line, s, x, y, beside=0.5 * size / 40) for s in (1.0, 0.0)
    )
    expected = np.where(inside, np.where(cleared, BARE, LEFT_OVER), np.where(spilt, SPILL, UNTOUCHED))
    off_the_edge = shapely.distance(shapely.points(x, y), SHAPES.boundary) > 1e-3
    certain = off_the_edge & np.where(inside, known, spill_known)
    judged = certain & (seen != FROSTED)
    assert (seen[judged] == expected[judged]).all()
    assert np.mean(certain) > 0.3
    if verdict.peak_dose_j_mm2 < 0.99 * MIRRORED_ACRYLIC_3.frosting_dose_j_mm2:
        assert not (seen == FROSTED).any()


@pytest.mark.parametrize("angle", [0.0, 90.0, 37.0])
@pytest.mark.parametrize("lpi", [300.0, 600.0])
def test_areas_seen_agree_with_coverage(angle, lpi):
    recipe = replace(FILL, pitch_mm=25.4 / lpi, scan_angle_deg=angle)
    rows, fill = prepared(SHAPES, recipe)
    figures = coverage(SHAPES, rows, fill.line)
    bounds = (8.9, 8.9, 11.4, 11.4)
    seen = look([fill], bounds, shape=(1250, 1250)).classes
    sample_mm2 = 0.002**2
    # samples of 2 µm along edges some 100 mm long in all: half a sample of doubt on a few of them
    assert np.count_nonzero(seen == LEFT_OVER) * sample_mm2 == pytest.approx(figures.left_over_mm2, abs=0.004)
    assert np.count_nonzero(seen == SPILL) * sample_mm2 == pytest.approx(figures.spill_mm2, abs=0.004)


@settings(max_examples=40)
@given(
    lpi=st.floats(200.0, 1200.0),
    angle=st.sampled_from([0.0, 90.0, 37.0]),
    speed=st.floats(150.0, 1000.0),
    power=st.floats(5.0, 60.0),
)
def test_the_middle_of_a_wide_fill_looks_as_its_verdict_says(lpi, angle, speed, power):
    recipe = replace(FILL, pitch_mm=25.4 / lpi, scan_angle_deg=angle, speed_mm_s=speed, power_pct=power)
    verdict = fill_verdict(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    _, fill = prepared(box(0, 0, 3.0, 3.0), recipe)
    pitch = recipe.pitch_mm
    seen = look([fill], (1.5, 1.5, 1.5 + 4 * pitch, 1.5 + 4 * pitch), shape=(160, 160))
    found = set(np.unique(seen.classes))
    assert float(seen.dose_j_mm2.max()) == pytest.approx(verdict.peak_dose_j_mm2, rel=2e-3)
    # the table of doses is true to 1e-3, so a peak within 0.2 % of frosting may be seen either way
    if abs(verdict.peak_dose_j_mm2 / MIRRORED_ACRYLIC_3.frosting_dose_j_mm2 - 1) > 0.002:
        assert (FROSTED in found) == (verdict.verdict == "frosts")
    if verdict.verdict == "clean":
        assert found <= {BARE, FROSTED}
    if verdict.verdict == "leaves lines" and verdict.wide_left_over_pct > 2:
        assert LEFT_OVER in found and BARE in found
        assert np.mean(seen.classes == LEFT_OVER) == pytest.approx(verdict.wide_left_over_pct / 100, abs=0.04)
    if verdict.verdict == "not reached":
        assert found == {LEFT_OVER}


@pytest.mark.parametrize(
    ("angle", "lpi", "sample_mm"),
    [
        *((angle, lpi, sample_mm)
          for angle, lpi in ((0.0, 600.0), (90.0, 300.0), (37.0, 400.0), (0.0, 2400.0))
          for sample_mm in (0.002, 0.01)),
        (0.0, 30.0, 0.05),  # rows many spots apart; the window is wide enough to hold some
    ],
)  # fmt: skip
def test_dose_is_the_sum_of_every_spans_own(angle, lpi, sample_mm):
    """Each span's dose: the line profile across, and along it the beam that is on from one end to the other."""
    recipe = replace(FILL, pitch_mm=25.4 / lpi, scan_angle_deg=angle)
    rows, fill = prepared(SHAPES, recipe)
    bounds, shape = (9.6, 9.6, 9.6 + 40 * sample_mm, 9.6 + 40 * sample_mm), (40, 40)
    x, y = samples(bounds, shape)
    scan = apply(rows.from_bed, np.stack([x, y], axis=-1))
    w = fill.line.spot_mm / 2
    expected = np.zeros(shape)
    for row_y, x0, x1 in zip(rows.row_y_mm[rows.row_index], rows.x0_mm, rows.x1_mm, strict=True):
        along = erf(np.sqrt(2) * (scan[..., 0] - x0) / w) - erf(np.sqrt(2) * (scan[..., 0] - x1) / w)
        expected += 0.5 * along * np.exp(-2 * ((scan[..., 1] - row_y) / w) ** 2)
    watts = power_w(CO2_FLATBED, recipe.power_pct)
    expected *= watts / recipe.speed_mm_s * np.sqrt(2 / np.pi) / w
    seen = look([fill], bounds, shape=shape).dose_j_mm2
    # askew, a place along the row is rounded to the nearest of points a sample apart; the dose's steepest slope there
    # is that of the error function, sqrt(2/pi)/w
    rounding = 0.8 * sample_mm / 2 / w if angle % 90 else 0.0
    assert np.abs(seen - expected).max() < (0.005 + rounding) * expected.max()


def test_two_layers_are_seen_together():
    left, right = box(0, 0, 1.0, 1.0), box(0.5, 0, 1.5, 1.0)
    fills = [prepared(region, FILL)[1] for region in (left, right)]
    seen = look(fills, (0.1, 0.3, 1.4, 0.6), shape=(30, 130))
    assert set(np.unique(seen.classes[:, :30])) == set(np.unique(seen.classes[:, -30:])) == {BARE}
    assert (seen.classes[:, 45:85] == FROSTED).any()  # burned twice, 1.18 J/mm²
    assert float(seen.dose_j_mm2.max()) == pytest.approx(2 * 0.5906, rel=0.01)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_the_front_is_the_bed_turned(turn):
    sheet = Sheet(width_mm=20.0, height_mm=22.0, thickness_mm=3.0)
    bed = apply_to_region(turn_matrix(turn, sheet), SHAPES)
    _, fill = prepared(bed, replace(FILL, pitch_mm=25.4 / 300))
    seen = front_look([fill], (8.9, 8.9, 11.4, 11.9), sheet=sheet, turn=turn, shape=(300, 250))
    x, y = samples((8.9, 8.9, 11.4, 11.9), (300, 250))
    inside = shapely.contains_xy(SHAPES, x, y)
    assert np.mean(np.isin(seen.classes, (BARE, LEFT_OVER, FROSTED)) == inside) > 0.998


def test_nothing_near_is_untouched_and_empty_jobs_are_seen():
    _, fill = prepared(SHAPES, FILL)
    assert set(np.unique(look([fill], (50.0, 50.0, 51.0, 51.0)).classes)) == {UNTOUCHED}
    assert set(np.unique(look([], (0.0, 0.0, 1.0, 1.0)).classes)) == {UNTOUCHED}
    _, none = prepared(MultiPolygon(), FILL)
    assert set(np.unique(look([none], (0.0, 0.0, 1.0, 1.0)).classes)) == {UNTOUCHED}


def test_colours_show_paint_from_the_front_only():
    region = box(0.3, 0.0, 2.0, 1.0)
    _, fill = prepared(region, FILL)
    seen = look([fill], (0.0, 0.3, 1.0, 0.7), shape=(20, 50))
    red, back = coloured(seen, side="front", paint=(200, 0, 0)), coloured(seen, side="back", paint=(200, 0, 0))
    assert red.shape == (20, 50, 3)
    assert (red[seen.classes == BARE] == (200, 0, 0)).all()
    assert not (back[seen.classes == BARE] == (200, 0, 0)).any(axis=None)
    assert (red[seen.classes == SPILL] == (200, 0, 0)).all()
    untouched = red[seen.classes == UNTOUCHED]
    assert len(np.unique(untouched, axis=0)) == 1 and untouched[0].tolist() != [200, 0, 0]
    hard = replace(FILL, speed_mm_s=200.0)
    frosted = look([prepared(region, hard)[1]], (0.5, 0.3, 1.0, 0.7), shape=(20, 25))
    picture = coloured(frosted, side="front", paint=(200, 0, 0))
    assert (frosted.classes == FROSTED).all()
    assert (picture.mean(axis=(0, 1)) > (200, 80, 80)).all()  # paler than the paint


def test_passes_count_in_what_is_spilt_and_frosted():
    region = box(0, 0, 2, 2)
    doses = []
    for passes in (1, 3):
        _, fill = prepared(region, replace(FILL, passes=passes))
        doses.append(float(look([fill], (0.8, 0.8, 1.2, 1.2), shape=(20, 20)).dose_j_mm2.max()))
    assert doses[1] == pytest.approx(3 * doses[0], rel=1e-4)
