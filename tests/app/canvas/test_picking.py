"""Shapes found by place, against GEOS predicates where there is one."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from app.canvas.batch import WINDING
from app.canvas.outlines import outlines_of_paths
from app.canvas.paints import ShapePaint, shape_paint
from app.canvas.picking import Picker
from core.geometry.path import joined, polyline
from tests.app.canvas.plans import shapes

FILLED = ShapePaint(fill="#000000", stroke=None)


def picker_of(some):
    outlines = outlines_of_paths([shape.path for shape in some])
    return Picker(outlines, [shape_paint(shape) for shape in some], np.full(len(some), WINDING))


def ring_picker(*rings, rule=WINDING):
    path = joined([polyline(np.array(ring, float), closed=True) for ring in rings])
    return Picker(outlines_of_paths([path]), [FILLED], np.array([rule]))


@given(
    x=st.floats(-5, 105),
    y=st.floats(-5, 65),
    points=st.lists(st.tuples(st.floats(0, 100), st.floats(0, 60)), min_size=3, max_size=9),
)
@settings(max_examples=150, deadline=None)
def test_areas_are_hit_where_geos_has_them(x, y, points):
    polygon = shapely.Polygon(points)
    if not polygon.is_valid or polygon.area < 1e-3 or polygon.boundary.distance(shapely.Point(x, y)) < 1e-6:
        return
    found = ring_picker(points).at(x, y, reach_mm=1e-9)
    assert bool(found) == polygon.contains(shapely.Point(x, y))


@given(x=st.floats(0, 100), y=st.floats(0, 60), reach_mm=st.floats(0.1, 8.0))
@settings(max_examples=100, deadline=None)
def test_lines_are_hit_within_reach(x, y, reach_mm):
    some = shapes()[2:]
    lines = [shapely.LineString(np.vstack([shape.path.start_points, shape.path.end_points[-1:]])) for shape in some]
    expected = {i for i, line in enumerate(lines) if line.distance(shapely.Point(x, y)) <= reach_mm}
    assert set(picker_of(some).at(x, y, reach_mm=reach_mm)) == expected


def test_fill_rules_decide_about_holes():
    outer, inner = [(0, 0), (10, 0), (10, 10), (0, 10)], [(3, 3), (7, 3), (7, 7), (3, 7)]
    assert ring_picker(outer, inner).at(5, 5, reach_mm=0.1) == [0]
    assert ring_picker(outer, inner, rule=0).at(5, 5, reach_mm=0.1) == []
    assert ring_picker(outer, inner[::-1]).at(5, 5, reach_mm=0.1) == []


def test_lines_come_before_areas_and_upper_ones_before_lower():
    from core.artwork.drawing import Shape
    from tests.app.canvas.plans import SQUARE, closed, hairline

    some = (
        Shape(id="line", kind="line", path=polyline(np.array([(5, 20), (35, 20)], float)), stroke=hairline()),
        Shape(id="lower", kind="rect", path=closed(SQUARE), fill="#000000"),
        Shape(id="upper", kind="rect", path=closed(SQUARE), fill="#000000"),
    )
    assert picker_of(some).at(20, 20.2, reach_mm=0.5) == [0, 2, 1]
    assert picker_of(some).at(20, 25, reach_mm=0.5, lines={2}) == [1]


def test_boxes_hold_or_touch():
    picker = picker_of(shapes())
    assert picker.within((5, 5, 85, 42)) == [0, 1]
    assert picker.within((0, 0, 100, 60)) == [0, 1, 2, 3]
    assert picker.touching((40, 43, 50, 47)) == [3]
    assert picker.touching((15, 15, 20, 20)) == [0], "wholly inside a painted area"
    assert picker.touching((45, 15, 50, 20)) == []


def test_boxes_touch_shapes_whose_outlines_have_unequal_point_counts():
    triangle, square = [(2, 2), (3, 2), (2, 3)], [(0, 0), (10, 0), (10, 10), (0, 10)]
    picker = ring_picker(square, triangle)
    assert picker.touching((1.9, 1.9, 2.1, 2.1)) == [0]
    assert picker.touching((-1, 4, 1, 5)) == [0]
    assert picker.touching((11, 11, 12, 12)) == []


def test_points_within_a_hair_of_a_corner_are_told_without_overflow():
    assert ring_picker([(0, 0), (4, 5e-324), (4, 4)]).at(1.0, 5e-324, reach_mm=1e-9) == [0]
    assert ring_picker([(0, 0), (4, 5e-324), (4, 4)]).at(-1.0, 5e-324, reach_mm=1e-9) == []


def test_shapes_without_outline_are_never_hit():
    from core.artwork.drawing import Shape
    from core.geometry.path import EMPTY

    picker = picker_of((Shape(id="none", kind="g", path=EMPTY, fill="#000000"), *shapes()))
    assert picker.at(20, 20, reach_mm=1.0) == [1]
    assert 0 not in picker.within((-1e6, -1e6, 1e6, 1e6))
    assert picker_of(()).at(1.0, 1.0, reach_mm=5.0) == []


def test_dashes_are_scaled_to_mm():
    from dataclasses import replace

    shape = shapes()[2]
    dashed = replace(shape, stroke=replace(shape.stroke, width=2.0, width_mm=0.5, dashes=(4.0, 2.0)))
    assert shape_paint(dashed).dashes_mm == pytest.approx((1.0, 0.5))
