"""How long a layer runs: scan rows with their run-ups and turns, lines with corners, jumps between them.

Times are those of ideal axes; a machine's own acceleration, turn-round and overhead are learned from timed jobs.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.burning.machines import Machine
from core.burning.motion import distance_mm, move_time_s, path_time_s, ramp_time_s
from core.burning.row_blocks import RowBlocks, blocks_apart, exits_mm, swept_rows
from core.burning.scan_rows import ScanRows
from core.errors import JobError
from core.geometry.path import Path, joined
from core.sheet.recipes import Recipe

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeRange:
    """A run time that depends on what is not known of the machine; least and most are the same where all is known."""

    least_s: float
    most_s: float

    @property
    def best_s(self) -> float:
        """The middle, for want of better knowledge."""
        return (self.least_s + self.most_s) / 2

    @property
    def is_open(self) -> bool:
        """Whether it depends on what is not known."""
        return self.most_s > self.least_s

    def __add__(self, other: "TimeRange") -> "TimeRange":
        """One after the other: both hang on the same thing that is not known."""
        return TimeRange(least_s=self.least_s + other.least_s, most_s=self.most_s + other.most_s)


def exactly(time_s: float) -> TimeRange:
    """A run time that hangs on nothing unknown."""
    return TimeRange(least_s=time_s, most_s=time_s)


NO_TIME = exactly(0.0)


def run_up_mm(speed_mm_s: float, machine: Machine) -> float:
    """Distance beside a row in which the head reaches the speed: ``v²/2a`` where no jerk limit is given."""
    return speed_mm_s * _ramp_s(speed_mm_s, machine) / 2


def fill_time_s(rows: ScanRows, recipe: Recipe, machine: Machine) -> float:
    """The best figure of ``fill_time_range``. Raises JobError on speed 0 and such."""
    return fill_time_range(rows, recipe, machine).best_s


def fill_time_range(rows: ScanRows, recipe: Recipe, machine: Machine) -> TimeRange:
    """Time to burn all rows, all passes, from the first run-up to the last stop. Raises JobError on speed 0 and such.

    A row takes its length at speed. Between rows the head brakes to rest, steps to the next row and speeds up again,
    and loses the machine's turn-round; where the next row begins further in or out, the difference is run at speed.
    One way, the head flies back instead. Empty rows are stepped over. A gap between spans is crossed at speed; a wide
    one only by a machine that sweeps its rows. One that burns far parts apart parts rows where a stop and a run-up
    are quicker than the gap, and burns the blocks that come of it one after the other. Where the machine's way is not
    known both are worked out. Speeds beyond what the machine can do count as its greatest.
    """
    speed = _speed_mm_s(recipe, machine)
    if not len(rows):
        return NO_TIME
    times = []
    if machine.wide_gaps != "apart":
        times.append(_blocks_time_s(swept_rows(rows), speed, recipe.passes, machine))
    wide_mm = _wide_mm(speed, machine)
    if machine.wide_gaps == "apart" or (machine.wide_gaps == "unknown" and _widest_gap_mm(rows) > wide_mm):
        apart = blocks_apart(rows, wide_mm=wide_mm, both_ways=machine.scans_both_ways)
        times.append(_blocks_time_s(apart, speed, recipe.passes, machine))
    return TimeRange(least_s=min(times), most_s=max(times))


def _wide_mm(speed_mm_s: float, machine: Machine) -> float:
    """The gap from which stopping and starting again is quicker than crossing it."""
    stop_s = 2 * _ramp_s(speed_mm_s, machine) + machine.turn_round_s
    if machine.scans_both_ways:
        return stop_s * speed_mm_s
    back_s = _flight_s(2 * run_up_mm(speed_mm_s, machine), machine)
    return float(stop_s + back_s) / (1 / speed_mm_s + 1 / machine.jump_speed_mm_s)


def _blocks_time_s(blocks: RowBlocks, speed: float, passes: int, machine: Machine) -> float:
    ramp_s = _ramp_s(speed, machine)
    left, right, y = blocks.left_mm, blocks.right_mm, blocks.y_mm
    inside = np.diff(blocks.block) == 0
    steps_s = _jumps_s(np.abs(np.diff(y)), machine)
    if machine.scans_both_ways:
        shift_mm = np.where(blocks.ahead[:-1], np.abs(np.diff(right)), np.abs(np.diff(left)))
        turns_s = np.maximum(2 * ramp_s, steps_s) + shift_mm / speed
    else:
        back_s = _flight_s(np.abs(right[:-1] - left[1:] + 2 * run_up_mm(speed, machine)), machine)
        turns_s = 2 * ramp_s + np.maximum(back_s, steps_s)
    exits = exits_mm(blocks, both_ways=machine.scans_both_ways)
    over_s = _jumps_s(np.hypot(left[1:] - exits[:-1], np.diff(y)), machine) + 2 * ramp_s
    between_s = np.where(inside, turns_s + machine.turn_round_s, over_s)
    one_pass_s = float((right - left).sum()) / speed + float(between_s.sum()) + 2 * ramp_s
    back_to_top_s = jump_time_s(float(y[-1] - y[0]), machine)
    return passes * one_pass_s + (passes - 1) * back_to_top_s


def _ramp_s(speed_mm_s: float, machine: Machine) -> float:
    return float(
        ramp_time_s(speed_mm_s, acceleration_mm_s2=machine.scan_acceleration_mm_s2, jerk_mm_s3=machine.scan_jerk_mm_s3)
    )


def _flight_s(length_mm: ArrayLike, machine: Machine) -> Floats:
    """Time of flying back along a row, beam off."""
    return move_time_s(
        length_mm,
        speed_mm_s=machine.jump_speed_mm_s,
        acceleration_mm_s2=machine.scan_acceleration_mm_s2,
        jerk_mm_s3=machine.scan_jerk_mm_s3,
    )


def _jumps_s(length_mm: ArrayLike, machine: Machine) -> Floats:
    return move_time_s(
        length_mm,
        speed_mm_s=machine.jump_speed_mm_s,
        acceleration_mm_s2=machine.line_acceleration_mm_s2,
        jerk_mm_s3=machine.line_jerk_mm_s3,
    )


def lines_time_s(
    paths: Sequence[Path], recipe: Recipe, machine: Machine, *, start_mm: tuple[float, float] = (0.0, 0.0)
) -> float:
    """Time to burn the paths in the order given, all passes, with the jumps from ``start_mm`` and between subpaths.

    Raises JobError on speed 0 and such.
    """
    speed = _speed_mm_s(recipe, machine)
    path = joined(tuple(paths))
    if not len(path):
        return 0.0
    burn_s = path_time_s(
        path,
        speed_mm_s=speed,
        acceleration_mm_s2=machine.line_acceleration_mm_s2,
        deviation_mm=machine.corner_deviation_mm,
        jerk_mm_s3=machine.line_jerk_mm_s3,
    )
    begins, ends = path.start_points[path.starts], path.end_points[path.stops - 1]
    between_mm = np.hypot(*(begins[1:] - ends[:-1]).T)
    jumps_s = _jumps_s(between_mm, machine)
    (first_x, first_y), (last_x, last_y) = begins[0].tolist(), ends[-1].tolist()
    arrive_s = jump_time_s(distance_mm(start_mm, (first_x, first_y)), machine)
    again_s = jump_time_s(distance_mm((last_x, last_y), (first_x, first_y)), machine)
    return arrive_s + recipe.passes * (burn_s + float(jumps_s.sum())) + (recipe.passes - 1) * again_s


def jump_time_s(length_mm: float, machine: Machine) -> float:
    """Time of a move with the beam off, from rest to rest."""
    return float(_jumps_s(length_mm, machine))


def _speed_mm_s(recipe: Recipe, machine: Machine) -> float:
    for name, value, unit in (
        ("speed", recipe.speed_mm_s, " mm/s"),
        ("greatest speed of the machine", machine.max_speed_mm_s, " mm/s"),
        ("jump speed of the machine", machine.jump_speed_mm_s, " mm/s"),
        ("scan acceleration of the machine", machine.scan_acceleration_mm_s2, " mm/s²"),
        ("line acceleration of the machine", machine.line_acceleration_mm_s2, " mm/s²"),
        ("number of passes", recipe.passes, ""),
    ):
        if not (np.isfinite(value) and value > 0):
            raise JobError(f"A {name} of {value:g}{unit} gives no run time.", hint="Give a number above zero.")
    return min(recipe.speed_mm_s, machine.max_speed_mm_s)


def _widest_gap_mm(rows: ScanRows) -> float:
    same_row = rows.row_index[1:] == rows.row_index[:-1]
    return float((rows.x0_mm[1:] - rows.x1_mm[:-1])[same_row].max(initial=0.0))
