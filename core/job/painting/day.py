"""When a job is burned, masked, painted, cured: alone, or several jobs that share hands and machine."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.finishing.bench_work import Chain, Link
from core.finishing.paints import Workday
from core.finishing.steps import PaintPlan
from core.finishing.timetable import BurnTimes, Timetable, chain_of, step_notes, timetable, timetable_of
from core.job.painting.burning import BurnPlan, burn_plan
from core.job.painting.offers import PUT_BACK_MIN
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.progress import Progress, part, silent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DayJob:
    """A job on a day's plan, by a name that tells it from the others."""

    name: str
    plan: Plan


def stage_burns(plan: Plan, painting: PaintPlan) -> BurnPlan | None:
    """The burns where there are several, or where the cut comes last; None where all is one burn.

    Raises JobError where the datum has no place.
    """
    if not painting.steps or plan.datum is None or (painting.burns < 2 and not plan.datum.places):
        return None
    return burn_plan(plan, painting)


def burn_times(plan: Plan, burning: BurnPlan | None) -> BurnTimes:
    """Minutes of the machine for one piece. Of a plan that is not complete, lines take no time yet."""
    if burning is None:
        return BurnTimes(burns_min=(plan.time_s / 60,), put_back_min=PUT_BACK_MIN)
    lines_min = math.fsum(layer.time_s for layer in plan.layers if layer.layer.purpose in ("cut", "score")) / 60
    marks_min = math.fsum(layer.time_s for layer in plan.datum_layers) / 60
    burns_min = [burn.time_range.best_s / 60 for burn in burning.burns]
    cut_last = plan.datum is not None and plan.datum.kind != "part edge"
    burns_min[0] += marks_min + (0.0 if cut_last else lines_min)
    return BurnTimes(
        burns_min=tuple(burns_min), cut_min=lines_min if cut_last else None, put_back_min=PUT_BACK_MIN
    )  # fmt: skip


def job_timetable(plan: Plan, painting: PaintPlan, burning: BurnPlan | None) -> Timetable:
    """The timetable of one job, from the end of its first burn. Raises UnreadableError."""
    burns = burn_times(plan, burning) if burning is not None else None
    return timetable(painting.steps, plan.job.finishing, burns=burns)


def day_plan(jobs: Sequence[DayJob], day: Workday, *, progress: Progress = silent) -> Timetable:
    """One plan for several jobs, first burns too; hours and hands' times are those of ``day``.

    Plans should be complete, since burns take no time in others. Raises JobError, UnreadableError, Cancelled.
    """
    chains, notes = [], []
    for number, job in enumerate(jobs):
        share = part(progress, number / len(jobs), (number + 1) / len(jobs))
        painting = paint_plan(job.plan, progress=share)
        finishing = job.plan.job.finishing
        paints = {paint.name: paint for paint in finishing.paints}
        times = burn_times(job.plan, stage_burns(job.plan, painting))
        links: tuple[Link, ...] = chain_of(painting.steps, day, paints, times, first_burn=True)
        chains.append(Chain(links=links, pieces=finishing.pieces, job=job.name))
        notes += [f"{job.name}: {note}" for note in step_notes(painting.steps)]
    return timetable_of(chains, day, notes=notes)
