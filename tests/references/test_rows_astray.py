"""Rows off their places and rows that begin elsewhere, against drawing both many times with shapely."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.burning.coverage import coverage
from core.burning.dose import ClearingLine
from core.burning.row_starts import share_of_starts_that_hit_all
from core.burning.rows_astray import gap_left_mm, side_by_side_mm, with_rows_astray
from core.burning.scan_rows import scan_rows


@pytest.mark.parametrize(("pitch_mm", "error_mm"), [(0.06, 0.004), (0.064, 0.004), (0.066, 0.01), (0.09, 0.003)])
def test_the_gap_that_stays_in_the_mean_is_what_drawn_errors_leave(pitch_mm: float, error_mm: float) -> None:
    width_mm = 0.0635
    random = np.random.default_rng(5)
    rows = pitch_mm * np.arange(400_001) + error_mm * random.normal(size=400_001)
    drawn = np.maximum(np.diff(rows) - width_mm, 0.0)
    expected = gap_left_mm(pitch_mm, cleared_width_mm=width_mm, line_error_mm=error_mm)
    assert expected == pytest.approx(drawn.mean(), abs=5 * drawn.std() / math.sqrt(len(drawn)) + 1e-9)


def test_coat_that_stays_over_an_area_is_what_rows_laid_at_random_leave() -> None:
    """GEOS unites the bands that rows bare, each off its place by its own error; row ends lie outside the square."""
    square, error_mm = shapely.box(0, 0, 20, 20), 0.03
    rows = scan_rows(square, pitch_mm=0.28, angle_deg=0.0)
    line = ClearingLine(spot_mm=0.3, peak_j_mm2=math.exp(2), clearing_dose_j_mm2=1.0)
    width_mm = line.cleared_width_mm
    random, left = np.random.default_rng(8), []
    for _ in range(60):
        y = rows.row_y_mm + error_mm * random.normal(size=len(rows.row_y_mm))
        bared = shapely.union_all(shapely.box(-1, y - width_mm / 2, 21, y + width_mm / 2))
        inner = shapely.box(0, rows.row_y_mm[0], 20, rows.row_y_mm[-1])
        left.append(inner.difference(bared).area)
    figures = coverage(square, rows, line)
    astray = with_rows_astray(figures, rows, line_error_mm=error_mm)
    assert astray.astray_mm2 == pytest.approx(np.mean(left), rel=0.08)
    assert astray.left_over_mm2 == pytest.approx(figures.left_over_mm2 + astray.astray_mm2)
    assert with_rows_astray(figures, rows, line_error_mm=0.0).astray_mm2 == 0.0


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=40)
def test_rows_side_by_side_are_what_shapely_finds_between_neighbours(seed: int) -> None:
    random = np.random.default_rng(seed)
    discs = [shapely.Point(*random.uniform(0, 6, 2)).buffer(random.uniform(0.1, 2)) for _ in range(4)]
    rows = scan_rows(shapely.union_all(discs), pitch_mm=0.3, angle_deg=0.0)
    lines = [
        shapely.MultiLineString([((a, 0), (b, 0)) for a, b in zip(rows.x0_mm[own], rows.x1_mm[own], strict=True)])
        for own in (rows.row_index == row for row in range(len(rows.row_y_mm)))
    ]
    expected = sum(a.intersection(b).length for a, b in itertools.pairwise(lines))
    assert side_by_side_mm(rows) == pytest.approx(expected, abs=1e-6)


@given(st.lists(st.tuples(st.floats(0, 50), st.floats(0, 2)), min_size=1, max_size=6), st.floats(0.1, 1.5))
@settings(max_examples=60)
def test_the_share_of_starts_is_what_trying_starts_finds(parts: list[tuple[float, float]], pitch_mm: float) -> None:
    low, high = np.array([a for a, _ in parts]), np.array([a + h for a, h in parts])
    starts = (np.arange(2000) + 0.5) / 2000 * pitch_mm
    next_row = starts[:, None] + np.ceil((low - starts[:, None]) / pitch_mm) * pitch_mm
    tried = float((next_row <= high).all(axis=1).mean())
    share = share_of_starts_that_hit_all(low, high, pitch_mm=pitch_mm)
    assert share == pytest.approx(tried, abs=(2 * len(parts) + 1) / 2000)
