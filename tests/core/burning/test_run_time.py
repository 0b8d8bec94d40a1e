import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import unary_union
from shapely.geometry import MultiPolygon, Polygon, box

from core.burning.machines import CO2_FLATBED
from core.burning.motion import lookahead_speeds_mm_s, move_time_s, path_time_s
from core.burning.row_blocks import blocks_apart
from core.burning.run_time import fill_time_range, fill_time_s, jump_time_s, lines_time_s, run_up_mm
from core.burning.scan_rows import ScanRows, scan_rows
from core.errors import JobError
from core.geometry.affine import rotation
from core.geometry.flattening import flatten
from core.geometry.path import EMPTY, Path, PathBuilder, ellipse, joined, polyline
from core.sheet.recipes import Recipe

MACHINE = replace(CO2_FLATBED, turn_round_s=0.0)
FILL = Recipe(speed_mm_s=500.0, power_pct=20.0, pitch_mm=0.1)
CUT = Recipe(speed_mm_s=12.0, power_pct=75.0)
DRIVE = {"speed_mm_s": 100.0, "acceleration_mm_s2": 2000.0, "deviation_mm": 0.01}


def rows_of(region: MultiPolygon | Polygon, pitch_mm: float = 0.1, angle_deg: float = 0.0) -> ScanRows:
    return scan_rows(region, pitch_mm=pitch_mm, angle_deg=angle_deg)


def test_no_rows_take_no_time() -> None:
    assert fill_time_s(rows_of(Polygon()), FILL, MACHINE) == 0.0


def test_turn_round_is_lost_between_rows() -> None:
    rows = rows_of(box(0, 0, 100, 1))
    extra = fill_time_s(rows, FILL, replace(MACHINE, turn_round_s=0.03)) - fill_time_s(rows, FILL, MACHINE)
    assert extra == pytest.approx(9 * 0.03)


def test_passes_repeat_all_and_go_back_to_the_top() -> None:
    rows = rows_of(box(0, 0, 100, 1))
    once, twice = (fill_time_s(rows, replace(FILL, passes=n), MACHINE) for n in (1, 2))
    assert twice == pytest.approx(2 * once + jump_time_s(0.9, MACHINE))


def test_a_small_gap_is_crossed_at_speed() -> None:
    parts = MultiPolygon([box(0, 0, 40, 1), box(50, 0, 100, 1)])
    assert fill_time_s(rows_of(parts), FILL, MACHINE) == pytest.approx(
        fill_time_s(rows_of(box(0, 0, 100, 1)), FILL, MACHINE)
    )


def far_blocks(count: int, gap_mm: float) -> MultiPolygon:
    return MultiPolygon([box(x, 0, x + 10, 1) for x in np.arange(count) * (10 + gap_mm)])


APART, SWEPT = (replace(MACHINE, wide_gaps=way) for way in ("apart", "swept"))


@pytest.mark.parametrize("both_ways", [True, False])
def test_parts_far_apart_are_burned_one_after_the_other(both_ways: bool) -> None:
    """At 500 mm/s and 10 m/s² a stop and a run-up take 0.1 s: more than 50 mm of gap is not crossed."""
    machine = replace(APART, scans_both_ways=both_ways)
    near, far = box(0, 0, 10, 1), box(800, 0, 810, 1)
    together = fill_time_s(rows_of(MultiPolygon([near, far])), FILL, machine)
    alone = [fill_time_s(rows_of(part), FILL, machine) for part in (near, far)]
    exit_mm = 0.0 if both_ways else 10.0  # after ten rows
    assert together == pytest.approx(sum(alone) + jump_time_s(math.hypot(800 - exit_mm, 0.9), machine))


def test_a_machine_that_sweeps_crosses_every_gap_at_speed() -> None:
    assert fill_time_s(rows_of(far_blocks(2, 390)), FILL, SWEPT) == pytest.approx(10 * (410 / 500 + 0.1))
    assert fill_time_s(rows_of(far_blocks(2, 390)), FILL, SWEPT) == pytest.approx(
        fill_time_s(rows_of(box(0, 0, 410, 1)), FILL, SWEPT)
    )


@pytest.mark.parametrize("both_ways", [True, False])
@pytest.mark.parametrize("count", [2, 3, 4])
def test_while_the_way_over_gaps_is_unknown_the_time_is_a_range(count: int, both_ways: bool) -> None:
    ways = [replace(machine, scans_both_ways=both_ways) for machine in (APART, SWEPT, MACHINE)]
    apart, swept, unknown = (fill_time_range(rows_of(far_blocks(count, 200)), FILL, machine) for machine in ways)
    assert apart.least_s == apart.most_s and swept.least_s == swept.most_s
    assert (unknown.least_s, unknown.most_s) == (apart.best_s, swept.best_s)
    assert unknown.best_s == (apart.best_s + swept.best_s) / 2
    assert swept.best_s > 1.4 * apart.best_s


