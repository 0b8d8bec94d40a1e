"""Places and pieces looked for off the GUI thread: the best place on a sheet, the pieces of the rack that serve."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import shapely
from PySide6.QtCore import QObject, Signal
from shapely.geometry.base import BaseGeometry

from app.session.background import Background, Ticket, once
from core.errors import TainError
from core.geometry.affine import apply_to_region
from core.job.job import Job
from core.job.plan import Plan
from core.progress import Progress
from core.sheet.placing import PlacingOptions

if TYPE_CHECKING:
    from core.job.copying import Way
    from core.sheet.choosing import Choice
    from core.sheet.copies import Layout
    from core.sheet.offcuts import Piece
    from core.sheet.placing import Footprint, Placed

Tell = Callable[[Any], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Served:
    """A piece of the rack with what it would be for the job. burned: all that is burned, at the best place there."""

    piece: "Piece"
    choice: "Choice"
    burned: BaseGeometry | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidOut:
    """A layout of copies, and all that they burn together, front frame."""

    layout: "Layout"
    burned: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignsLaid:
    """Several jobs on one sheet, and all that they burn together, front frame."""

    jobs: tuple[Job, ...]
    burned: BaseGeometry


class Placing(QObject):
    """One search at a time. busy_changed: a search began or ended. progressed: share done and what is being done.

    faulted: an exception that is a fault of the program.
    """

    busy_changed = Signal()
    progressed = Signal(float, str)
    faulted = Signal(object)
    _told = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background("placing", self)
        self._serial = 0
        self._better: Callable[[Any], None] = lambda value: None
        self._told.connect(self._take_better)
        self._ticket: Ticket | None = None

    @property
    def busy(self) -> bool:
        """Whether a search is under way."""
        return self._ticket is not None

    def do(
        self,
        work: Callable[[Progress, Tell], Any],
        take: Callable[[Any], None],
        failed: Callable[[TainError], None],
        *,
        better: Callable[[Any], None] = lambda value: None,
    ) -> None:
        """Run a search; the one before is given up. Its result goes to ``take``, an error to ``failed``.

        ``work`` gets a progress callback and one that it may tell the best so far, which goes to ``better``.
        """
        self.stop()
        serial = self._serial = self._serial + 1
        self._better = better

        def on_value(value: Any) -> None:
            self._end()
            take(value)

        def on_failed(error: Exception) -> None:
            self._end()
            if isinstance(error, TainError):
                failed(error)
            else:
                self.faulted.emit(error)

        self._ticket = self._background.start(
            once(lambda progress: work(progress, lambda value: self._told.emit(serial, value))),
            on_value=on_value,
            on_failed=on_failed,
            on_progress=self.progressed.emit,
        )
        self.busy_changed.emit()

    def stop(self) -> None:
        """Give the search up."""
        if self._ticket is not None:
            self._ticket.cancel()
            self._end()

    def close(self) -> None:
        """Stop and wait for the thread to end."""
        self.stop()
        self._background.close()

    def _take_better(self, serial: int, value: object) -> None:
        if serial == self._serial and self.busy:
            self._better(value)

    def _end(self) -> None:
        self._ticket = None
        self.busy_changed.emit()


def best_place(plan: Plan, options: PlacingOptions, progress: Progress) -> "Placed":
    """The best place of the plan's job on its own sheet. Raises NoRoomError, JobError."""
    from core.job.fitting import place_job

    return place_job(plan, options, progress=progress)


def burned_at(plan: Plan, placed: "Placed") -> BaseGeometry | None:
    """All that is burned, put at a place that was found, front frame."""
    from core.job.fitting import job_footprint

    return _burned_there(job_footprint(plan), placed)


def pieces_that_serve(
    plan: Plan,
    rack: "tuple[tuple[str, str, Piece], ...]",
    options: PlacingOptions,
    progress: Progress,
    tell: Tell = lambda value: None,
) -> tuple[Served, ...]:
    """The rack's pieces of the job's stock, best first, what does not fit last; told after each. Raises JobError."""
    from core.job.fitting import job_footprint
    from core.progress import part
    from core.sheet.choosing import choices

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
            progress=part(progress, number / len(same), (number + 1) / len(same)),
        ):
            served.append(Served(piece=one[2], choice=choice, burned=_burned_there(footprint, choice.placed)))
        served.sort(key=lambda each: each.choice.rank)
        tell(tuple(served))
    return tuple(served)


def _burned_there(footprint: "Footprint", placed: "Placed | None") -> BaseGeometry | None:
    from core.sheet.placement import placement_matrix

    if placed is None:
        return None
    matrix = placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg)
    return apply_to_region(matrix, footprint.burned)


def copies_laid_out(
    job: Job,
    count: int,
    *,
    way: "Way",
    spacing_mm: float,
    share_cuts: bool,
    options: PlacingOptions,
    progress: Progress,
    tell: Tell,
) -> LaidOut:
    """Copies of the job on its sheet; every layout that beats those before is told. Raises JobError."""
    from core.job.copying import copies_on_sheet, single_plan
    from core.job.fitting import job_footprint
    from core.sheet.copies import Wanted, laid_shapes

    wanted = Wanted(name="", shape=job_footprint(single_plan(job)).burned)

    def laid_out(layout: "Layout") -> LaidOut:
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
    job: Job, paths: tuple[Path, ...], *, spacing_mm: float, options: PlacingOptions, progress: Progress
) -> DesignsLaid:
    """The job and those of the files, nested on its sheet. Raises JobError where one is of another stock."""
    from core.errors import JobError
    from core.job.copying import jobs_on_sheet
    from core.job.fitting import job_footprint
    from core.job.opening import JOB_SUFFIX, open_job
    from core.job.prepare import plan_steps

    jobs = [job]
    for path in paths:
        other = open_job(path)
        if path.suffix.lower() != JOB_SUFFIX:
            other = replace(job, source=other.source, reading=other.reading, overrides=(), repairs=(), repeats=())
        if other.stock.name != job.stock.name:
            raise JobError(f"{path.name} is for {other.stock.name}, this job for {job.stock.name}.")
        jobs.append(replace(other, piece_id=job.piece_id, turn=job.turn, stop_corner=job.stop_corner))
    laid = jobs_on_sheet(jobs, job.sheet, spacing_mm=spacing_mm, options=options, progress=progress)
    burned = []
    for one in laid:
        progress(0.99, "Drawing them")
        plan = next(plan_steps(one))
        burned.append(apply_to_region(plan.drawing_to_front, job_footprint(plan).burned))
    return DesignsLaid(jobs=laid, burned=shapely.union_all(burned))


def same_question(plan: Plan, other: Plan) -> bool:
    """Whether two plans ask for the same best place: they differ at most in where the artwork lies and in ticks."""
    one, two = (replace(one.job, placement=plan.job.placement, cautions_ticked=frozenset()) for one in (plan, other))
    return one == two
