import itertools
import math
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.burning import line_order
from core.burning.line_order import ordered_paths
from core.burning.near_points import nearest_points
from core.burning.nesting import held_lines, parents_of
from core.errors import Cancelled
from core.geometry.path import EMPTY, Path, ellipse, joined, polyline
from tests.core.burning.jumps import jumps_mm

Point = tuple[float, float]
AS_IN_THE_PROGRAM = line_order.MOST_KICKS


@pytest.fixture(scope="module", autouse=True)
def with_kicks() -> Iterator[None]:
    """All other tests do without."""
    before, line_order.MOST_KICKS = line_order.MOST_KICKS, AS_IN_THE_PROGRAM
    yield
    line_order.MOST_KICKS = before


coordinates = st.floats(-100, 100).map(lambda v: round(v, 3))
points = st.tuples(coordinates, coordinates)


def rectangle(x: float, y: float, w: float, h: float) -> Path:
    return polyline(np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]]), closed=True)


def line(*through: tuple[float, float]) -> Path:
    return polyline(np.array(through))


closed = st.builds(rectangle, coordinates, coordinates, st.floats(0.5, 60), st.floats(0.5, 60))
circles = st.builds(ellipse, points, st.floats(0.2, 30), st.floats(0.2, 30))
opened = st.lists(points, min_size=2, max_size=4).map(lambda through: line(*through))
drawings = st.lists(closed | circles | opened, max_size=25)


def in_file_order(paths: list[Path]) -> list[Path]:
    """The order given, each path after those inside it."""
    parents = parents_of(paths)
    done: list[int] = []

    def burn(index: int) -> None:
        for child, parent in enumerate(parents):
            if parent == index and child not in done:
                burn(child)
        if index not in done:
            done.append(index)

    for index in range(len(paths)):
        burn(index)
    return [paths[index] for index in done]


def shape_key(path: Path) -> tuple[float, ...]:
    """The same for a line and its reverse."""
    ends = sorted([path.start_points[0].round(6).tolist(), path.end_points[-1].round(6).tolist()])
    return (len(path), *ends[0], *ends[1], round(float(np.abs(path.segments).sum()), 4))


def test_inner_outlines_come_first() -> None:
    outer, hole, island = rectangle(0, 0, 50, 50), rectangle(10, 10, 30, 30), rectangle(20, 20, 5, 5)
    assert parents_of([outer, hole, island]) == [-1, 0, 1]
    assert [p.segments[0, 0] for p in ordered_paths([outer, hole, island])] == [20, 10, 0]


def test_open_lines_inside_an_outline_come_before_it() -> None:
    outer, slit = rectangle(0, 0, 50, 50), line((0, 25), (40, 25))
    assert parents_of([outer, slit]) == [-1, 0]
    assert len(ordered_paths([outer, slit], start_mm=(0, 0))[0]) == 1


def test_doubled_outlines_do_not_wait_for_each_other() -> None:
    twice = [rectangle(0, 0, 10, 10), rectangle(0, 0, 10, 10)]
    assert parents_of(twice) == [-1, -1]
    assert len(ordered_paths(twice)) == 2


def test_crossing_outlines_and_self_crossing_ones() -> None:
    bow_tie = polyline(np.array([[0.0, 0.0], [10, 10], [10, 0], [0, 10]]), closed=True)
    flat = polyline(np.array([[0.0, 0.0], [10, 0], [20, 0]]), closed=True)
    assert parents_of([bow_tie, flat, rectangle(5, -5, 50, 8)]) == [-1, -1, -1]
    assert parents_of([bow_tie, rectangle(1, 4, 0.5, 0.5), rectangle(-5, -5, 50, 50)]) == [2, 0, -1]


def test_an_outline_waits_for_all_it_holds_also_where_outlines_cross() -> None:
    whole, over, small = rectangle(0, 0, 100, 100), rectangle(90, 0, 100, 98), rectangle(92, 2, 5, 4)
    for start in ((0, 0), (200, 0), (0, 200)):
        for order in itertools.permutations([whole, over, small]):
            ordered = [path.segments[0, 0] for path in ordered_paths(list(order), start_mm=start)]
            assert ordered.index(92) < min(ordered.index(0), ordered.index(90))


@settings(deadline=None, max_examples=40)
@given(drawings, points)
def test_all_that_an_outline_holds_is_burned_before_it(paths: list[Path], start: tuple[float, float]) -> None:
    held = held_lines(ordered_paths(paths, start_mm=start))
    assert (held.inner < held.outer).all()


def test_the_free_end_and_the_start_are_no_lines() -> None:
    """Eight lines in a row, given criss-cross: the best way runs straight through, whichever side it starts from."""
    row = [line((10.0 * i, 0), (10.0 * i + 9, 0)) for i in (3, 0, 6, 1, 7, 2, 5, 4)]
    assert jumps_mm(ordered_paths(row), (0, 0)) == pytest.approx(7.0)
    assert jumps_mm(ordered_paths(row, start_mm=(79, 5)), (79, 5)) == pytest.approx(12.0)