def test_a_time_without_wide_gaps_is_no_range() -> None:
    time = fill_time_range(rows_of(far_blocks(5, 30)), FILL, MACHINE)
    assert time.least_s == time.most_s == fill_time_s(rows_of(far_blocks(5, 30)), FILL, SWEPT)


@given(st.floats(0.1, 300))
def test_the_quicker_way_over_a_gap_is_taken(gap_mm: float) -> None:
    rows = rows_of(far_blocks(2, gap_mm))
    slower = replace(APART, jump_speed_mm_s=1e6, line_acceleration_mm_s2=1e9)
    crossed = 10 * ((20 + gap_mm) / 500 + 0.1)
    apart = 20 * (10 / 500 + 0.1)
    assert fill_time_s(rows, FILL, slower) == pytest.approx(min(crossed, apart), rel=1e-3)


def test_arms_far_apart_and_what_joins_them_are_blocks() -> None:
    """A frame of 300 x 20 mm, 5 mm wide: a bar, two posts 290 mm apart, a bar."""
    frame = box(0, 0, 300, 20).difference(box(5, 5, 295, 15))
    blocks = blocks_apart(rows_of(frame), wide_mm=50.0, both_ways=True)
    assert sorted(np.bincount(blocks.block).tolist()) == [50, 50, 100, 100]
    assert (blocks.right_mm - blocks.left_mm).sum() == pytest.approx(rows_of(frame).length_mm)


def plain_blocks(rows: ScanRows, wide_mm: float) -> set[frozenset[tuple[float, float, float]]]:
    """The same blocks by a plain loop over rows."""
    lines: list[list[list[float]]] = []
    for first, stop in zip(rows.row_starts[:-1], rows.row_starts[1:], strict=True):
        stretches: list[list[float]] = []
        for x0, x1 in zip(rows.x0_mm[first:stop].tolist(), rows.x1_mm[first:stop].tolist(), strict=True):
            if stretches and x0 - stretches[-1][1] <= wide_mm:
                stretches[-1][1] = x1
            else:
                stretches.append([x0, x1, float(rows.row_y_mm[rows.row_index[first]])])
        if stretches:
            lines.append(stretches)
    block: dict[tuple[float, ...], list[tuple[float, ...]]] = {}
    for place, stretches in enumerate(lines):
        before = lines[place - 1] if place else []

        def beside(one: list[float], others: list[list[float]]) -> list[list[float]]:
            return [o for o in others if o[0] <= one[1] + wide_mm and o[1] >= one[0] - wide_mm]

        for one in stretches:
            above = beside(one, before)
            joined_on = len(above) == 1 and len(beside(above[0], stretches)) == 1
            block[tuple(one)] = block[tuple(above[0])] if joined_on else []
            block[tuple(one)].append(tuple(one))
    return {frozenset(stretches) for stretches in block.values()}


@settings(deadline=None, max_examples=40)
@given(
    st.lists(
        st.tuples(st.floats(0, 200), st.floats(0, 6), st.floats(1, 60), st.floats(0.3, 3)), min_size=1, max_size=9
    ),
    st.floats(1, 60),
)
def test_blocks_against_a_plain_loop(boxes: list[tuple[float, float, float, float]], wide_mm: float) -> None:
    rows = rows_of(unary_union([box(x, y, x + w, y + h) for x, y, w, h in boxes]), pitch_mm=0.23)
    blocks = blocks_apart(rows, wide_mm=wide_mm, both_ways=True)
    ours: dict[int, set[tuple[float, float, float]]] = {}
    for name, *stretch in zip(blocks.block.tolist(), blocks.left_mm, blocks.right_mm, blocks.y_mm, strict=True):
        ours.setdefault(name, set()).add(tuple(map(float, stretch)))
    assert {frozenset(stretches) for stretches in ours.values()} == plain_blocks(rows, wide_mm)


