"""Parallels of outlines of lines and arcs, against the geometry engine's offset of their chords."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.affine import compose, rotation, scaling
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.parallel import parallel_outline
from core.geometry.path import ARC, LINE, PathBuilder, polyline


def rounded(width=60.0, height=40.0, radius=6.0):
    builder = PathBuilder()
    builder.move_to(radius, 0)
    right, bottom = width - radius, height - radius
    middles = ((right, radius), (right, bottom), (radius, bottom), (radius, radius))
    for (x, y), start in zip(middles, (-90, 0, 90, 180), strict=True):
        t = math.radians(start)
        builder.line_to(x + radius * math.cos(t), y + radius * math.sin(t))
        builder.arc(x, y, radius, 0, 0, radius, t, t + math.pi / 2)
    builder.close()
    return builder.build()


L_SHAPE = polyline(np.array([[0, 0], [40, 0], [40, 10], [10, 10], [10, 30], [0, 30]], float), closed=True)


def region(path):
    return shapely.Polygon(flatten(path, 1e-4).points)


def agrees(path, distance):
    moved = parallel_outline(path, distance)
    expected = shapely.buffer(region(path), distance, quad_segs=256)
    return shapely.symmetric_difference(region(moved), expected).area < 1e-3 * abs(distance) * expected.length


@pytest.mark.parametrize("distance", [0.075, -0.075, 3.0, -3.0])
def test_a_rounded_plate_keeps_its_lines_and_arcs(distance):
    moved = parallel_outline(rounded(), distance)
    assert (moved.kinds == ARC).sum() == 4 and (moved.kinds == LINE).sum() == 4
    assert path_length_mm(moved) == pytest.approx(2 * (48 + 28) + math.tau * (6 + distance))
    assert agrees(rounded(), distance)


@pytest.mark.parametrize("distance", [0.075, -0.075, 2.0, -2.0])
def test_corners_are_rounded_or_cut_off(distance):
    assert agrees(L_SHAPE, distance)
    moved = parallel_outline(L_SHAPE, distance)
    assert (moved.kinds == ARC).sum() == (5 if distance > 0 else 1)


@given(st.integers(0, 3600), st.booleans(), st.sampled_from([0.1, -0.1, 1.5]))
@settings(max_examples=30)
def test_it_does_not_matter_how_an_outline_lies_or_is_walked(tenths_deg, mirrored, distance):
    matrix = compose(rotation(tenths_deg / 10), scaling(-1.0 if mirrored else 1.0, 1.0))
    for path in (rounded(), L_SHAPE):
        assert agrees(path.transformed(matrix), distance)


def test_what_it_can_not_tell_it_leaves_to_others():
    wavy = PathBuilder()
    wavy.move_to(0, 0)
    wavy.cubic_to(10, 10, 20, -10, 30, 0)
    wavy.line_to(30, 20)
    wavy.close()
    assert parallel_outline(wavy.build(), 0.1) is None
    assert parallel_outline(rounded(radius=2.0), -3.0) is None  # the arcs vanish
    bite = PathBuilder()
    bite.move_to(0, 0)
    bite.arc(20, 0, 5, 0, 0, 5, math.pi, 0.0)  # a round notch, with corners that an inward parallel cuts off
    bite.line_to(40, 0)
    bite.line_to(40, 30)
    bite.line_to(0, 30)
    bite.close()
    assert parallel_outline(bite.build(), -0.1) is None or agrees(bite.build(), -0.1)
    assert parallel_outline(polyline(np.array([[0, 0], [1, 0], [1, 9], [0, 9]], float), closed=True), -2.0) is None
