"""Opening, saving and handing over, with the questions that belong to them. Disk work runs off the GUI thread."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.errands.opened import JOB_SUFFIX, Opened, opened
from app.qt.captions import filled
from app.session.background import Background, Question, once
from app.session.log import steps
from app.session.recovery import Leftover, load_leftover
from app.session.samples import sample_files
from app.session.session import Session
from app.session.settings import Settings
from app.widgets import messages
from app.widgets.messages import Answer
from core.artwork.picture_decisions import Way
from core.artwork.sources import READABLE_SUFFIXES
from core.errors import TainError
from core.job.job import Job
from core.order.history import History
from core.progress import Progress

if TYPE_CHECKING:
    from core.artwork.drawing import Drawing
    from core.job.plan import Plan
    from core.job.rereading import Reread
    from core.order.order import Order
    from core.output.proof import ReadBack

ARTWORK_FILTER = f"Artwork ({' '.join('*' + suffix for suffix in READABLE_SUFFIXES)})"
OPEN_FILTERS = (
    f"Artwork and jobs ({' '.join('*' + suffix for suffix in (*READABLE_SUFFIXES, JOB_SUFFIX))})"
    f";;{ARTWORK_FILTER};;Tain jobs (*{JOB_SUFFIX});;All files (*)"
)
SAVE_FILTERS = f"Tain jobs (*{JOB_SUFFIX})"
EXPORT_FILTERS = {".svg": "SVG (*.svg)", ".dxf": "DXF (*.dxf)", JOB_SUFFIX: SAVE_FILTERS}


@dataclass(frozen=True, slots=True)
class _Waiting:
    """What begins once something is written; writes: whether it writes a file itself."""

    run: Callable[[], None]
    writes: bool


class Files(QObject):
    """Says what became of files.

    busy_changed: one is being read or written. saved, exported: path. recovered: the leftover. failed: (title, error).
    without_book: the error that kept a new job from what the shop book has learned. replaced: (path, what became of
    the shapes). order_opened: an order of many parts, once its design is the present job.
    """

    replaced = Signal(object, str)
    busy_changed = Signal()
    progressed = Signal(float, str)
    saved = Signal(object)
    exported = Signal(object)
    recovered = Signal(object)
    failed = Signal(str, object)
    without_book = Signal(object)
    order_opened = Signal(object)

    def __init__(self, session: Session, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._window = session, settings, window
        self._question = Question(Background("files", self, finishes=True))
        self._next: list[_Waiting] = []
        self._once_written: Callable[[], object] | None = None
        self._writes = False
        self._question.busy_changed.connect(self._begin_next)  # before others look whether it is busy
        self._question.busy_changed.connect(self.busy_changed)
        self._question.progressed.connect(self.progressed)
        self._settled: Order | None = None
        self.artwork_path: Path | None = None
        self.doing = ""

    @property
    def busy(self) -> bool:
        """Whether a file is being read or written."""
        return self._question.busy

    @property
    def writing(self) -> bool:
        """Whether a file is being written, or is to be once what is being read is there."""
        return self.busy and (self._writes or any(waiting.writes for waiting in self._next))

    def once_written(self, go_on: Callable[[], object]) -> None:
        """Go on once all that is being written stands; not at all where one fails or is given up, which is told."""
        self._once_written = go_on
        self._go_on_written()

    # --- opening -------------------------------------------------------------------------------------------------

    def ask_open(self) -> None:
        """Ask for a file and open it."""
        path = messages.open_file(
            self._window, "Open artwork or a job", folder=self._settings.get("folder"), filters=OPEN_FILTERS
        )
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Open artwork, a job or an exported file; asks first what to do with unsaved changes."""
        self.once_settled(lambda: self._read(path, self._begin))

    def ask_replace(self) -> None:
        """Ask for artwork and put it in the present job in place of what is there."""
        path = messages.open_file(
            self._window, "Put other artwork in this job", folder=self._settings.get("folder"), filters=ARTWORK_FILTER
        )
        if path is not None:
            self._read(path, self._replace)

    def stop(self) -> None:
        """Give up what is read or written, and what waits for it."""
        self._next.clear()
        self._once_written = None
        self._question.stop()

    def _read(self, path: Path, take: Callable[[Opened], None]) -> None:
        if path not in sample_files():  # nobody wants to save beside the samples
            self._settings.set("folder", str(path.parent))
        self._run(f"Opening {path.name}", lambda progress: opened(path, progress), take, f"{path.name} can't be opened")

    def _begin(self, result: Opened) -> None:
        job = self._sized(result)
        if job is None:
            return
        if result.foreign:
            from app.dialogs.foreign_settings import ForeignSettingsQuestion

            question = ForeignSettingsQuestion(self._window, result.path.name, result.foreign)
            if not messages.run(question):
                return
            job = _with_own_settings(job) if question.takes_own else job
        self._settings.add_recent(result.path)
        is_job = result.path.suffix.lower() == JOB_SUFFIX

        def told() -> None:
            if result.problem is not None:
                self.without_book.emit(result.problem)
            if result.order is not None:
                self.order_opened.emit(result.order)

        if is_job:
            self.begin(result.order or job, path=result.path, then=told)
        else:
            self.begin(job, artwork_path=result.path, then=told)

    def begin(
        self,
        work: "Job | Order",
        *,
        path: Path | None = None,
        artwork_path: Path | None = None,
        unsaved: bool = False,
        then: Callable[[], None] = lambda: None,
    ) -> None:
        """Put a job or an order in place of the present one; asks again where that was changed since it was settled."""

        def begin() -> None:
            self.artwork_path = artwork_path
            self._session.begin(work, path=path, unsaved=unsaved)
            then()

        if self._session.order is self._settled:
            begin()
        else:
            self.once_settled(begin)

    def _replace(self, result: Opened) -> None:
        job = self._sized(result)
        if job is None:
            return
        before, source, reading = self._session.job, job.source, job.reading
        if before.source is None or source is None:
            return

        def work(progress: Progress) -> "Reread":
            from core.job.rereading import reread

            return reread(before, source, reading=reading, repairs=(), progress=progress)

        def take(found: "Reread") -> None:
            if self._session.job is not before:  # it was worked on meanwhile
                self._replace(result)
                return
            self.artwork_path = result.path
            self._session.commit(found.job, filled("Put {name} in this job", name=result.path.name))
            self.replaced.emit(result.path, found.words)

        self._run(f"Putting {result.path.name} in this job", once(work), take, f"{result.path.name} can't be put in")

    def _sized(self, result: Opened) -> Job | None:
        """The job with its unit, asked for where the file does not say; None when the maker gave up."""
        if result.unsized is None:
            return result.job
        if result.is_picture:
            return self._picture_sized(result, result.unsized)
        from app.dialogs.units_question import UnitsQuestion

        question = UnitsQuestion(self._window, result.path.name, result.unsized.width_mm, result.unsized.height_mm)
        if not messages.run(question):
            return None
        return replace(result.job, reading=replace(result.job.reading, units=question.unit))

    def _picture_sized(self, result: Opened, drawing: "Drawing") -> Job | None:
        from app.dialogs.pictures import PictureQuestion

        picture = result.job.reading.picture
        question = PictureQuestion(self._window, result.path.name, drawing.width_mm)
        if not messages.run(question):
            return None
        way: Way = "screen" if question.way == "screen" else "trace"
        picture = replace(picture, width_mm=question.width_mm, way=way)
        return replace(result.job, reading=replace(result.job.reading, picture=picture))

    def recover(self, leftover: Leftover) -> None:
        """Bring back a job that a window which did not close properly left behind."""

        def on_loaded(history: History) -> None:
            self._session.begin_again(history, path=leftover.job_path, unsaved=True)
            self.recovered.emit(leftover)

        self._run(
            f"Bringing back {leftover.name}",
            once(lambda progress: load_leftover(leftover)),
            on_loaded,
            f"{leftover.name} can't be brought back",
        )

    # --- saving --------------------------------------------------------------------------------------------------

    def save(self, then: Callable[[], None] = lambda: None) -> None:
        """Save to the job's file, or ask for one; ``then`` runs once it is on disk."""
        if self._session.path is None:
            self.save_as(then)
        else:
            self._write(self._session.path, overwrite=True, then=then)

    def save_as(self, then: Callable[[], None] = lambda: None) -> None:
        """Ask for a file and save to it."""
        folder = Path(self._settings.get("folder") or ".")
        path = self._session.path or folder / f"{self.stem()}{JOB_SUFFIX}"
        chosen = self._ask_target("Save the job", path, JOB_SUFFIX)
        if chosen is not None:
            self._write(chosen, overwrite=chosen.exists(), then=then)

    def once_settled(self, go_on: Callable[[], None]) -> None:
        """Go on once unsaved changes are saved or given up; not at all when the maker cancels."""

        def settled() -> None:
            self._settled = self._session.order
            go_on()

        if not self._session.modified:
            settled()
            return
        answer = self.ask_about_changes()
        if answer == "save":
            self.save(lambda: self.once_settled(go_on))  # asks again where it was changed while it was written
        elif answer == "discard":
            settled()

    def ask_about_changes(self) -> str:
        """What to do with the unsaved changes: "save", "discard" or "cancel"."""
        return messages.ask(
            self._window,
            "Unsaved changes",
            filled("Save the changes to {name} first?", name=self.name()),
            (
                Answer(key="save", text="&Save"),
                Answer(key="discard", text="&Don't save", role="destroy"),
                Answer(key="cancel", text="Cancel", role="cancel"),
            ),
            hint="What is not saved is lost.",
        )

    def _write(self, path: Path, *, overwrite: bool, then: Callable[[], None]) -> None:
        order = self._session.order

        def work(progress: Progress) -> Path:
            from core.order.order_file import save_work

            save_work(order, path, overwrite=overwrite)
            return path

        def on_saved(path: Path) -> None:
            self._settings.set("folder", str(path.parent))
            self._settings.add_recent(path)
            self._session.mark_saved(order, path)
            self.saved.emit(path)
            then()

        self._run(f"Saving {path.name}", once(work), on_saved, "The job was not saved", writes=True)

    # --- handing over --------------------------------------------------------------------------------------------

    def ask_export(self, suffix: str) -> None:
        """Ask for a file and export the plan to it. The caller sees to it that the job is ready."""
        plan = self._session.plan
        if plan is None or not self._session.complete:
            return
        folder = Path(self._settings.get("export_folder") or self._settings.get("folder") or ".")
        path = self._ask_target("Export", folder / f"{self.stem()}-bed{suffix}", suffix)
        if path is not None:
            self._export(plan, path)

    def _export(self, plan: "Plan", path: Path) -> None:
        overwrite = path.exists()

        def work(progress: Progress) -> "ReadBack | None":
            from core.output.export import export

            return export(plan, path, overwrite=overwrite, progress=progress)

        def on_exported(read_back: "ReadBack | None") -> None:
            self._settings.set("export_folder", str(path.parent))
            self._session.mark_handed_over(plan.job, read_back)
            self.exported.emit(path)

        self._run(f"Exporting {path.name}", once(work), on_exported, "Nothing was exported", writes=True)

    def _ask_target(self, title: str, path: Path, suffix: str) -> Path | None:
        """A file to write, with the right ending, that the maker agreed to overwrite if it exists."""
        chosen = messages.save_file(self._window, title, path=str(path), filters=EXPORT_FILTERS[suffix])
        if chosen is None:
            return None
        if chosen.suffix.lower() != suffix:
            chosen = chosen.with_name(chosen.name + suffix)
        if self.artwork_path is not None and _same_file(chosen, self.artwork_path):
            messages.tell(
                self._window,
                title,
                filled("{name} is the artwork itself.", name=chosen.name),
                hint="Write to another name; nothing was changed.",
            )
            return None
        own = suffix == JOB_SUFFIX and chosen == self._session.path
        if chosen.exists() and not own and not messages.may_replace(self._window, title, chosen):
            return None
        return chosen

    def stem(self) -> str:
        """What to begin file names with."""
        job = self._session.job
        if self._session.path is not None:
            return self._session.path.stem
        return Path(job.source.name).stem if job.source is not None else "job"

    def name(self) -> str:
        """What the window and questions call the job."""
        if self._session.path is not None:
            return self._session.path.name
        source = self._session.job.source
        return source.name if source is not None else "the new job"

    # --- work ----------------------------------------------------------------------------------------------------

    def _run(
        self,
        doing: str,
        work: Callable[[Progress], Iterator[Any]],
        take: Callable[[Any], None],
        title: str,
        *,
        writes: bool = False,
    ) -> None:
        """The newest reading counts; what is being written is brought to its end before anything else begins."""
        if self.writing:
            run = partial(self._run, doing, work, take, title, writes=writes)
            self._next.append(_Waiting(run=run, writes=writes))
            return
        self.doing, self._writes = doing, writes
        steps.info("%s", doing)
        self._question.ask_once(
            lambda progress: next(work(progress)), take, lambda error: self._tell_failed(title, error)
        )

    def _begin_next(self) -> None:
        if self._next and not self.busy:
            self._next.pop(0).run()
        elif self._once_written is not None:
            QTimer.singleShot(0, self, self._go_on_written)  # a failure is told first

    def _go_on_written(self) -> None:
        if self._once_written is not None and not self.writing:
            go_on, self._once_written = self._once_written, None
            go_on()

    def _tell_failed(self, title: str, error: TainError) -> None:
        self._once_written = None
        steps.info("%s: %s", title, error.message)
        self.failed.emit(title, error)


def _with_own_settings(job: Job) -> Job:
    from core.shop_book.foreign_settings import with_own_settings

    return with_own_settings(job)


def _same_file(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False