def test_a_jerk_limit_makes_rows_and_lines_slower_and_none_is_no_limit() -> None:
    rows, ring = rows_of(box(0, 0, 100, 1)), ellipse((50, 50), 20, 20)
    limited = replace(MACHINE, scan_jerk_mm_s3=2e5, line_jerk_mm_s3=2e4)
    assert fill_time_s(rows, FILL, limited) == pytest.approx(
        fill_time_s(rows, FILL, MACHINE) + 20 * MACHINE.scan_acceleration_mm_s2 / 2e5
    )
    assert run_up_mm(500.0, limited) == pytest.approx(500 / 2 * (500 / 1e4 + 1e4 / 2e5))
    assert lines_time_s([ring], CUT, limited) > lines_time_s([ring], CUT, MACHINE)
    free = replace(MACHINE, scan_jerk_mm_s3=1e14, line_jerk_mm_s3=1e14)
    assert fill_time_s(rows, FILL, free) == pytest.approx(fill_time_s(rows, FILL, MACHINE))
    assert lines_time_s([ring], CUT, free) == pytest.approx(lines_time_s([ring], CUT, MACHINE))


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=9), st.floats(1e3, 1e6))
def test_jerk_never_saves_time(through: list[tuple[float, float]], jerk: float) -> None:
    path = polyline(np.array(through))
    assert path_time_s(path, jerk_mm_s3=jerk, **DRIVE) >= path_time_s(path, **DRIVE) * (1 - 1e-6)


def test_speed_on_a_small_circle_is_held_down_to_what_the_deviation_allows() -> None:
    """Curve-radius floor: a circle tighter than the deviation counts as one of that radius, √(a R) on it."""
    drive = {"speed_mm_s": 1e3, "acceleration_mm_s2": 2000.0}
    tiny, floor_mm = ellipse((0, 0), 0.02, 0.02), 0.5
    held = math.sqrt(2000.0 * floor_mm)
    around = 2 * math.pi * 0.02
    assert path_time_s(tiny, deviation_mm=floor_mm, **drive) == pytest.approx(
        float(move_time_s(around, speed_mm_s=held, acceleration_mm_s2=2000.0)), rel=1e-3
    )
    wide, held = ellipse((0, 0), 2.0, 2.0), math.sqrt(2000.0 * 2.0)
    assert path_time_s(wide, deviation_mm=0.001, **drive) == pytest.approx(
        float(move_time_s(4 * math.pi, speed_mm_s=held, acceleration_mm_s2=2000.0)), rel=1e-3
    )


def test_rows_that_end_further_out_are_reached_at_speed() -> None:
    stairs = MultiPolygon([box(0, 0, 10, 0.1), box(0, 0.1, 25, 0.2)])
    level = rows_of(box(0, 0, 25, 0.2))
    rows = rows_of(stairs)
    assert len(rows) == len(level) == 2
    assert fill_time_s(rows, FILL, MACHINE) == pytest.approx(fill_time_s(level, FILL, MACHINE))


def test_empty_rows_are_stepped_over() -> None:
    apart = MultiPolygon([box(0, 0, 10, 1), box(0, 101, 10, 102)])
    expected = 2 * fill_time_s(rows_of(box(0, 0, 10, 1)), FILL, MACHINE) - 0.1 + jump_time_s(100.1, MACHINE)
    assert fill_time_s(rows_of(apart), FILL, MACHINE) == pytest.approx(expected)


def test_rows_along_the_long_side_are_quicker() -> None:
    bar = box(0, 0, 200, 5)
    assert fill_time_s(rows_of(bar), FILL, MACHINE) < fill_time_s(rows_of(bar, angle_deg=90), FILL, MACHINE)


def test_speed_beyond_the_machine_is_its_greatest() -> None:
    rows = rows_of(box(0, 0, 100, 1))
    times = [fill_time_s(rows, replace(FILL, speed_mm_s=speed), MACHINE) for speed in (1000, 5000)]
    assert times[0] == times[1]


@pytest.mark.parametrize("change", [{"speed_mm_s": 0.0}, {"speed_mm_s": -1.0}, {"passes": 0}, {"speed_mm_s": math.nan}])
def test_settings_without_a_run_time(change: dict[str, float]) -> None:
    with pytest.raises(JobError, match="gives no run time"):
        fill_time_s(rows_of(box(0, 0, 1, 1)), replace(FILL, **change), MACHINE)
    with pytest.raises(JobError, match="gives no run time"):
        lines_time_s([ellipse((0, 0), 1, 1)], replace(CUT, **change), MACHINE)


def test_machine_without_acceleration() -> None:
    with pytest.raises(JobError, match="scan acceleration of the machine"):
        fill_time_s(rows_of(box(0, 0, 1, 1)), FILL, replace(MACHINE, scan_acceleration_mm_s2=0.0))


def test_no_lines_take_no_time() -> None:
    assert lines_time_s([], CUT, MACHINE) == 0.0
    assert lines_time_s([EMPTY], CUT, MACHINE) == 0.0


def test_a_line_with_the_jump_to_it() -> None:
    line = polyline(np.array([[30.0, 40.0], [130.0, 40.0]]))
    ramps = 12 / MACHINE.line_acceleration_mm_s2
    assert lines_time_s([line], CUT, MACHINE) == pytest.approx(100 / 12 + ramps + jump_time_s(50, MACHINE))
    assert lines_time_s([line], CUT, MACHINE, start_mm=(30, 40)) == pytest.approx(100 / 12 + ramps)


