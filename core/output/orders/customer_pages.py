"""What a customer is shown and offered, of one job or an order alike."""

from collections.abc import Mapping

from core.job.costs.cost import Cost, job_cost
from core.job.costs.rates import Rates
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.order.order import Order
from core.order.working_out import fill_order, work_out
from core.output.orders.proof_page import Shown, material_words, shown_job, shown_order
from core.output.orders.reckoning import reckoned
from core.progress import Progress, silent
from core.sheet.offcuts import Piece


def shown_work(order: Order, *, progress: Progress = silent) -> Shown:
    """What its proof shows. Raises JobError, UnreadableError, Cancelled."""
    if order.is_job:
        return shown_job(next(plan_steps(order.design, progress=progress)))
    return shown_order(fill_order(order, progress=progress))


def work_cost(
    order: Order, rates: Rates, pieces: Mapping[str, Piece], *, plan: Plan | None = None, progress: Progress = silent
) -> Cost:
    """What it costs, an order as it is laid. pieces: of the rack, by id; plan: of the job, where it is worked out.

    Raises JobError, UnreadableError, Cancelled.
    """
    if not order.is_job:
        worked = work_out(order, pieces=pieces, lay_anew=False, progress=progress)
        return reckoned(worked, rates, pieces).whole.cost
    whole = plan if plan is not None and plan.complete else prepare(order.design, progress=progress)
    return job_cost(whole, rates, piece=pieces.get(order.design.piece_id), painting=paint_plan(whole))


def offered_words(order: Order) -> str:
    """What is offered, until somebody writes it better."""
    design = order.design
    name = (design.source.name.rpartition(".")[0] or design.source.name) if design.source else "Job"
    return f"{name}, {material_words(design)}"
