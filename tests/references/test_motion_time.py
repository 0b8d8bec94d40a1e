"""Motion times against closed forms.

Sources: L. Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots, Springer 2008, section 3.2
(trapezoidal velocity; section quoted from memory); R. Nagarajan, Introduction to Industrial Robotics, eq. 10.25-10.28
(peak speed and time of a bang-bang move). Rows, curves and corners derived by hand from these.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from core.burning.machines import CO2_FLATBED
from core.burning.motion import corner_speed_mm_s, move_time_s, path_time_s
from core.burning.run_time import fill_time_s, run_up_mm
from core.burning.scan_rows import ScanRows
from core.geometry.path import ellipse, polyline
from core.sheet.recipes import Recipe


@pytest.mark.parametrize(("length_mm", "time_s"), [(100, 0.6), (10, 0.141421), (1, 0.0447214), (20, 0.2)])
def test_move_from_rest_to_rest(length_mm: float, time_s: float) -> None:
    assert float(move_time_s(length_mm, speed_mm_s=200, acceleration_mm_s2=2000)) == pytest.approx(time_s, rel=1e-5)


def test_both_forms_meet_where_the_speed_is_just_reached() -> None:
    assert float(move_time_s(20, speed_mm_s=200, acceleration_mm_s2=2000)) == pytest.approx(2 * math.sqrt(20 / 2000))


def test_peak_speed_of_a_short_move() -> None:
    """At the peak speed √(a h) = 141.421 mm/s as limit the time is that without one."""
    times = [float(move_time_s(10, speed_mm_s=v, acceleration_mm_s2=2000)) for v in (141.421357, 200, 140)]
    assert times[0] == pytest.approx(times[1], rel=1e-9)
    assert times[2] > times[1]


@pytest.mark.parametrize(("length_mm", "time_s"), [(50, 0.395), (20, 0.229828)])
def test_move_between_speeds(length_mm: float, time_s: float) -> None:
    time = move_time_s(length_mm, speed_mm_s=200, acceleration_mm_s2=1000, start_speed_mm_s=20, end_speed_mm_s=40)
    assert float(time) == pytest.approx(time_s, rel=1e-5)


def test_arrays_of_moves() -> None:
    times = move_time_s([100, 10, 1], speed_mm_s=200, acceleration_mm_s2=2000)
    assert times == pytest.approx([0.6, 0.141421, 0.0447214], rel=1e-5)


MACHINE = replace(CO2_FLATBED, turn_round_s=0.0, jump_speed_mm_s=1000.0, line_acceleration_mm_s2=5000.0)
RECIPE = Recipe(speed_mm_s=500.0, power_pct=20.0, pitch_mm=0.1)


def rows(count: int) -> ScanRows:
    return ScanRows(
        pitch_mm=0.1,
        scan_angle_deg=0.0,
        row_y_mm=0.05 + 0.1 * np.arange(count),
        row_index=np.arange(count),
        x0_mm=np.zeros(count),
        x1_mm=np.full(count, 100.0),
    )


ACCELERATIONS = (1000, 2000, 5000, 10000)


@pytest.mark.parametrize(("acceleration", "length_mm"), list(zip(ACCELERATIONS, (125, 62.5, 25, 12.5), strict=True)))
def test_run_up(acceleration: float, length_mm: float) -> None:
    assert run_up_mm(500, replace(MACHINE, scan_acceleration_mm_s2=acceleration)) == pytest.approx(length_mm)


@pytest.mark.parametrize(("acceleration", "time_s"), list(zip(ACCELERATIONS, (1.2, 0.7, 0.4, 0.3), strict=True)))
def test_one_row(acceleration: float, time_s: float) -> None:
    machine = replace(MACHINE, scan_acceleration_mm_s2=acceleration)
    assert fill_time_s(rows(1), RECIPE, machine) == pytest.approx(time_s)


def test_scanning_both_ways_takes_twice_the_naive_estimate() -> None:
    machine = replace(MACHINE, scan_acceleration_mm_s2=5000)
    assert fill_time_s(rows(500), RECIPE, machine) == pytest.approx(200.0)
    assert rows(500).length_mm / RECIPE.speed_mm_s == pytest.approx(100.0)


def test_scanning_one_way() -> None:
    machine = replace(MACHINE, scan_acceleration_mm_s2=5000, scans_both_ways=False)
    assert fill_time_s(rows(500), RECIPE, machine) == pytest.approx(372.859, rel=1e-5)


def test_step_to_the_next_row_hides_in_the_turn_or_not() -> None:
    """A step of 0.1 mm at 5000 mm/s² takes 8.94 ms, less than the 200 ms of a turn at 500 mm/s."""
    assert float(move_time_s(0.1, speed_mm_s=1000, acceleration_mm_s2=5000)) == pytest.approx(0.00894427, rel=1e-5)
    fast_axis = replace(MACHINE, scan_acceleration_mm_s2=5000)
    slow_step = replace(fast_axis, line_acceleration_mm_s2=1.0)
    step_s = 2 * math.sqrt(0.1 / 1.0)
    assert step_s > 2 * 500 / 5000
    extra = fill_time_s(rows(11), RECIPE, slow_step) - fill_time_s(rows(11), RECIPE, fast_axis)
    assert extra == pytest.approx(10 * (step_s - 0.2))


@pytest.mark.parametrize(("radius_mm", "speed_mm_s"), [(0.5, 31.6228), (1, 44.7214), (5, 100), (10, 141.421)])
def test_speed_on_an_arc(radius_mm: float, speed_mm_s: float) -> None:
    """A full circle from rest to rest under v <= √(a R): ramps along the arc and the rest at that speed."""
    time = path_time_s(
        ellipse((0, 0), radius_mm, radius_mm), speed_mm_s=1000, acceleration_mm_s2=2000, deviation_mm=0.01
    )
    length = 2 * math.pi * radius_mm
    assert time == pytest.approx(length / speed_mm_s + speed_mm_s / 2000, rel=1e-5)


INTERIOR_DEG = (60, 90, 120, 150)


@pytest.mark.parametrize(
    ("interior_deg", "radius_mm", "speed_mm_s"),
    list(zip(INTERIOR_DEG, (0.01, 0.0241421, 0.064641, 0.283477), (4.47214, 6.94869, 11.3702, 23.8108), strict=True)),
)
def test_corner(interior_deg: float, radius_mm: float, speed_mm_s: float) -> None:
    turn = math.radians(180 - interior_deg)
    speed = float(corner_speed_mm_s(turn, deviation_mm=0.01, acceleration_mm_s2=2000))
    assert speed == pytest.approx(speed_mm_s, rel=1e-5)
    assert speed**2 / 2000 == pytest.approx(radius_mm, rel=1e-5)


def test_no_limit_straight_on_and_a_stop_for_a_reversal() -> None:
    straight, back = corner_speed_mm_s([0.0, math.pi], deviation_mm=0.01, acceleration_mm_s2=2000)
    assert straight > 1e8
    assert back == pytest.approx(0.0, abs=1e-6)


def test_square_with_corner_speed() -> None:
    """Two legs of 100 mm with one right angle: each leg from rest to the corner speed of 6.94869 mm/s."""
    legs = polyline(np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0]]))
    time = path_time_s(legs, speed_mm_s=200, acceleration_mm_s2=2000, deviation_mm=0.01)
    leg = float(move_time_s(100, speed_mm_s=200, acceleration_mm_s2=2000, end_speed_mm_s=6.94869))
    assert time == pytest.approx(2 * leg, rel=1e-6)
