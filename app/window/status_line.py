"""The line below: where the pointer is in both frames, cleared area, run time, findings, and work under way."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QToolButton

from app.qt.captions import caption, filled
from app.session.session import Session
from app.session.settings import Settings
from app.theme.icons import icon
from app.widgets.plain_text import plain_label, plain_tip
from app.widgets.progress_bar import ProgressBar
from app.words.wording import area_text, count_text
from core.geometry.affine import apply
from core.sheet.faces import turn_matrix
from core.units import MM_PER_INCH

if TYPE_CHECKING:
    from core.job.plan import Plan

SHOW_AFTER_MS = 300


class StatusLine(QFrame):
    """findings_wanted: the list of findings is to be shown or hidden. stop_wanted: the work under way is to stop."""

    findings_wanted = Signal()
    page_wanted = Signal()
    stop_wanted = Signal()
    again_wanted = Signal()

    def __init__(self, session: Session, settings: Settings) -> None:
        super().__init__()
        self.setProperty("role", "bar")
        self._session, self._settings = session, settings
        self._front_mm: tuple[float, float] | None = None
        self._file_work, self._work_stopped = "", False
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 4, 8, 4)
        layout.setSpacing(16)
        self.pointer = plain_label()
        self.pointer.setAccessibleName(caption("Pointer on front and bed"))
        self.pointer.setMinimumWidth(
            self.fontMetrics().horizontalAdvance("front 0000.00, 0000.00   bed 0000.00, 0000.00 mm")
        )
        self.cleared = plain_label()
        self.time = plain_label()
        self.findings = QToolButton()
        self.findings.clicked.connect(self.findings_wanted)
        self._doing = plain_label()
        self._doing.setProperty("role", "quiet")
        self.bar = ProgressBar()
        self.bar.setFixedWidth(120)
        self.bar.setAccessibleName(caption("Progress"))
        self._stop = QPushButton(caption("Stop"))
        self._stop.setAccessibleName(caption("Stop working out"))
        self._stop.setToolTip(caption("Stop working out (Esc)"))
        self._stop.setProperty("role", "plain")
        self._stop.clicked.connect(self.stop_wanted)
        self._again = QPushButton(caption("Work it out"))
        self._again.setAccessibleName(caption("Work the job out"))
        self._again.setToolTip(caption("Work the job out (F5)"))
        self._again.clicked.connect(self.again_wanted)
        self.page_toggle = QToolButton()
        self.page_toggle.setIcon(icon("page-shown"))
        self.page_toggle.setAccessibleName(caption("Show or hide the page of the stage"))
        self.page_toggle.setToolTip(caption("Show or hide the page of the stage (F9)"))
        self.page_toggle.clicked.connect(self.page_wanted)
        for widget in (self.pointer, self.cleared, self.time, self.findings):
            layout.addWidget(widget)
        layout.addStretch(1)
        for at_right in (self._doing, self.bar, self._stop, self._again, self.page_toggle):
            layout.addWidget(at_right)
        self._delay = QTimer(self)
        self._delay.setSingleShot(True)
        self._delay.setInterval(SHOW_AFTER_MS)
        self._delay.timeout.connect(self._show_work)
        session.plan_changed.connect(self.refresh)
        session.job_changed.connect(self.refresh)
        session.busy_changed.connect(self._busy_changed)
        session.progressed.connect(self.show_progress)
        settings.changed.connect(lambda key: self.refresh())
        self._busy_changed()
        self.refresh()

    def show_pointer(self, front_mm: tuple[float, float] | None) -> None:
        """Show where the pointer is, front frame; None when it is on neither face."""
        self._front_mm = front_mm
        self._show_pointer()

    def show_compact(self, compact: bool) -> None:
        """Drop what there is no room for in a narrow window."""
        self.cleared.setVisible(not compact)
        self.pointer.setVisible(not compact)

    def refresh(self) -> None:
        """Show the plan's figures."""
        plan, inches = self._session.plan, self._settings.inches
        known = plan is not None and self._session.complete
        self.cleared.setText(_cleared_text(plan, inches=inches) if plan is not None else "")
        time, tip = _time_words(plan) if plan is not None and known else ("", "Run time of the whole job")
        self.time.setText(time)
        self.time.setToolTip(plain_tip(tip))
        count = len(plan.findings) if plan is not None else 0
        none = "no findings" if known else "checking"
        self.findings.setText(count_text(count, "finding", "findings") if count else none)
        self.findings.setAccessibleName(filled("{text}: show or hide the list", text=self.findings.text()))
        self.findings.setToolTip(caption("Show or hide the findings (F8)"))
        self.findings.setVisible(plan is not None)
        self._again.setVisible(self._session.stopped or self._work_stopped)
        self._show_pointer()

    def _show_pointer(self) -> None:
        if self._front_mm is None:
            self.pointer.setText(caption("front –   bed –"))
            return
        job = self._session.job
        bed = apply(turn_matrix(job.turn, job.sheet), self._front_mm)  # type: ignore[arg-type]
        scale, places, unit = (MM_PER_INCH, 3, "in") if self._settings.inches else (1.0, 1, "mm")
        front_text, bed_text = (
            f"{x / scale:.{places}f}, {y / scale:.{places}f}" for x, y in (self._front_mm, tuple(bed))
        )
        self.pointer.setText(
            filled("front {front_text}   bed {bed_text} {unit}", front_text=front_text, bed_text=bed_text, unit=unit)
        )

    def show_file_work(self, doing: str, *, stopped: bool = False) -> None:
        """Show that something beside the plan is being read, written or worked out; "" when that has ended.

        stopped: some of it was given up and may be gone on with.
        """
        self._file_work, self._work_stopped = doing, stopped
        if doing:
            self.show_progress(0.0, doing)
        self._busy_changed()

    def show_progress(self, share: float, doing: str) -> None:
        """Show how far the work is."""
        self.bar.show_share(share)
        self._doing.setText(f"{doing}…")

    def _busy_changed(self) -> None:
        if self._session.busy or self._file_work:
            if not self.bar.isVisible() and not self._delay.isActive():
                self._delay.start()
        else:
            self._delay.stop()
            for widget in (self._doing, self.bar, self._stop):
                widget.hide()
        self._again.setVisible(self._session.stopped or self._work_stopped)

    def _show_work(self) -> None:
        for widget in (self._doing, self.bar, self._stop):
            widget.show()


def _time_words(plan: "Plan") -> tuple[str, str]:
    """The run time, and what to know of it."""
    from app.words.figure_words import time_tip
    from core.job.timing import range_text

    return range_text(plan.time_range), time_tip(plan.time_range)


def _cleared_text(plan: "Plan", *, inches: bool) -> str:
    """What comes off inside the fills; before the coverage is known, what is to come off."""
    fills = [planned for planned in plan.layers if planned.layer.purpose == "fill"]
    area_mm2 = sum(planned.area_mm2 for planned in fills)
    left_over_mm2 = sum(planned.coverage.left_over_mm2 for planned in fills if planned.coverage is not None)
    return f"{'cleared' if plan.complete else 'to clear'} {area_text(area_mm2 - left_over_mm2, inches=inches)}"