def test_jumps_between_paths_and_between_passes() -> None:
    first, second = (polyline(np.array([[x, 0.0], [x + 10.0, 0.0]])) for x in (0.0, 60.0))
    alone = lines_time_s([first], CUT, MACHINE)
    both = lines_time_s([first, second], CUT, MACHINE)
    assert both == pytest.approx(2 * alone + jump_time_s(50, MACHINE))
    assert lines_time_s([joined([first, second])], CUT, MACHINE) == pytest.approx(both)
    twice = lines_time_s([first, second], replace(CUT, passes=2), MACHINE)
    assert twice == pytest.approx(2 * both + jump_time_s(70, MACHINE))


def test_a_dot_takes_no_time() -> None:
    assert path_time_s(polyline(np.array([[1.0, 2.0]])), **DRIVE) == 0.0


def random_path(draw: st.DrawFn) -> Path:
    point = st.tuples(st.floats(-50, 50), st.floats(-50, 50))
    builder = PathBuilder()
    builder.move_to(*draw(point))
    for _ in range(draw(st.integers(1, 8))):
        if draw(st.booleans()):
            builder.line_to(*draw(point))
        else:
            (x1, y1), (x2, y2), (x, y) = (draw(point) for _ in range(3))
            builder.cubic_to(x1, y1, x2, y2, x, y)
    return builder.build()


paths = st.composite(random_path)()


@settings(deadline=None)
@given(paths, st.floats(0, 360))
def test_time_is_the_same_backwards_and_turned(path: Path, angle_deg: float) -> None:
    time = path_time_s(path, **DRIVE)
    assert path_time_s(path.reversed(), **DRIVE) == pytest.approx(time, rel=1e-6, abs=1e-9)
    assert path_time_s(path.transformed(rotation(angle_deg)), **DRIVE) == pytest.approx(time, rel=1e-3, abs=1e-6)


@settings(deadline=None)
@given(paths)
def test_time_lies_between_no_corners_and_a_stop_at_each(path: Path) -> None:
    time = path_time_s(path, **DRIVE)
    lines = flatten(path, 0.001)
    legs = np.hypot(*np.diff(lines.points, axis=0).T)
    least = float(move_time_s(legs.sum(), speed_mm_s=100.0, acceleration_mm_s2=2000.0))
    assert time >= least * (1 - 1e-3) - 1e-12  # a length of 1e-227 mm is no length
    if (path.kinds == 0).all():
        most = float(move_time_s(legs, speed_mm_s=100.0, acceleration_mm_s2=2000.0).sum())
        assert time <= most * (1 + 1e-9)


@settings(deadline=None)
@given(paths, st.floats(1.1, 4))
def test_a_better_machine_is_never_slower(path: Path, factor: float) -> None:
    time = path_time_s(path, **DRIVE)
    for name in DRIVE:
        assert path_time_s(path, **{**DRIVE, name: DRIVE[name] * factor}) <= time * (1 + 1e-9) + 1e-12


def test_circle_as_arc_or_as_curves() -> None:
    quarter = 4 / 3 * math.tan(math.pi / 8)
    builder = PathBuilder()
    builder.move_to(5, 0)
    for (x0, y0), (x1, y1) in (((5, 0), (0, 5)), ((0, 5), (-5, 0)), ((-5, 0), (0, -5)), ((0, -5), (5, 0))):
        builder.cubic_to(x0 - quarter * y0, y0 + quarter * x0, x1 + quarter * y1, y1 - quarter * x1, x1, y1)
    drive = {**DRIVE, "speed_mm_s": 1000.0}
    assert path_time_s(builder.build(), **drive) == pytest.approx(path_time_s(ellipse((0, 0), 5, 5), **drive), rel=2e-3)


@given(
    st.lists(st.tuples(st.floats(0, 50), st.floats(0, 300)), min_size=1, max_size=30),
    st.floats(10, 10_000),
)
def test_lookahead_against_the_step_by_step_rule(steps: list[tuple[float, float]], acceleration: float) -> None:
    length = np.array([step[0] for step in steps])
    limit = np.array([0.0] + [step[1] for step in steps[:-1]] + [0.0])
    speed = limit.copy()
    for i in range(len(length)):
        speed[i + 1] = min(speed[i + 1], math.sqrt(speed[i] ** 2 + 2 * acceleration * length[i]))
    for i in reversed(range(len(length))):
        speed[i] = min(speed[i], math.sqrt(speed[i + 1] ** 2 + 2 * acceleration * length[i]))
    ours = lookahead_speeds_mm_s(length, limit, acceleration_mm_s2=acceleration)
    assert ours == pytest.approx(speed, rel=1e-6, abs=1e-4)
