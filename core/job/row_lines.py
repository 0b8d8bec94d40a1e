"""The scan rows themselves as lines, for machines that take them: first row, phase and shift are then ours."""

import numpy as np

from core.burning.row_offsets import held_recipe, row_shifts_mm
from core.burning.scan_rows import Floats
from core.geometry.affine import apply, compose
from core.job.job import Job
from core.job.plan import LayerPlan
from core.sheet.faces import turn_matrix


def hands_over_rows(planned: LayerPlan) -> bool:
    """Whether the layer is handed over as its rows and not as outlines."""
    return planned.layer.purpose == "fill" and planned.layer.recipe.hands_over == "rows"


def row_lines_mm(planned: LayerPlan, job: Job) -> Floats:
    """Ends of the lines that a layer of rows hands over, front frame, (n, 2, 2), row by row in burn order.

    Rows run to and fro where the machine scans both ways. Each lies back by what the machine will shift it on, so that
    what is burned lies where it is drawn. Raises nothing; a layer without rows has none.
    """
    rows = planned.rows
    if rows is None or not len(rows):
        return np.zeros((0, 2, 2))
    speed_mm_s = held_recipe(planned.layer.recipe, job.machine).speed_mm_s
    shift = row_shifts_mm(len(rows.row_y_mm), speed_mm_s=speed_mm_s, machine=job.machine)[rows.row_index]
    y = rows.row_y_mm[rows.row_index]
    ends = np.stack([np.column_stack([rows.x0_mm - shift, y]), np.column_stack([rows.x1_mm - shift, y])], axis=1)
    if job.machine.scans_both_ways:
        ends = _to_and_fro(ends, rows.row_index)
    to_front = compose(turn_matrix(job.turn, job.sheet), rows.to_bed)
    return apply(to_front, ends.reshape(-1, 2)).reshape(-1, 2, 2)


def _to_and_fro(ends: Floats, row: np.ndarray) -> Floats:
    """Every second row from its far end: its spans in turn, each reversed."""
    back = row % 2 == 1
    order = np.lexsort((np.where(back, -ends[:, 0, 0], ends[:, 0, 0]), row))
    ends = ends[order]
    back = back[order]
    ends[back] = ends[back, ::-1]
    return ends
