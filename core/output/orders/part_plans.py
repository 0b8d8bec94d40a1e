"""A single part as a plan of its own: the piece that the customer is shown."""

from dataclasses import replace

from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.order.order import LaidSheet, PartPlace
from core.order.sheet_jobs import body_box_mm, sheet_job
from core.order.working_out import FilledOrder
from core.sheet.placement import Sheet

_ROUND_MM = 5.0


def part_job(filled: FilledOrder, number: int) -> Job:
    """The job of one part, on a sheet just large enough."""
    x0, y0, x1, y1 = body_box_mm(filled.filled[number])
    sheet = Sheet(
        width_mm=x1 - x0 + 2 * _ROUND_MM,
        height_mm=y1 - y0 + 2 * _ROUND_MM,
        thickness_mm=filled.order.design.sheet.thickness_mm,
    )
    place = PartPlace(part=number, x_mm=_ROUND_MM - x0, y_mm=_ROUND_MM - y0)
    order = replace(filled.order, marks=False)
    laid = LaidSheet(sheet=sheet, places=(place,))
    return sheet_job(order, laid, filled.parts, filled.filled, box_mm=(x0, y0, x1, y1), name=f"part {number}")


def part_plan(filled: FilledOrder, number: int) -> Plan:
    """Its geometry. Raises as ``plan_steps`` does."""
    return next(plan_steps(part_job(filled, number)))
