"""The turn: its own inverse, keeps areas and lengths, reverses orientation."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.affine import apply, apply_to_region, determinant
from core.geometry.flattening import path_length_mm
from core.geometry.path import polyline
from core.sheet.faces import TURNS, turn_matrix, turned_corner
from core.sheet.placement import Sheet, placement_matrix

CORNERS = ["top left", "top right", "bottom left", "bottom right"]
turns = st.sampled_from(TURNS)
sheets = st.builds(Sheet, width_mm=st.floats(1, 2000), height_mm=st.floats(1, 2000), thickness_mm=st.just(3.0))
outlines = st.lists(st.tuples(st.floats(0, 500), st.floats(0, 500)), min_size=3, max_size=12).map(np.array)


def signed_area(points):
    """Gauss's shoelace formula."""
    x, y = points.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


@given(turns, sheets, outlines)
def test_turning_twice_is_not_turning(turn, sheet, points):
    matrix = turn_matrix(turn, sheet)
    assert np.allclose(apply(matrix, apply(matrix, points)), points, atol=1e-9)


@given(turns, sheets, outlines)
def test_a_turn_keeps_areas_and_lengths_and_reverses_orientation(turn, sheet, points):
    matrix = turn_matrix(turn, sheet)
    turned = apply(matrix, points)
    assert signed_area(turned) == pytest.approx(-signed_area(points), rel=1e-9, abs=1e-6)
    assert path_length_mm(polyline(turned)) == pytest.approx(path_length_mm(polyline(points)), rel=1e-9, abs=1e-9)
    assert determinant(matrix) == -1


@given(turns, sheets)
def test_the_sheet_covers_the_same_bed(turn, sheet):
    piece = shapely.box(0, 0, sheet.width_mm, sheet.height_mm)
    assert apply_to_region(turn_matrix(turn, sheet), piece).symmetric_difference(piece).area == pytest.approx(
        0, abs=1e-6
    )


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("corner", CORNERS)
def test_the_corner_mark_goes_where_the_corner_goes(turn, corner):
    sheet = Sheet(width_mm=300, height_mm=200, thickness_mm=3)

    def place(name):
        return np.array([300.0 if "right" in name else 0.0, 200.0 if "bottom" in name else 0.0])

    assert np.array_equal(apply(turn_matrix(turn, sheet), place(corner)), place(turned_corner(corner, turn)))
    assert turned_corner(turned_corner(corner, turn), turn) == corner


@given(st.floats(-100, 100), st.floats(-100, 100), st.floats(-720, 720))
def test_placing_never_mirrors(x_mm, y_mm, rotation_deg):
    assert determinant(placement_matrix(x_mm, y_mm, rotation_deg)) == pytest.approx(1)
