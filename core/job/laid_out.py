"""What can be had on a sheet or the rack, ready to be shown: pieces that serve, copies, several designs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError
from core.geometry.affine import apply_to_region
from core.job.copying import Way, copies_on_sheet, jobs_on_sheet, single_plan
from core.job.fitting import job_footprint
from core.job.job import Job
from core.job.on_bed import closed_on
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.progress import Progress, part
from core.sheet.choosing import Choice, choices
from core.sheet.copies import Layout, Wanted, laid_shapes
from core.sheet.ground import Footprint, Placed, PlacingOptions
from core.sheet.offcuts import Piece
from core.sheet.placement import placement_matrix

Tell = Callable[[Any], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Served:
    """A piece of the rack with what it would be for the job. burned: all that is burned, at the best place there."""

    piece: Piece
    choice: Choice
    burned: BaseGeometry | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidOut:
    """A layout of copies, and all that they burn together, front frame."""

    layout: Layout
    burned: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignsLaid:
    """Several jobs on one sheet, and all that they burn together, front frame."""

    jobs: tuple[Job, ...]
    burned: BaseGeometry


def burned_at(plan: Plan, placed: Placed) -> BaseGeometry | None:
    """All that is burned, put at a place that was found, front frame."""

    return _burned_there(job_footprint(plan), placed)


def pieces_that_serve(
    plan: Plan,
    rack: tuple[tuple[str, str, Piece], ...],
    options: PlacingOptions,
    progress: Progress,
    tell: Tell = lambda value: None,
) -> tuple[Served, ...]:
    """The rack's pieces of the job's stock, best first, what does not fit last; told after each. Raises JobError."""

    footprint, stock = job_footprint(plan), plan.job.stock
    same = [one for one in rack if one[2].stock == stock.name]
    served: list[Served] = []
    for number, one in enumerate(same):
        for choice in choices(
            [one],
            footprint,
            stock=stock.name,
            thickness_mm=stock.thickness_mm,
            options=options,
            has_coat=bool(stock.coat),
            closed_on=closed_on(plan.job),
            progress=part(progress, number / len(same), (number + 1) / len(same)),
        ):
            served.append(Served(piece=one[2], choice=choice, burned=_burned_there(footprint, choice.placed)))
        served.sort(key=lambda each: each.choice.rank)
        tell(tuple(served))
    return tuple(served)


def _burned_there(footprint: Footprint, placed: Placed | None) -> BaseGeometry | None:

    if placed is None:
        return None
    matrix = placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg)
    return apply_to_region(matrix, footprint.burned)


def copies_laid_out(
    job: Job,
    count: int,
    *,
    way: Way,
    spacing_mm: float,
    share_cuts: bool,
    options: PlacingOptions,
    progress: Progress,
    tell: Tell,
) -> LaidOut:
    """Copies of the job on its sheet; every layout that beats those before is told. Raises JobError."""

    wanted = Wanted(name="", shape=job_footprint(single_plan(job)).burned)

    def laid_out(layout: Layout) -> LaidOut:
        return LaidOut(layout=layout, burned=shapely.union_all(laid_shapes(layout, [wanted])))

    layout = copies_on_sheet(
        job,
        count,
        way=way,
        spacing_mm=spacing_mm,
        share_cuts=share_cuts,
        options=options,
        better=lambda layout: tell(laid_out(layout)),
        progress=progress,
    )
    return laid_out(layout)


def designs_laid_out(
    job: Job, others: Sequence[tuple[str, Job]], *, spacing_mm: float, options: PlacingOptions, progress: Progress
) -> DesignsLaid:
    """The job and others, by name, nested on its sheet. Raises JobError where one is of another stock."""
    jobs = [job]
    for name, other in others:
        if other.stock.name != job.stock.name:
            raise JobError(f"{name} is for {other.stock.name}, this job for {job.stock.name}.")
        jobs.append(replace(other, piece_id=job.piece_id, turn=job.turn, stop_corner=job.stop_corner))
    laid = jobs_on_sheet(jobs, job.sheet, spacing_mm=spacing_mm, options=options, progress=progress)
    burned = []
    for one in laid:
        progress(0.99, "Drawing them")
        plan = next(plan_steps(one))
        burned.append(apply_to_region(plan.drawing_to_front, job_footprint(plan).burned))
    return DesignsLaid(jobs=laid, burned=shapely.union_all(burned))


def with_artwork_of(job: Job, other: Job) -> Job:
    """The job's settings for another job's artwork, as its reader took it."""
    return replace(job, source=other.source, reading=other.reading, overrides=(), repairs=(), repeats=())


def same_question(plan: Plan, other: Plan) -> bool:
    """Whether two plans ask for the same best place: they differ at most in where the artwork lies and in ticks."""
    one, two = (replace(one.job, placement=plan.job.placement, cautions_ticked=frozenset()) for one in (plan, other))
    return one == two
