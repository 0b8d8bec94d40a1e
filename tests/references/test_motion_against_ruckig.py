"""Move times against ruckig, a general trajectory library (L. Berscheid, T. Kröger, Jerk-limited Real-time Trajectory
Generation with Arbitrary Target States, RSS 2021), with its jerk limit out of the way."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ruckig import InputParameter, Result, Ruckig, Trajectory

from core.burning.motion import move_time_s, path_time_s
from core.geometry.path import polyline

JERK_FREE = 1e9


def ruckig_time_s(length_mm: float, speed: float, acceleration: float, start_speed: float, end_speed: float) -> float:
    wanted = InputParameter(1)
    wanted.current_position, wanted.current_velocity, wanted.current_acceleration = [0.0], [start_speed], [0.0]
    wanted.target_position, wanted.target_velocity, wanted.target_acceleration = [length_mm], [end_speed], [0.0]
    wanted.max_velocity, wanted.max_acceleration, wanted.max_jerk = [speed], [acceleration], [JERK_FREE]
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
