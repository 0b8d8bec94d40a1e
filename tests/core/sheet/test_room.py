"""Feasible places against GEOS: every point of the grid held against ``contains``."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.affine import apply_to_region, translation
from core.sheet.raster import Grid, cell_areas_mm2, inside, pixel_grid
from core.sheet.rest import largest_rectangle, rest_table
from core.sheet.room import feasible, translation_grid

HOLE = shapely.Point(60, 30).buffer(12)
L_SHAPE = shapely.Polygon([(0, 0), (100, 0), (100, 40), (45, 40), (45, 90), (0, 90)])
ODD = shapely.Polygon([(3, 0), (110, 12), (96, 70), (61, 58), (40, 80), (0, 55), (20, 30)]).difference(HOLE)
ROOMS = {"plain": shapely.box(0, 0, 100, 60), "L": L_SHAPE, "odd": ODD}
SHAPES = {
    "disc": shapely.Point(0, 0).buffer(11),
    "plate": shapely.box(5, 7, 38, 22),
    "boomerang": shapely.Polygon([(0, 0), (30, 0), (30, 6), (6, 6), (6, 30), (0, 30)]),
    "two": shapely.MultiPolygon([shapely.box(0, 0, 9, 9), shapely.box(20, 4, 26, 15)]),
    "ring": shapely.Point(0, 0).buffer(20).difference(shapely.Point(0, 0).buffer(15)),
}


def by_hand(room, shape, grid):
    grown = room.buffer(1e-5)
    return np.array(
        [[grown.contains(apply_to_region(translation(x, y), shape)) for x in grid.xs_mm] for y in grid.ys_mm]
    )


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize("shape", SHAPES)
def test_feasible_places_are_those_that_geos_finds(room, shape):
    grid = translation_grid(ROOMS[room], SHAPES[shape], 1.0)
    expected = by_hand(ROOMS[room], SHAPES[shape], grid)
    np.testing.assert_array_equal(feasible(ROOMS[room], SHAPES[shape], grid), expected)
    assert expected.any()


def test_a_ring_goes_round_a_hole_of_the_sheet():
    room = shapely.box(0, 0, 60, 60).difference(shapely.Point(30, 30).buffer(10))
    ring = shapely.Point(0, 0).buffer(20).difference(shapely.Point(0, 0).buffer(15))
    grid = translation_grid(room, ring, 1.0)
    found = feasible(room, ring, grid)
    np.testing.assert_array_equal(found, by_hand(room, ring, grid))
    assert found[10, 10]


def test_what_just_fits_fits():
    grid = translation_grid(shapely.box(0, 0, 60, 40), shapely.box(5, 5, 65, 45), 0.25)
    assert feasible(shapely.box(0, 0, 60, 40), shapely.box(5, 5, 65, 45), grid).tolist() == [[True]]
    assert translation_grid(shapely.box(0, 0, 60, 40), shapely.box(0, 0, 60.01, 10), 0.25) is None


def test_outlines_with_many_corners_never_promise_too_much():
    star = shapely.Polygon([((20 + 3 * (i % 2)) * np.cos(a), (20 + 3 * (i % 2)) * np.sin(a))
                            for i, a in enumerate(np.linspace(0, 2 * np.pi, 400, endpoint=False))])  # fmt: skip
    grid = translation_grid(ODD, star, 0.5)
    found, expected = feasible(ODD, star, grid), by_hand(ODD, star, grid)
    assert not (found & ~expected).any()
    missed = expected & ~found
    assert missed.sum() <= 0.02 * expected.sum() + 2


corners = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=9, unique=True)


@given(corners, corners)
@settings(max_examples=40)
def test_sampling_agrees_with_geos(first, second):
    regions = [shapely.Polygon(points).buffer(0) for points in (first, second)]
    grid = Grid(x_mm=-1.03, y_mm=-0.97, cell_mm=1.7, columns=26, rows=26)  # no point lies on an edge
    xs, ys = np.meshgrid(grid.xs_mm, grid.ys_mm)
    expected = shapely.contains_xy(shapely.union_all(regions), xs, ys)
    edges = shapely.union_all([region.boundary for region in regions])
    clear = shapely.distance(shapely.points(xs, ys), edges) > 1e-9 if not edges.is_empty else True
    assert (inside(regions, grid) == expected)[clear].all()


def test_cells_add_up_to_the_area():
    disc = shapely.Point(20, 20).buffer(9)
    cells = cell_areas_mm2([disc, disc], pixel_grid((0, 0, 40, 40), 0.5))
    assert cells.sum() == pytest.approx(2 * disc.area, rel=2e-3)


def test_largest_rectangles_of_an_l():
    assert largest_rectangle(L_SHAPE) == pytest.approx((0, 0, 45, 90))
    table = rest_table(L_SHAPE)
    assert float(table.across(np.array(10.0), np.array(10.0))) == pytest.approx(90 * 40)  # right of 10: 90 x 40
    assert float(table.down(np.array(40.0), np.array(90.0))) == pytest.approx(100 * 40)
    assert float(table.down(np.array(0.0), np.array(40.0))) == pytest.approx(45 * 50)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=3, max_size=8, unique=True))
@settings(max_examples=30)
def test_a_largest_rectangle_lies_inside(points):
    region = shapely.Polygon(points).buffer(0)
    if region.is_empty or region.geom_type != "Polygon":
        return
    found = largest_rectangle(region)
    if found is not None:
        assert region.buffer(1e-5).contains(shapely.box(*found))
        assert float(rest_table(region).left[-1]) <= region.area + 1e-6
