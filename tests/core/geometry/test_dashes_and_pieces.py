"""Dashes and parts of curves: what is cut up adds up again, and lies on the curve it came from."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.dashing import MAX_DASHES, dash_intervals
from core.geometry.flattening import flatten
from core.geometry.path import CUBIC, PathBuilder, polyline
from core.geometry.path_pieces import kept, point_at, segment_between, steps_of, taken_out
from core.geometry.stroke import Stroke
from core.geometry.stroke_rings import stroke_rings

LINE = np.zeros(1, np.intp)
lengths = st.floats(0.1, 20.0)


@settings(max_examples=30)
@given(st.lists(lengths, min_size=1, max_size=4), st.floats(-30.0, 30.0), st.floats(1.0, 60.0))
def test_dashes_lie_where_walking_the_pattern_puts_them(pattern, offset, length):
    (_, begins, ends), = dash_intervals(np.array([length]), LINE, tuple(pattern), offset)  # fmt: skip
    whole = pattern * (1 + len(pattern) % 2)  # SVG 2, 13.5.6: an odd list is repeated
    middles = np.linspace(0, length, 41)[1:-1]
    edges = np.cumsum(whole)
    at = (middles + offset) % edges[-1]
    near = np.abs(at[:, None] - np.concatenate([[0.0], edges])).min(axis=1) < 1e-6
    on = np.searchsorted(edges, at, side="right") % 2 == 0
    found = ((begins[:, None] <= middles) & (middles < ends[:, None])).any(axis=0)
    assert (found == on)[~near].all()


@pytest.mark.parametrize("pattern", [(0.0, 0.0), (-1.0, 2.0), (np.nan,), ()])
def test_patterns_that_mean_nothing_leave_the_line_solid(pattern):
    assert dash_intervals(np.array([10.0]), LINE, pattern, 0.0) is None


def test_patterns_finer_than_anybody_sees_leave_the_line_solid():
    assert dash_intervals(np.array([10.0]), LINE, (4.0 / MAX_DASHES,), 0.0) is None


def curve():
    builder = PathBuilder()
    builder.move_to(0, 0)
    builder.cubic_to(5, 12, 20, -8, 30, 6)
    builder.line_to(40, 0)
    return builder.build()


@settings(max_examples=20)
@given(st.floats(0.0, 0.45), st.floats(0.55, 1.0))
def test_a_part_of_a_segment_runs_on_the_segment_itself(a, b):
    path = curve()
    for number in range(2):
        part = segment_between(path.kinds[number], path.segments[number], a, b)
        piece = kept(path, {number: [(a, b)], 1 - number: []})
        assert np.allclose(piece.segments[0], part)
        for share in (0.0, 0.3, 1.0):
            expected = point_at(path, number, a + (b - a) * share)
            assert np.allclose(point_at(piece, 0, share), expected, atol=1e-9)


def length_of(path):
    lines = flatten(path, 1e-4)
    parts = zip(lines.starts[:-1], lines.starts[1:], strict=True)
    return sum(shapely.LineString(lines.points[a:b]).length for a, b in parts)


def test_what_is_taken_out_and_what_is_kept_make_the_whole():
    path = curve()
    left = taken_out(path, np.array([0], np.intp), np.array([0.25]), np.array([0.5]))
    gone = kept(path, {0: [(0.25, 0.5)], 1: []})
    assert len(left.starts) == 2
    assert length_of(left) + length_of(gone) == pytest.approx(length_of(path), abs=1e-3)


def test_steps_tell_where_on_the_curve_each_chord_lies():
    path = curve()
    steps = steps_of(path, 0.01)
    assert set(steps.segment.tolist()) == {0, 1} and path.kinds[0] == CUBIC
    for ends, segment, t in zip(steps.ends, steps.segment, steps.t, strict=True):
        assert np.allclose(ends, [point_at(path, segment, share) for share in t], atol=1e-9)


@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
def test_rings_of_a_stroke_fill_what_a_general_library_buffers(cap, join):
    points = np.array([(0.0, 0.0), (10.0, 0.0), (14.0, 7.0), (25.0, 7.0)])
    rings = stroke_rings([polyline(points)], [Stroke(colour="#000000", width=2.0, cap=cap, join=join, width_mm=2.0)],
                         tolerance_mm=0.001)  # fmt: skip
    parts = [rings.points[a:b] for a, b in zip(rings.starts[:-1], rings.starts[1:], strict=True)]
    drawn = shapely.union_all([shapely.make_valid(shapely.Polygon(ring)) for ring in parts])
    styles = {"butt": "flat", "round": "round", "square": "square"}
    joins = {"miter": "mitre", "round": "round", "bevel": "bevel"}
    wanted = shapely.buffer(
        shapely.LineString(points), 1.0, cap_style=styles[cap], join_style=joins[join], quad_segs=64
    )
    assert shapely.area(shapely.symmetric_difference(drawn, wanted)) < 0.02
    assert (rings.group == 0).all()


def test_strokes_without_width_give_no_rings():
    thin = Stroke(colour="#000000", width=0.0, width_mm=0.0)
    assert len(stroke_rings([curve()], [thin], tolerance_mm=0.01).group) == 0
