"""It came out wrong: what is seen at the left, the likeliest cause on top in the middle, notes at the right."""

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.dialogs.book_dialog import BookDialog
from app.dialogs.trouble.cause_card import CauseCard
from app.dialogs.trouble.faults_list import FaultsList
from app.dialogs.trouble.notes import Notes
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.session import Session
from app.session.shop import Shop
from app.widgets.fields import clear, words
from core.job.plan import Plan
from core.trouble.case.case import Case, case_of, case_without_job
from core.trouble.case.kept import case_of_settings
from core.trouble.case.noted import FaultNoted
from core.trouble.causes.cause import Cause
from core.trouble.causes.caution import LearnedCaution
from core.trouble.changes import Change, change_for
from core.trouble.ranking import Diagnosis, ranked
from core.trouble.remembered import caution_by_hand
from core.trouble.report import SURE

if TYPE_CHECKING:
    from core.shop_book.kinds import JobDone
    from core.shop_book.store import ShopBook

SHOWN = 6
"""So many causes are shown in full; the others are named below them."""
SIZE_PX = (1180, 760)
NARROW_PX = 1000


class TroublePage(Guarded, BookDialog):
    """diagnosis: what it says now; None before anything is ticked. trial_wanted: (faults, cause, paint's name)."""

    trial_wanted = Signal(object, object, str)

    def __init__(
        self,
        parent: QWidget | None,
        session: Session,
        shop: Shop,
        *,
        job: str,
        kept: "JobDone | FaultNoted | None" = None,
    ) -> None:
        super().__init__(parent, shop, "It came out wrong")
        self._session, self._job = session, job
        plan = session.plan if session.current and kept is None else None
        self._plan: Plan | None = plan
        noted = kept if isinstance(kept, FaultNoted) else None
        settings = "" if kept is None or noted is not None else kept.settings  # type: ignore[union-attr]
        self.case: Case = case_without_job()
        self._learned: tuple[LearnedCaution, ...] = ()
        self.diagnosis: Diagnosis | None = None
        self.cards: list[CauseCard] = []
        figures = "with its figures" if plan is not None else "with the figures of its burn" if settings else ""
        about = (
            filled("For {job}, {figures}.", job=job or "this job", figures=figures)
            if figures
            else "Without a job: what is usual."
        )
        self._lead = words(f"{about} {SURE}", role="quiet")
        self.column.addWidget(self._lead)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        self.faults = FaultsList()
        self.faults.changed.connect(self._refresh)
        self.faults.setFixedWidth(300)
        columns.addWidget(self.faults)
        self._right = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._right.setSpacing(16)
        self._right.addWidget(self._causes_column(), 3)
        self.notes = Notes(())
        self.notes.changed.connect(self._refresh)
        self._right.addWidget(_scrolled("What was noted", self.notes), 2)
        columns.addLayout(self._right, 1)
        self.column.addLayout(columns, 1)
        self._foot()
        self.resize(*SIZE_PX)
        if noted is not None:
            self.faults.tick(noted.faults)
            self.notes.show_noted(noted.noted)
        self.do(lambda book: _known(book, plan, settings), self._take)
        self._refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size; where it is narrow what was noted lies below the causes."""
        super().resizeEvent(event)
        narrow, ways = event.size().width() < NARROW_PX, QBoxLayout.Direction
        self._right.setDirection(ways.TopToBottom if narrow else ways.LeftToRight)

    def _causes_column(self) -> QWidget:
        content = QWidget()
        self._causes = QVBoxLayout(content)
        self._causes.setContentsMargins(12, 12, 12, 12)
        self._causes.setSpacing(12)
        return _scrolled("Causes, likeliest first", content)

    def _foot(self) -> None:
        line = QHBoxLayout()
        self.told = words(role="quiet")
        self.keep = QPushButton(caption("&Keep in the shop book"))
        self.keep.setToolTip(caption("What is seen and noted, photos by their paths"))
        self.keep.clicked.connect(self._keep)
        close = QPushButton(caption("&Close"))
        close.clicked.connect(self.accept)
        line.addWidget(self.told, 1)
        line.addWidget(self.keep)
        line.addWidget(close)
        self.column.addLayout(line)

    def _take(self, known: tuple[Case, tuple[LearnedCaution, ...]]) -> None:
        self.case, self._learned = known
        self.notes.offer_paints([paint.name for paint in self.case.paints])
        self._refresh()

    def _refresh(self) -> None:
        """Rank anew and show it."""
        faults = self.faults.ticked
        clear(self._causes)
        self.cards = []
        self.keep.setEnabled(bool(faults))
        if not faults:
            self.diagnosis = None
            self._causes.addWidget(words("Tick what is seen; several belong to one piece.", role="quiet"))
            self._causes.addStretch(1)
            self.notes.show_looks(())
            return
        noted = self.notes.noted
        self.diagnosis = found = ranked(replace(self.case, noted=noted), faults, self._learned)
        for finding in found.findings:
            self._causes.addWidget(words(finding.message, role="refusal" if finding.severity == "warning" else "quiet"))
        for number, one in enumerate(found.causes[:SHOWN], start=1):
            change = change_for(self._plan, one.cause, noted) if self._plan is not None else None
            card = CauseCard(number, one, change)
            card.change_wanted.connect(self._change)
            card.trial_wanted.connect(self._want_trial)
            card.remember_wanted.connect(self._remember)
            self.cards.append(card)
            self._causes.addWidget(card)
        rest = found.causes[SHOWN:]
        if rest:
            named = "; ".join(one.cause.name for one in rest)
            self._causes.addWidget(words(filled("Less likely: {named}.", named=named), role="quiet"))
        self._causes.addStretch(1)
        self.notes.show_looks(found.looks)

    def _change(self, change: Change) -> None:
        """The job as it is to be next time; undo takes it back."""
        if self._plan is None or self._session.job != self._plan.job:
            self.told.setText(caption("The job has changed meanwhile: close this and open it again."))
            return
        self._session.commit(change.job, change.words)
        self.told.setText(filled("Changed: {words}. Undo takes it back.", words=change.words))
        self._plan = None  # what was worked out is about the job as it was
        self._refresh()

    def _want_trial(self, cause: Cause) -> None:
        self.trial_wanted.emit(self.faults.ticked, cause, self.notes.noted.paint)

    def _remember(self, cause: Cause) -> None:
        """The cause as a caution of the thing that it is about, in the maker's name and without a trial."""
        found = caution_by_hand(self.case, self.notes.noted, cause, self.faults.ticked, date=date.today().isoformat())
        if found is None:
            self.told.setText(
                filled("Say which {about} it is about: name the paint, or open the job.", about=cause.about)
            )
            return

        def work(book: "ShopBook") -> object:
            from core.shop_book.cautions_kept import keep_caution

            return keep_caution(book, found)

        told = filled(
            "Remembered with {thing}: {words}. The next job that would repeat it is told.",
            thing=found.thing,
            words=found.words,
        )
        self.do(work, lambda entry: self.told.setText(told), writes=True)

    def _keep(self) -> None:
        kept = FaultNoted(
            faults=tuple(fault.code for fault in self.faults.ticked), noted=self.notes.noted, stock=self.case.stock,
            job=self._job, date=date.today().isoformat(),
        )  # fmt: skip
        self.do(
            lambda book: book.add("fault", kept.name, kept),
            lambda entry: self.told.setText(filled("The shop book has “{name}”.", name=entry.name)),
            writes=True,
        )


def _known(book: "ShopBook", plan: Plan | None, settings: str) -> tuple[Case, tuple[LearnedCaution, ...]]:
    if plan is not None:
        case = case_of(plan)
    else:
        case = case_of_settings(settings) if settings else case_without_job()
    return case, book.values("caution")


def _scrolled(name: str, content: QWidget) -> QScrollArea:
    content.setProperty("role", "page")
    scroll = QScrollArea()
    scroll.setAccessibleName(caption(name))
    scroll.setWidgetResizable(True)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    scroll.setWidget(content)
    return scroll
