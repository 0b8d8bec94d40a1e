import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.affine import determinant
from core.geometry.flattening import flatten, path_bounds_mm, path_length_mm
from core.geometry.path import EMPTY, PathBuilder, arc_points, ellipse, joined, polyline

coordinates = st.floats(-200, 200)
places = st.tuples(coordinates, coordinates)
tolerances = st.sampled_from([0.1, 0.01, 0.001])


def distances_to_chords(curve, chords):
    """Distance of each curve point to the nearest chord, independent of the flattening's own bound."""
    a, b = chords[:-1], chords[1:]
    ab = b - a
    length2 = np.maximum((ab**2).sum(1), 1e-300)
    t = np.clip(((curve[:, None] - a) * ab).sum(2) / length2, 0, 1)
    return np.hypot(*(np.moveaxis(curve[:, None] - a - t[..., None] * ab, 2, 0))).min(1)


@given(places, places, places, places, tolerances)
def test_chords_of_a_cubic_stay_within_the_tolerance(p0, p1, p2, p3, tolerance_mm):
    builder = PathBuilder()
    builder.move_to(*p0)
    builder.cubic_to(*p1, *p2, *p3)
    chords = flatten(builder.build(), tolerance_mm).points
    t = np.linspace(0, 1, 400)[:, None]
    p0, p1, p2, p3 = map(np.array, (p0, p1, p2, p3))
    curve = (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3
    assert distances_to_chords(curve, chords).max() <= tolerance_mm * (1 + 1e-9) + 1e-9


@given(places, places, places, st.floats(-7, 7), st.floats(-7, 7), tolerances)
def test_chords_of_an_arc_stay_within_the_tolerance(centre, u, v, t0, t1, tolerance_mm):
    builder = PathBuilder()
    builder.arc(*centre, *u, *v, t0, t1)
    path = builder.build()
    chords = flatten(path, tolerance_mm).points
    curve = arc_points(path.segments, np.linspace(t0, t1, 400)[None])[0]
    assert distances_to_chords(curve, chords).max() <= tolerance_mm * (1 + 1e-9) + 1e-9


def test_a_circle_gets_as_many_chords_as_the_sagitta_asks():
    # sagitta of a regular n-gon: R (1 - cos(pi/n)) <= t gives n = ceil(pi / acos(1 - t/R)); elementary geometry
    for radius_mm, tolerance_mm, count in (
        (50, 0.1, 50),
        (50, 0.01, 158),
        (10, 0.01, 71),
        (10, 0.05, 32),
        (1, 0.01, 23),
    ):
        assert len(flatten(ellipse((0, 0), radius_mm, radius_mm), tolerance_mm).points) - 1 == count


def test_closed_subpaths_end_exactly_where_they_began():
    path = joined([ellipse((5, 5), 3, 2), polyline(np.array([[0, 0], [1, 0], [1, 1]]), closed=True)])
    for part in flatten(path).parts():
        assert np.array_equal(part[0], part[-1])


def test_lengths_of_known_curves():
    assert path_length_mm(ellipse((0, 0), 10, 10)) == pytest.approx(20 * math.pi, rel=1e-12)
    # W3C SVG 2 basic shapes example ellipse rx 250, ry 100: circumference 1150.66 by numerical quadrature
    assert path_length_mm(ellipse((0, 0), 250, 100)) == pytest.approx(1150.66, abs=0.01)
    assert path_length_mm(EMPTY) == 0.0


def test_length_of_the_specification_s_cubic():
    # W3C SVG 2 cubic01: M100,200 C100,100 250,100 250,200, length 237.874 by numerical quadrature
    builder = PathBuilder()
    builder.move_to(100, 200)
    builder.cubic_to(100, 100, 250, 100, 250, 200)
    assert path_length_mm(builder.build()) == pytest.approx(237.874, abs=1e-3)


def test_length_of_the_specification_s_quadratic():
    # W3C SVG 2 quad01: M200,300 Q400,50 600,300, length 487.771 by numerical quadrature
    builder = PathBuilder()
    builder.move_to(200, 300)
    builder.quad_to(400, 50, 600, 300)
    assert path_length_mm(builder.build()) == pytest.approx(487.771, abs=1e-3)


@given(places, places, places, st.floats(-7, 7), st.floats(-7, 7))
def test_arcs_stay_exact_under_any_map(centre, u, v, t0, t1):
    matrix = (0.3, -1.2, 2.0, 0.7, 5.0, -3.0)
    builder = PathBuilder()
    builder.arc(*centre, *u, *v, t0, t1)
    path = builder.build()
    t = np.linspace(t0, t1, 9)[None]
    there = arc_points(path.transformed(matrix).segments, t)[0]
    a, b, c, d, e, f = matrix
    assert np.allclose(there, arc_points(path.segments, t)[0] @ [[a, b], [c, d]] + [e, f], atol=1e-9)
    assert determinant(matrix) != 0


def test_walking_backwards_keeps_the_points():
    path = joined([ellipse((5, 5), 3, 2), polyline(np.array([[0, 0], [4, 0], [4, 2.5]]))])
    there = flatten(path)
    back = flatten(path.reversed())
    for part, mirrored in zip(there.parts(), back.parts()[::-1], strict=True):
        assert np.allclose(part, mirrored[::-1], atol=1e-12)


def test_bounds():
    assert path_bounds_mm(ellipse((5, 5), 3, 2)) == pytest.approx((2, 3, 8, 7), abs=0.01)
    assert all(math.isnan(value) for value in path_bounds_mm(EMPTY))


def test_huge_curves_get_a_bounded_number_of_chords():
    builder = PathBuilder()
    builder.move_to(0, 0)
    builder.cubic_to(1e12, 0, -1e12, 1, 2, 2)
    assert len(flatten(builder.build()).points) == 20_001