@settings(deadline=None, max_examples=20)
@given(st.lists(st.tuples(points, points), min_size=2, max_size=4, unique=True), points)
def test_few_lines_are_in_the_best_order(ends: list[tuple[Point, Point]], start: Point) -> None:
    best = math.inf
    for order in itertools.permutations(ends):
        for backwards in itertools.product((False, True), repeat=len(ends)):
            here, total = start, 0.0
            for (begin, end), back in zip(order, backwards, strict=True):
                total += math.dist(here, end if back else begin)
                here = begin if back else end
            best = min(best, total)
    assert jumps_mm(ordered_paths([line(*pair) for pair in ends], start_mm=start), start) <= best * 1.02 + 1e-6


def test_neighbours_by_delaunay_are_the_nearest_ones() -> None:
    random = np.random.default_rng(8)
    points = np.concatenate([random.uniform(0, 100, (2500, 2)), random.normal(30, 2, (2500, 2))])
    near, few = nearest_points(points, 6), random.integers(0, 5000, 60)
    for i in few.tolist():
        away = np.hypot(*(points - points[i]).T)
        away[i] = np.inf
        assert away[near[i][:5]].max() <= np.sort(away)[5] * 1.3
        assert i not in near[i]


def test_open_lines_may_be_walked_backwards() -> None:
    lines = [line((0, 0), (10, 0)), line((0, 1), (10, 1)), line((0, 2), (10, 2))]
    ordered = ordered_paths(lines)
    assert jumps_mm(ordered, (0, 0)) == pytest.approx(2.0)
    assert jumps_mm(lines, (0, 0)) > 20


def test_subpaths_are_burned_one_by_one() -> None:
    ring = joined([rectangle(0, 0, 50, 50), rectangle(10, 10, 30, 30)])
    assert [len(path.starts) for path in ordered_paths([ring])] == [1, 1]
    assert ordered_paths([ring])[0].segments[0, 0] == 10


def test_kicks_shorten_what_the_first_moves_leave(monkeypatch: pytest.MonkeyPatch) -> None:
    """So they are at work here, and only here."""
    assert AS_IN_THE_PROGRAM > 1000
    dots = [ellipse(tuple(at), 0.2, 0.2) for at in np.random.default_rng(3).uniform(0, 100, (150, 2)).tolist()]
    kicked = jumps_mm(ordered_paths(dots), (0, 0))
    monkeypatch.setattr(line_order, "MOST_KICKS", 0)
    assert kicked < jumps_mm(ordered_paths(dots), (0, 0))


def test_nothing_to_order() -> None:
    assert ordered_paths([]) == ()
    assert ordered_paths([EMPTY]) == ()


def test_start_decides_where_to_begin() -> None:
    row = [rectangle(10 * i, 0, 5, 5) for i in range(5)]
    assert [p.segments[0, 0] for p in ordered_paths(row, start_mm=(50, 0))] == [40, 30, 20, 10, 0]


@settings(deadline=None, max_examples=40)
@given(drawings, points)
def test_all_lines_stay_and_inner_come_first(paths: list[Path], start: tuple[float, float]) -> None:
    ordered = list(ordered_paths(paths, start_mm=start))
    assert np.array(sorted(map(shape_key, ordered))) == pytest.approx(np.array(sorted(map(shape_key, paths))), abs=1e-3)
    parents = parents_of(ordered)
    assert all(parent == -1 or parent > index for index, parent in enumerate(parents))


@settings(deadline=None, max_examples=40)
@given(drawings, points)
def test_never_longer_than_the_order_given(paths: list[Path], start: tuple[float, float]) -> None:
    ordered = ordered_paths(paths, start_mm=start)
    assert jumps_mm(ordered, start) <= jumps_mm(in_file_order(paths), start) + 1e-6


@settings(deadline=None, max_examples=40)
@given(st.lists(points, min_size=1, max_size=6, unique=True))
def test_few_dots_are_near_the_best_order(places: list[tuple[float, float]]) -> None:
    dots = [line(place) for place in places]
    best = min(
        math.fsum(math.dist(a, b) for a, b in itertools.pairwise([(0.0, 0.0), *order]))
        for order in itertools.permutations(places)
    )
    assert jumps_mm(ordered_paths(dots), (0, 0)) <= 1.35 * best + 1e-9


def test_many_dots_come_near_the_known_length() -> None:
    """A short way through n random points in an area A is about 0.7124 √(n A) (Beardwood, Halton, Hammersley 1959;
    the constant: D. S. Johnson, L. A. McGeoch 1996)."""
    places = np.random.default_rng(5).uniform(0, 100, (600, 2))
    ordered = ordered_paths([line((x, y)) for x, y in places.tolist()])
    assert jumps_mm(ordered, (0, 0)) < 1.1 * 0.7124 * math.sqrt(600 * 100 * 100)


def test_a_regular_grid_is_walked_row_by_row_or_as_well() -> None:
    dots = [line((5.0 * (i % 20), 5.0 * (i // 20))) for i in range(400)]
    assert jumps_mm(ordered_paths(dots), (0, 0)) < 1.05 * 399 * 5


def test_can_be_cancelled() -> None:
    def stop(share: float, doing: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        ordered_paths([rectangle(0, 0, 1, 1)], progress=stop)
