"""Loose lines and arcs into outlines."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.chaining import chain
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import ARC, CUBIC, LINE, Path, PathBuilder, ellipse, joined, polyline


def _line(x0: float, y0: float, x1: float, y1: float) -> Path:
    return polyline(np.array([[x0, y0], [x1, y1]], float))


def _arc(cx: float, cy: float, r: float, start_deg: float, end_deg: float) -> Path:
    builder = PathBuilder()
    builder.arc(cx, cy, r, 0, 0, r, math.radians(start_deg), math.radians(end_deg))
    return builder.build()


def _chained(*paths: Path, groups: list[int] | None = None, tolerance_mm: float = 0.01):
    path = joined(list(paths))
    return chain(path, np.array(groups or [0] * len(path.starts), np.intp), tolerance_mm=tolerance_mm)


def _meets(path: Path) -> bool:
    """Whether segments of each subpath join end to start, exactly or to rounding."""
    for sub in path.subpaths():
        gaps = sub.start_points[1:] - sub.end_points[:-1]
        if sub.closed[0]:
            gaps = np.vstack([gaps, sub.start_points[:1] - sub.end_points[-1:]])
        if gaps.size and np.abs(gaps).max() > 1e-9:
            return False
    return True


SQUARE = [_line(0, 0, 10, 0), _line(10, 10, 10, 0), _line(0, 10, 10, 10), _line(0, 10, 0, 0)]


def test_four_lines_in_any_direction_are_a_square() -> None:
    chains = _chained(*SQUARE)
    assert chains.path.closed.tolist() == [True]
    assert sorted(chains.members.tolist()) == [0, 1, 2, 3]
    assert shapely.Polygon(flatten(chains.path).points).area == 100
    assert _meets(chains.path)


def test_a_slot_of_lines_and_arcs_keeps_its_arcs() -> None:
    chains = _chained(
        _arc(20, 5, 5, -90, 90), _line(20, 10, 0, 10), _arc(0, 5, 5, 90, 270), _line(20, 0.004, 0, 0), tolerance_mm=0.01
    )
    assert chains.path.closed.tolist() == [True]
    assert sorted(chains.path.kinds.tolist()) == [LINE, LINE, ARC, ARC]
    assert path_length_mm(chains.path) == pytest.approx(40 + 10 * math.pi, abs=0.01)
    assert _meets(chains.path)


def test_arcs_that_nearly_meet_are_bridged() -> None:
    chains = _chained(_arc(0, 0, 5, 0, 180), _arc(0.006, 0, 5, 180, 360))
    assert chains.path.closed.tolist() == [True]
    assert chains.path.kinds.tolist() == [ARC, LINE, ARC, LINE]
    assert _meets(chains.path)
    second = _chained(_arc(0, 0, 5, 0, 180), _arc(0.006, 0, 5, 180, 360), *SQUARE)
    assert second.path.starts.tolist() == [0, 4]


def test_a_cubic_is_moved_to_its_neighbour() -> None:
    builder = PathBuilder()
    builder.move_to(0.003, 0)
    builder.cubic_to(1, 2, 3, 2, 4, 0)
    chains = _chained(_arc(-5, 0, 5, 90, 0), builder.build())
    assert chains.path.kinds.tolist() == [ARC, CUBIC]
    assert _meets(chains.path)


def test_gaps_beyond_the_tolerance_and_other_groups_stay_apart() -> None:
    assert len(_chained(_line(0, 0, 5, 0), _line(5.02, 0, 9, 0)).path.closed) == 2
    assert len(_chained(_line(0, 0, 5, 0), _line(5, 0, 9, 0), groups=[0, 1]).path.closed) == 2


def test_chains_stop_where_three_ends_meet_and_nothing_is_guessed() -> None:
    chains = _chained(_line(0, 0, 5, 0), _line(5, 0, 9, 3), _line(5, 0, 9, -3))
    assert len(chains.path.closed) == 3


def test_two_squares_that_share_a_corner_both_close() -> None:
    other = [_line(10, 10, 20, 10), _line(20, 10, 20, 20), _line(20, 20, 10, 20), _line(10, 20, 10, 10)]
    chains = _chained(*SQUARE, *other)
    assert chains.path.closed.tolist() == [True, True]


def test_a_square_drawn_double_gives_two_squares() -> None:
    chains = _chained(*SQUARE, *(path.reversed() for path in SQUARE))
    assert chains.path.closed.tolist() == [True, True]
    assert path_length_mm(chains.path) == pytest.approx(80)


def test_closed_subpaths_pass_through() -> None:
    chains = _chained(ellipse((0, 0), 3, 3), *SQUARE)
    assert chains.path.closed.tolist() == [True, True]
    assert chains.path.kinds[0] == ARC


def test_lines_shorter_than_the_tolerance_keep_their_order() -> None:
    angles = np.linspace(0, 2 * np.pi, 4001)
    points = 2.0 * np.column_stack([np.cos(angles), np.sin(angles)])  # each 0.003 mm long
    pieces = [polyline(points[i : i + 2]) for i in np.random.default_rng(1).permutation(4000)]
    chains = _chained(*pieces)
    assert chains.path.closed.tolist() == [True]
    assert path_length_mm(chains.path) == pytest.approx(4 * math.pi, rel=1e-5)


def test_nothing_gives_nothing() -> None:
    assert len(_chained().path) == 0


@given(
    st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=3, max_size=12, unique=True),
    st.randoms(use_true_random=False),
    st.floats(0, 0.003),
    st.booleans(),
)
def test_a_contour_taken_apart_comes_together_again(corners, random, wobble, closed) -> None:
    """Whatever the order and direction of its lines, and with ends a little off."""
    ring = np.array([*corners, corners[0]] if closed else corners, float)
    if not shapely.LineString(ring).is_simple:
        return
    legs = list(pairwise(ring))
    random.shuffle(legs)
    pieces = []
    for start, end in legs:
        if random.random() < 0.5:
            start, end = end, start
        shift = wobble * np.array([random.random(), random.random()])
        pieces.append(polyline(np.array([start + shift, end])))
    chains = _chained(*pieces)
    assert chains.path.closed.tolist() == [closed]
    assert sorted(chains.members.tolist()) == list(range(len(legs)))
    assert _meets(chains.path)
    true = shapely.LineString(ring)
    assert shapely.hausdorff_distance(true, shapely.LineString(flatten(chains.path).points)) <= 2 * wobble + 1e-9


@given(st.lists(st.tuples(*[st.integers(0, 6)] * 4), min_size=1, max_size=40))
def test_no_line_is_lost_or_moved(legs) -> None:
    pieces = [_line(*leg) for leg in legs]
    chains = _chained(*pieces)
    assert sorted(chains.members.tolist()) == list(range(len(legs)))
    assert path_length_mm(chains.path) == pytest.approx(sum(path_length_mm(piece) for piece in pieces))
    assert _meets(chains.path)
    assert _undirected(chains.path.segments[:, :4]) == _undirected(np.array(legs, float))


def _undirected(rows: np.ndarray) -> list[tuple[tuple[float, ...], ...]]:
    return sorted(tuple(sorted([tuple(row[:2]), tuple(row[2:])])) for row in rows.tolist())
