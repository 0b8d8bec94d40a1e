import numpy as np
import pytest
import shapely

from core.geometry.affine import apply_to_region, rotation, translation
from core.sheet.half_planes import HalfPlanes
from core.sheet.room import convex_parts

L_SHAPE = shapely.Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
STAR = shapely.Polygon([(0, -20), (5, -5), (18, 2), (4, 6), (-7, 17), (-3, 3), (-15, -9)])
SHAPES = [apply_to_region(rotation(angle), shape) for shape in (L_SHAPE, STAR) for angle in (0.0, 90.0, 180.0, 270.0)]
QUARTER = {(4 * of + at, turns): 4 * of + (at + turns) % 4 for of in (0, 1) for at in range(4) for turns in range(4)}


def depth_mm(planes, one, other, at):
    nx, ny, c = planes.between(one, other)
    return float((c - nx * at[0] - ny * at[1]).min(1).max())


def test_two_boxes_have_to_be_moved_the_short_way_out():
    planes = HalfPlanes([convex_parts(shapely.box(0, 0, 10, 20)), convex_parts(shapely.box(0, 0, 6, 6))], cell_mm=1.0)
    assert depth_mm(planes, 0, 1, (8, 4)) == pytest.approx(2.0)
    assert depth_mm(planes, 1, 0, (-8, -4)) == pytest.approx(2.0)
    assert depth_mm(planes, 0, 1, (3, -4)) == pytest.approx(2.0)
    assert depth_mm(planes, 0, 1, (10, 0)) == pytest.approx(0.0)  # touching
    assert depth_mm(planes, 0, 1, (13, 0)) == pytest.approx(-3.0)


def test_shapes_lie_in_each_other_where_their_areas_do():
    planes = HalfPlanes([convex_parts(shape) for shape in SHAPES], cell_mm=2.0)
    random = np.random.default_rng(4)
    for one, other in random.integers(0, len(SHAPES), (150, 2)).tolist():
        at = random.uniform(-40, 40, 2)
        there = apply_to_region(translation(*at.tolist()), SHAPES[other])
        assert (depth_mm(planes, one, other, at) > 1e-9) == (SHAPES[one].intersection(there).area > 1e-9)


def test_maps_of_turned_pairs_are_those_that_are_worked_out_anew():
    shared = HalfPlanes([convex_parts(shape) for shape in SHAPES], cell_mm=2.0, quarter=QUARTER)
    for one in range(len(SHAPES)):
        for other in range(len(SHAPES)):
            found = shared.maps_of(one, (other,))
            anew = HalfPlanes([convex_parts(SHAPES[one]), convex_parts(SHAPES[other])], cell_mm=2.0).maps_of(0, (1,))
            assert (found.column, found.row) == (anew.column, anew.row)
            assert found.depth_mm == pytest.approx(anew.depth_mm, abs=1e-4)


def test_maps_tell_the_depth_at_their_places_by_the_middles():
    shapes = [L_SHAPE, STAR, shapely.box(3, 3, 9, 33)]
    planes = HalfPlanes([convex_parts(shape) for shape in shapes], cell_mm=2.0)
    found = planes.maps_of(0, (1, 2))
    _, rows, columns = found.depth_mm.shape
    for number, other in enumerate((1, 2)):
        for row in range(0, rows, 5):
            for column in range(0, columns, 5):
                apart = np.array([found.column + column, found.row + row]) * 2.0
                deep = depth_mm(planes, 0, other, apart + planes.middles[0] - planes.middles[other])
                assert found.depth_mm[number, row, column] == pytest.approx(max(deep, 0.0), abs=1e-4)
