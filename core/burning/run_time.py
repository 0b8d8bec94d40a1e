"""How long a layer runs: scan rows with their run-ups and turns, lines with corners, jumps between them.

Times are those of ideal axes; a machine's own acceleration, turn-round and overhead are learned from timed jobs.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.burning.machines import Machine
from core.burning.motion import distance_mm, move_time_s, path_time_s
from core.burning.scan_rows import ScanRows
from core.errors import JobError
from core.geometry.path import Path, joined
from core.sheet.recipes import Recipe

Floats = NDArray[np.float64]


def run_up_mm(speed_mm_s: float, machine: Machine) -> float:
    """Distance beside a row in which the head reaches the speed, ``v²/2a``."""
    return speed_mm_s**2 / (2 * machine.scan_acceleration_mm_s2)


def fill_time_s(rows: ScanRows, recipe: Recipe, machine: Machine) -> float:
    """Time to burn all rows, all passes, from the first run-up to the last stop. Raises JobError on speed 0 and such.

    A row takes its length at speed. Between rows the head brakes, steps to the next row and speeds up again, ``2v/a``
    or the step itself if that takes longer, and loses the machine's turn-round; where the next row begins further in
    or out, the difference is run at speed. One way, the head flies back instead. A gap between spans of a row is
    crossed at speed, or, where that is quicker, the far part is burned apart, which costs it a stop and a run-up of
    its own. Empty rows are stepped over. Speeds beyond what the machine can do count as its greatest.
    """
    speed = _speed_mm_s(recipe, machine)
    starts, stops = rows.row_starts[:-1], rows.row_starts[1:]
    used = np.flatnonzero(stops > starts)
    if not len(used):
        return 0.0
    ramp_s = speed / machine.scan_acceleration_mm_s2
    left, right = rows.x0_mm[starts[used]], rows.x1_mm[stops[used] - 1]
    gaps_s, apart = _gaps(rows, speed, 2 * ramp_s + machine.turn_round_s)
    lit_s = rows.length_mm / speed
    steps_s = move_time_s(
        np.diff(rows.row_y_mm[used]),
        speed_mm_s=machine.jump_speed_mm_s,
        acceleration_mm_s2=machine.line_acceleration_mm_s2,
    )
    if machine.scans_both_ways:
        shift_mm = np.where(np.arange(len(used) - 1) % 2 == 0, np.abs(np.diff(right)), np.abs(np.diff(left)))
        turns_s = np.maximum(2 * ramp_s, steps_s) + shift_mm / speed
    else:
        back_s = move_time_s(
            np.abs(right[:-1] - left[1:] + 2 * run_up_mm(speed, machine)),
            speed_mm_s=machine.jump_speed_mm_s,
            acceleration_mm_s2=machine.scan_acceleration_mm_s2,
        )
        turns_s = 2 * ramp_s + np.maximum(back_s, steps_s)
    one_pass_s = lit_s + gaps_s + float(turns_s.sum()) + 2 * ramp_s + machine.turn_round_s * (len(used) - 1)
    one_pass_s += apart * jump_time_s(_widest_gap_mm(rows), machine)
    back_to_top_s = jump_time_s(float(rows.row_y_mm[used[-1]] - rows.row_y_mm[used[0]]), machine)
    return recipe.passes * one_pass_s + (recipe.passes - 1) * back_to_top_s


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
    )
    begins, ends = path.start_points[path.starts], path.end_points[path.stops - 1]
    between_mm = np.hypot(*(begins[1:] - ends[:-1]).T)
    jumps_s = move_time_s(
        between_mm, speed_mm_s=machine.jump_speed_mm_s, acceleration_mm_s2=machine.line_acceleration_mm_s2
    )
    (first_x, first_y), (last_x, last_y) = begins[0].tolist(), ends[-1].tolist()
    arrive_s = jump_time_s(distance_mm(start_mm, (first_x, first_y)), machine)
    again_s = jump_time_s(distance_mm((last_x, last_y), (first_x, first_y)), machine)
    return arrive_s + recipe.passes * (burn_s + float(jumps_s.sum())) + (recipe.passes - 1) * again_s


def jump_time_s(length_mm: float, machine: Machine) -> float:
    """Time of a move with the beam off, from rest to rest."""
    return float(
        move_time_s(length_mm, speed_mm_s=machine.jump_speed_mm_s, acceleration_mm_s2=machine.line_acceleration_mm_s2)
    )


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


def _gaps_mm(rows: ScanRows) -> tuple[Floats, NDArray[np.intp]]:
    """Gaps between neighbouring spans of a row, and their rows."""
    same_row = rows.row_index[1:] == rows.row_index[:-1]
    return (rows.x0_mm[1:] - rows.x1_mm[:-1])[same_row], rows.row_index[1:][same_row]


def _gaps(rows: ScanRows, speed_mm_s: float, apart_s: float) -> tuple[float, int]:
    """Time lost on gaps, and how often the head goes over to a part that is burned apart."""
    gaps_mm, row = _gaps_mm(rows)
    apart = gaps_mm / speed_mm_s > apart_s
    parts_in_row = np.bincount(row[apart], minlength=len(rows.row_y_mm))
    parts_begun = np.maximum(np.diff(parts_in_row, prepend=0), 0).sum()
    return float(np.minimum(gaps_mm / speed_mm_s, apart_s).sum()), int(parts_begun)


def _widest_gap_mm(rows: ScanRows) -> float:
    return float(_gaps_mm(rows)[0].max(initial=0.0))
