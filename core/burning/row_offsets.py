"""How a machine lays rows otherwise than it is told: a beam that lags, directions that do not meet, whole steps only.

All three are figures of the machine; a coupon of rows against a fixed comb finds the first two.
"""

from dataclasses import replace

import numpy as np

from core.burning.machines import Machine
from core.burning.scan_rows import Floats, ScanRows
from core.sheet.recipes import Recipe


def row_shifts_mm(row_count: int, *, speed_mm_s: float, machine: Machine) -> Floats:
    """How far each row's spans lie along +x from where they are drawn, (row_count,).

    The beam follows the head by the delay, so spans lie further on in the direction of travel; every second row of a
    machine that scans both ways runs towards -x, and lies off by the offset between directions besides.
    """
    lag = speed_mm_s * machine.beam_delay_ms / 1000
    shifts = np.full(row_count, lag)
    if machine.scans_both_ways:
        shifts[1::2] = machine.both_way_offset_mm - lag
    return shifts


def as_laid(rows: ScanRows, recipe: Recipe, machine: Machine) -> ScanRows:
    """The rows where the machine really burns them."""
    shifts = row_shifts_mm(len(rows.row_y_mm), speed_mm_s=recipe.speed_mm_s, machine=machine)
    if not shifts.any():
        return rows
    own = shifts[rows.row_index]
    return replace(rows, x0_mm=rows.x0_mm + own, x1_mm=rows.x1_mm + own)


def held_recipe(recipe: Recipe, machine: Machine) -> Recipe:
    """The recipe with the pitch that the machine really holds: a whole number of its least row steps."""
    step = machine.least_row_step_mm
    if step <= 0:
        return recipe
    return replace(recipe, pitch_mm=max(1, round(recipe.pitch_mm / step)) * step)
