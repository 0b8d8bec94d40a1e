"""Outlines told in few lines and arcs: within the tolerance, closed, and few indeed."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.few_segments import in_few_segments
from core.geometry.flattening import flatten
from core.geometry.path import ARC, LINE


def followed(ring, tolerance_mm=0.01):
    """The path, and how far the two lie apart at most."""
    path = in_few_segments(ring, tolerance_mm)
    there = shapely.LinearRing(flatten(path, 0.0005).points)
    return path, shapely.hausdorff_distance(
        shapely.segmentize(there, 0.05), shapely.segmentize(shapely.LinearRing(ring), 0.05)
    )


def corners(region):
    return shapely.get_coordinates(region.exterior)[:-1]


def test_a_rounded_rectangle_is_four_lines_and_four_arcs():
    ring = corners(shapely.box(0, 0, 40, 20).buffer(3.0, quad_segs=32))
    path, away = followed(ring)
    assert len(ring) > 120 and sorted(path.kinds) == [LINE] * 4 + [ARC] * 4 and away <= 0.011
    assert bool(path.closed[0])


def test_a_disc_is_one_circle():
    path, away = followed(corners(shapely.Point(3, 4).buffer(10.0, quad_segs=64)))
    (row,) = path.segments
    assert path.kinds.tolist() == [ARC] and math.hypot(*row[2:4]) == pytest.approx(10.0, abs=5e-3) and away < 0.011


def test_sharp_corners_stay_where_they_are():
    ring = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (15.0, 5.0), (0.0, 20.0)])
    path, away = followed(ring)
    assert len(path) == 5 and away < 1e-9


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60), st.floats(0.5, 9)), min_size=1, max_size=6),
    st.integers(2, 40),
)
def test_whatever_the_outline_it_is_followed_closely(discs, segments):
    region = shapely.union_all([shapely.Point(x, y).buffer(r, quad_segs=segments) for x, y, r in discs])
    part = max(shapely.get_parts(region), key=lambda one: one.area)
    path, away = followed(corners(part))
    assert away <= 0.0115 and len(path) <= len(corners(part))
    ends = np.vstack([path.end_points[-1:], path.end_points[:-1]])
    assert np.abs(ends - path.start_points).max() < 1e-6
