"""The paint plan of the session's plan, worked out off the GUI thread while somebody looks."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, Question, once
from core.errors import TainError
from core.finishing.steps import PaintPlan
from core.finishing.timetable import Timetable
from core.job.painting.bench import BenchStep, bench_steps
from core.job.painting.burning import BurnPlan
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.progress import Progress


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Painted:
    """A plan with all that finishing it comes to.

    burning: its burns, None where it is all done in one or can't be. bench: all that is done, step by step.
    """

    plan: Plan
    painting: PaintPlan
    table: Timetable
    burning: BurnPlan | None = None
    bench: tuple[BenchStep, ...] = ()


class Painting(QObject):
    """Holds what was worked out last.

    changed: ``painted``, ``error``, ``busy`` or ``stopped`` changed. progressed: how far it is.
    """

    changed = Signal()
    progressed = Signal(float, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background("paint", self)
        self._question = Question(self._background, self)
        self._question.busy_changed.connect(self.changed)
        self._question.progressed.connect(self.progressed)
        self.making = Question(self._background, self)
        """What is made of it and may be given up."""
        self._wanted: Plan | None = None
        self._stopped_at: Plan | None = None
        self.painted: Painted | None = None
        self.error: TainError | None = None

    @property
    def busy(self) -> bool:
        """Whether it is being worked out."""
        return self._question.busy

    @property
    def stopped(self) -> bool:
        """Whether it was stopped before it was worked out."""
        return self._stopped_at is not None

    def follow(self, plan: Plan | None) -> None:
        """Want this plan's paint, unless the same was stopped."""
        if plan is None or self._stopped_at is None or not _same_for_painting(plan, self._stopped_at):
            self.want(plan)

    def want(self, plan: Plan | None) -> None:
        """Work this plan's paint out, unless that is done or under way; what runs for another is cancelled."""
        self._stopped_at = None
        if plan is self._wanted:
            return
        if plan is not None and self._wanted is not None and self._stands_for(plan, self._wanted):
            self._take_over(plan)
            return
        self._wanted = plan  # before anybody is told: who hears wants it too
        if plan is None:
            self.painted, self.error = None, None
            self._question.stop()
        else:
            self._ask(plan)
        self.changed.emit()

    def do(
        self, work: Callable[[Progress], Any], take: Callable[[Any], None], failed: Callable[[TainError], None]
    ) -> None:
        """Run work on the same thread and hand its result to ``take``; errors meant for the maker go to ``failed``."""
        self._background.start(once(work), on_value=take, on_failed=failed)

    def make(
        self, work: Callable[[Progress], Any], take: Callable[[Any], None], failed: Callable[[TainError], None]
    ) -> None:
        """The same for what may be given up: ``making`` tells how far it is and stops it."""
        self.making.ask_once(work, take, failed)

    def stop(self) -> None:
        """Cancel what runs; it is not worked out before another plan comes or ``forget_stop``."""
        if self.busy:
            self._stopped_at, self._wanted = self._wanted, None
            self._question.stop()

    def forget_stop(self) -> None:
        """What was stopped may be worked out again."""
        if self.stopped:
            self._stopped_at = None
            self.changed.emit()

    def _ask(self, plan: Plan) -> None:
        self._question.ask(once(lambda progress: work_out(plan, progress)), self._take, self._take_failure)

    def _stands_for(self, plan: Plan, wanted: Plan) -> bool:
        """Whether what is known, or on its way, of one plan is so of another."""
        known = self.painted if self.painted is not None and self.painted.plan is wanted else None
        return _same_for_painting(plan, wanted) and not (known is not None and _goes_by_times(known, plan))

    def _take_over(self, plan: Plan) -> None:
        """The same but for coverage and times: what is known of it stands; of another plan that stays as it is."""
        known, wanted, self._wanted = self.painted, self._wanted, plan
        if known is not None and known.plan is wanted:
            self.painted = replace(known, plan=plan)
            self.changed.emit()

    def _take(self, painted: Painted) -> None:
        wanted = self._wanted
        assert wanted is not None, "whoever wants nothing more stops the question"
        self.painted, self.error = painted, None
        if _goes_by_times(painted, wanted):  # the complete plan came while this was worked out
            self._ask(wanted)
        else:
            self.painted = replace(painted, plan=wanted)

    def _take_failure(self, error: TainError) -> None:
        self.painted, self.error = None, error
        self.changed.emit()


def work_out(plan: Plan, progress: Progress) -> Painted:
    """Paint plan and timetable. Raises TainError (loaded when first needed, since it brings more of the core)."""
    from core.job.painting.day import job_timetable, stage_burns

    painting = paint_plan(plan, progress=progress)
    burning = stage_burns(plan, painting)
    table = job_timetable(plan, painting, burning)
    steps = bench_steps(plan, painting, burning, table)
    return Painted(plan=plan, painting=painting, table=table, burning=burning, bench=steps)


def _same_for_painting(plan: Plan, other: Plan) -> bool:
    """Whether two plans differ in nothing that paint depends on (the complete plan follows one without coverage)."""
    same = plan.job is other.job or plan.job == other.job
    return same and plan.drawing is other.drawing and plan.drawing_to_front == other.drawing_to_front


def _goes_by_times(painted: Painted, plan: Plan) -> bool:
    """Whether burns make it another with this plan: the time of a cut that comes last is known late."""
    return painted.burning is not None and plan.complete != painted.plan.complete
