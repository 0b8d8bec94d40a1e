"""The one place that holds the work: its history, the plan the job comes to, the selection.

The work is an Order; one of which nothing is decided but its design is a job like any other.

Pages show what is here and send whole new jobs; they hold no data. Only this module and the view widgets emit signals.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, Question
from app.session.log import steps
from core.errors import TainError
from core.findings import Finding
from core.job.job import Job, new_job
from core.order.history import History, new_history
from core.order.order import Order, with_design
from core.progress import Progress

if TYPE_CHECKING:
    from core.job.plan import Plan
    from core.output.proof import ReadBack

Derive = Callable[[Job, Progress], "Iterator[Plan]"]


def derive(job: Job, progress: Progress) -> Iterator["Plan"]:
    """The plans a job comes to, the complete one last."""
    from core.job.prepare import plan_steps
    from core.shop_book.speaking_up import with_cautions_spoken

    for plan in plan_steps(job, progress=progress):
        yield with_cautions_spoken(plan) if plan.complete else plan


class Session(QObject):
    """Job, history, plan and selection of one window.

    job_changed: another job stands in ``job``. order_changed: another order in ``order``. plan_changed: ``plan`` or
    ``error`` changed. progressed: share done and what is being done. busy_changed: work began or ended.
    selection_changed. file_changed: path or the modified mark.
    """

    job_changed = Signal()
    order_changed = Signal()
    plan_changed = Signal()
    progressed = Signal(float, str)
    busy_changed = Signal()
    selection_changed = Signal()
    file_changed = Signal()

    def __init__(self, parent: QObject | None = None, *, derive: Derive = derive) -> None:
        super().__init__(parent)
        self._derive = derive
        self._question = Question(Background("plan", self))
        self._question.busy_changed.connect(self.busy_changed)
        self._question.progressed.connect(self._take_progress)
        self._history = new_history(Order(design=new_job()))
        self._saved = self._history.order
        self._selection: frozenset[str] = frozenset()
        self._exported_job: Job | None = None
        self._read_back: ReadBack | None = None
        self._waiting: list[Callable[[Plan], None]] = []
        self._looked_at: set[tuple[str, str]] = set()
        self._painting: tuple[Job, tuple[Finding, ...]] | None = None
        self.plan: Plan | None = None
        self.error: TainError | None = None
        self.path: Path | None = None
        self.doing = ""

    # --- the work ------------------------------------------------------------------------------------------------

    @property
    def order(self) -> Order:
        """The present work: the job with what is decided about many parts of it."""
        return self._history.order

    @property
    def job(self) -> Job:
        """The present job; of an order the design."""
        return self._history.job

    @property
    def history(self) -> History:
        """The present job with what can be undone and redone."""
        return self._history

    @property
    def undo_label(self) -> str | None:
        """What undo takes back, in words."""
        return self._history.undo_label

    @property
    def redo_label(self) -> str | None:
        """What redo brings back, in words."""
        return self._history.redo_label

    @property
    def modified(self) -> bool:
        """Whether the work differs from what was last saved or opened."""
        return self.order != self._saved

    @property
    def handed_over(self) -> bool:
        """Whether just this job was exported."""
        return self._exported_job == self.job

    def begin(self, work: Job | Order, *, path: Path | None = None, unsaved: bool = False) -> None:
        """Start over with a job or an order: history, selection and plan of the old one are gone.

        ``path`` is the file it came from; ``unsaved`` says that it holds decisions which are in no file.
        """
        order = work if isinstance(work, Order) else Order(design=work)
        self.begin_again(new_history(order), path=path, unsaved=unsaved)

    def begin_again(self, history: History, *, path: Path | None = None, unsaved: bool = False) -> None:
        """The same with what can be undone, as it was left behind."""
        self._history = history
        self._saved = Order(design=new_job()) if unsaved else history.order
        self._exported_job = None
        self._waiting = []
        self._looked_at = set()
        self._painting = None
        self.path = path
        self.plan = None
        self.select(())
        self._work_became_another(job_too=True)

    def commit(self, job: Job, label: str, *, merge_key: str | None = None) -> None:
        """Make this the present job; ``label`` names the change for undo. Runs with one merge key are one step."""
        self.commit_order(with_design(self.order, job), label, merge_key=merge_key)

    def commit_order(self, order: Order, label: str, *, merge_key: str | None = None) -> None:
        """Make this the present work; as ``commit``."""
        history = self._history.committed(order, label, merge_key=merge_key)
        if history is not self._history:
            if len(history.steps) != len(self._history.steps) or history.at != self._history.at:
                steps.info("%s", label)
            self._put(history)

    def undo(self) -> None:
        """Take the last change back."""
        self._step_to(self._history.undone())

    def redo(self) -> None:
        """Bring back what undo took."""
        self._step_to(self._history.redone())

    def mark_saved(self, order: Order, path: Path) -> None:
        """The file at ``path`` now holds this."""
        self._saved = order
        self.path = path
        self.file_changed.emit()

    @property
    def read_back(self) -> "ReadBack | None":
        """How the last file of just this job compared with its plan when it was read back."""
        return self._read_back if self.handed_over else None

    def mark_handed_over(self, job: Job, read_back: "ReadBack | None" = None) -> None:
        """This job was exported, and its file read back."""
        self._exported_job, self._read_back = job, read_back
        self.plan_changed.emit()

    def _step_to(self, history: History) -> None:
        if history.order is not self.order:
            steps.info("Undo or redo, to step %d", history.at)
            self._put(history)

    def _put(self, history: History) -> None:
        before, self._history = self.job, history
        self._work_became_another(job_too=history.job is not before)

    def _work_became_another(self, *, job_too: bool) -> None:
        if job_too:
            self.job_changed.emit()
        self.order_changed.emit()
        self.file_changed.emit()
        if job_too:
            self.work_out()

    # --- the plan ------------------------------------------------------------------------------------------------

    @property
    def current(self) -> bool:
        """Whether the plan is the present job's, complete or not."""
        return self.plan is not None and self.plan.job is self.job

    @property
    def complete(self) -> bool:
        """Whether the plan is the present job's and nothing of it is missing."""
        return self.plan is not None and self.plan.job is self.job and self.plan.complete

    @property
    def busy(self) -> bool:
        """Whether the plan is being worked out; the worker that has given a complete one has only its end to tell."""
        return self._question.busy and not self.complete

    @property
    def stopped(self) -> bool:
        """Whether the plan is neither there nor on its way because the maker stopped it."""
        return self.job.source is not None and not self.busy and not self.complete and self.error is None

    def when_current(self, act: Callable[["Plan"], None]) -> None:
        """Act on the present job's plan: at once, or as soon as it is there. Dropped when there will be none."""
        if self.plan is not None and self.plan.job is self.job:
            act(self.plan)
        elif self.busy:
            self._waiting.append(act)

    def work_out(self) -> None:
        """Derive the plan of the present job; what runs for an older one is cancelled."""
        self.stop()
        self.error = None
        job = self.job
        if job.source is None:
            self.plan = None
            self.plan_changed.emit()
            return
        if self.plan is not None and self.plan.complete and _differ_in_ticks_only(job, self.plan.job):
            self.plan = replace(self.plan, job=job)
            self.plan_changed.emit()
            return
        self.doing = "Working out the job"
        self._question.ask(lambda progress: self._derive(job, progress), self._take_plan, self._take_failure)

    def stop(self) -> None:
        """Cancel what is being worked out. The old plan stays in view; ``current`` tells that it is old."""
        self._question.stop()

    def _take_plan(self, plan: "Plan") -> None:
        self.plan = plan
        known = {shape.id for shape in plan.drawing.shapes}
        if not self._selection <= known:
            self.select(self._selection & known)
        self.plan_changed.emit()
        while self._waiting and self.current:
            self._waiting.pop(0)(plan)

    def _take_failure(self, error: TainError) -> None:
        self._waiting = []
        self.error = error
        self.plan = None
        self.plan_changed.emit()

    def _take_progress(self, share: float, doing: str) -> None:
        self.doing = doing
        self.progressed.emit(share, doing)

    def look_at(self, findings: Iterable[Finding]) -> None:
        """The maker has seen these findings and goes on all the same. Not kept: another day wants another look."""
        self._looked_at |= {(finding.code, finding.message) for finding in findings}
        self.plan_changed.emit()

    def was_looked_at(self, finding: Finding) -> bool:
        """Whether the maker went on past this finding."""
        return (finding.code, finding.message) in self._looked_at

    @property
    def paint_findings(self) -> tuple[Finding, ...] | None:
        """What painting the present job came to; None while that is not worked out."""
        return self._painting[1] if self._painting is not None and self._painting[0] == self.job else None

    def note_painting(self, job: Job, findings: tuple[Finding, ...]) -> None:
        """Painting this job was worked out, and this was found."""
        if self._painting != (job, findings):
            self._painting = (job, findings)
            self.plan_changed.emit()

    # --- the selection -------------------------------------------------------------------------------------------

    @property
    def selection(self) -> frozenset[str]:
        """Ids of the shapes that are selected."""
        return self._selection

    def select(self, shape_ids: Iterable[str]) -> None:
        """Select just these shapes."""
        chosen = frozenset(shape_ids)
        if chosen != self._selection:
            self._selection = chosen
            self.selection_changed.emit()


def _differ_in_ticks_only(job: Job, other: Job) -> bool:
    """Whether two jobs come to the same plan because only cautions were ticked."""
    return job is not other and replace(job, cautions_ticked=other.cautions_ticked) == other
