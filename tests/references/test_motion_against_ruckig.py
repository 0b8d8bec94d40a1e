"""Move times against ruckig, a general trajectory library (L. Berscheid, T. Kröger, Jerk-limited Real-time Trajectory
Generation with Arbitrary Target States, RSS 2021), with its jerk limit out of the way and with it on."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ruckig import InputParameter, Result, Ruckig, Trajectory

from core.burning.machines import CO2_FLATBED
from core.burning.motion import move_time_s, path_time_s, ramp_time_s
from core.burning.run_time import run_up_mm
from core.geometry.path import polyline

JERK_FREE = 1e9


def ruckig_time_s(
    length_mm: float,
    speed: float,
    acceleration: float,
    start_speed: float,
    end_speed: float,
    jerk: float = JERK_FREE,
) -> float:
    wanted = InputParameter(1)
    wanted.current_position, wanted.current_velocity, wanted.current_acceleration = [0.0], [start_speed], [0.0]
    wanted.target_position, wanted.target_velocity, wanted.target_acceleration = [length_mm], [end_speed], [0.0]
    wanted.max_velocity, wanted.max_acceleration, wanted.max_jerk = [speed], [acceleration], [jerk]
    trajectory = Trajectory(1)
    assert Ruckig(1).calculate(wanted, trajectory) == Result.Working
    return float(trajectory.duration)


@settings(deadline=None)
@given(
    length_mm=st.floats(0.1, 500),
    speed=st.floats(10, 1000),
    acceleration=st.floats(100, 20_000),
    start=st.floats(0, 1),
    end=st.floats(0, 1),
)
def test_single_moves(length_mm: float, speed: float, acceleration: float, start: float, end: float) -> None:
    start, end = start * speed, end * speed
    assume(abs(end**2 - start**2) < 2 * acceleration * length_mm * 0.999)
    ours = float(
        move_time_s(
            length_mm,
            speed_mm_s=speed,
            acceleration_mm_s2=acceleration,
            start_speed_mm_s=start,
            end_speed_mm_s=end,
        )
    )
    assert ours == pytest.approx(ruckig_time_s(length_mm, speed, acceleration, start, end), rel=1e-3, abs=2e-4)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0.5, 80), min_size=1, max_size=8), st.floats(20, 800), st.floats(500, 10_000))
def test_a_zigzag_that_stops_at_every_reversal(lengths_mm: list[float], speed: float, acceleration: float) -> None:
    """Each leg goes straight back over the one before, so each is a move from rest to rest."""
    signs = np.where(np.arange(len(lengths_mm)) % 2 == 0, 1.0, -1.0)
    x = np.concatenate([[0.0], np.cumsum(signs * lengths_mm)])
    path = polyline(np.column_stack([x, np.zeros(len(x))]))
    ours = path_time_s(path, speed_mm_s=speed, acceleration_mm_s2=acceleration, deviation_mm=0.01)
    theirs = math.fsum(ruckig_time_s(length, speed, acceleration, 0.0, 0.0) for length in lengths_mm)
    assert ours == pytest.approx(theirs, rel=1e-3, abs=2e-4)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0.01, 40), min_size=1, max_size=20), st.floats(20, 800), st.floats(500, 10_000))
def test_a_straight_line_in_pieces_is_one_move(lengths_mm: list[float], speed: float, acceleration: float) -> None:
    x = np.concatenate([[0.0], np.cumsum(lengths_mm)])
    path = polyline(np.column_stack([x, 0.5 * x]))
    ours = path_time_s(path, speed_mm_s=speed, acceleration_mm_s2=acceleration, deviation_mm=0.01)
    whole_mm = float(x[-1]) * math.hypot(1.0, 0.5)
    assert ours == pytest.approx(ruckig_time_s(whole_mm, speed, acceleration, 0.0, 0.0), rel=1e-3, abs=2e-4)


@settings(deadline=None)
@given(
    length_mm=st.floats(0.01, 500),
    speed=st.floats(10, 1000),
    acceleration=st.floats(100, 20_000),
    jerk=st.floats(1e3, 1e7),
    start=st.floats(0, 1),
    end=st.floats(0, 1),
)
def test_single_moves_with_a_jerk_limit(
    length_mm: float, speed: float, acceleration: float, jerk: float, start: float, end: float
) -> None:
    start, end = start * speed, end * speed
    ramp_s = float(ramp_time_s(end - start, acceleration_mm_s2=acceleration, jerk_mm_s3=jerk))
    assume((start + end) / 2 * ramp_s < length_mm * 0.999)
    ours = float(
        move_time_s(
            length_mm,
            speed_mm_s=speed,
            acceleration_mm_s2=acceleration,
            start_speed_mm_s=start,
            end_speed_mm_s=end,
            jerk_mm_s3=jerk,
        )
    )
    assert ours == pytest.approx(ruckig_time_s(length_mm, speed, acceleration, start, end, jerk), rel=1e-6, abs=1e-7)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0.01, 40), min_size=1, max_size=20), st.floats(20, 800), st.floats(1e4, 1e6), st.booleans())
def test_lines_in_pieces_and_zigzags_with_a_jerk_limit(
    lengths_mm: list[float], speed: float, jerk: float, zigzag: bool
) -> None:
    signs = np.where(np.arange(len(lengths_mm)) % 2 == 0, 1.0, -1.0 if zigzag else 1.0)
    x = np.concatenate([[0.0], np.cumsum(signs * lengths_mm)])
    path = polyline(np.column_stack([x, np.zeros(len(x))]))
    ours = path_time_s(path, speed_mm_s=speed, acceleration_mm_s2=3000.0, deviation_mm=0.01, jerk_mm_s3=jerk)
    moves = lengths_mm if zigzag else [sum(lengths_mm)]
    theirs = math.fsum(ruckig_time_s(length, speed, 3000.0, 0.0, 0.0, jerk) for length in moves)
    assert ours == pytest.approx(theirs, rel=1e-5)


@settings(deadline=None, max_examples=30)
@given(st.floats(20, 1000), st.floats(1e4, 1e7))
def test_run_ups_with_a_jerk_limit(speed: float, jerk: float) -> None:
    """From rest to the speed over the run-up: ruckig needs the same time."""
    machine = replace(CO2_FLATBED, scan_jerk_mm_s3=jerk)
    acceleration = machine.scan_acceleration_mm_s2
    ramp_s = float(ramp_time_s(speed, acceleration_mm_s2=acceleration, jerk_mm_s3=jerk))
    length_mm = run_up_mm(speed, machine)
    theirs = ruckig_time_s(length_mm * (1 + 1e-9), speed * (1 + 1e-9), acceleration, 0.0, speed, jerk)
    assert ramp_s == pytest.approx(theirs, rel=1e-4)
