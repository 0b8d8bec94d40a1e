"""What timed jobs tell of a machine's row times, and whether the machine of the book is to have it."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.dialogs.book_dialog import BookDialog
from app.dialogs.profile_rows import today
from app.qt.captions import caption, filled
from app.session.shop import Shop
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import ChoiceField, words
from app.widgets.plain_table import PlainTable
from app.words.learned_words import estimate_text, wide_gaps_text
from app.words.wording import duration_text, in_shown_units
from core.burning.run_time import exactly
from core.errors import TainError
from core.job.timing import time_with_spread

if TYPE_CHECKING:
    from core.shop_book.jobs_done import Calibration
    from core.shop_book.store import ShopBook


class RunTimeFitDialog(BookDialog):
    """``learned``: the name of the machine that has learned, or "". ``found``: what is shown."""

    def __init__(self, parent: QWidget | None, shop: Shop, *, machine: str, inches: bool) -> None:
        super().__init__(parent, shop, "Calibrate the run time")
        self._inches = inches
        self.learned = ""
        self.found: Calibration | None = None
        names = [one.name for one in shop.machines]
        self.machine = ChoiceField("Machine", [(name, name) for name in names])
        self.machine.show_value(machine if machine in names else names[0])
        self.machine.chosen.connect(lambda name: self.read())
        self.column.addWidget(self.machine)
        self.told = words()
        self.column.addWidget(self.told)
        self.table = PlainTable("Timed jobs", ("Timed job", "Ran", "Foreseen", "By the fit"))
        shown = QVBoxLayout()
        shown.addWidget(self.table)
        self.body = OrEmpty(shown, self._empty_note())
        self.column.addWidget(self.body, 1)
        self.doubts = words(role="quiet")
        self.column.addWidget(self.doubts)
        line = QHBoxLayout()
        line.addStretch(1)
        close = QPushButton(caption("Close"))
        close.clicked.connect(self.reject)
        self.take = QPushButton(caption("&Let the machine have it"))
        self.take.setProperty("role", "main")
        self.take.clicked.connect(self._keep)
        line.addWidget(close)
        line.addWidget(self.take)
        self.column.addLayout(line)
        self.resize(640, 480)
        self.read()

    def _empty_note(self) -> EmptyNote:
        return EmptyNote(
            "Two timed jobs tell it",
            (
                "How fast a machine speeds up, and how long it takes to turn round between rows, shows in jobs that "
                "were timed; every run time foreseen is better from then on.",
                "Time at least two, at different speeds or row lengths. “Note this job as done” in the menu Shop "
                "keeps how long a job ran.",
            ),
            (),
        )

    @property
    def _name(self) -> str:
        return self.machine.currentText()

    def read(self) -> None:
        """Fit the timed jobs of the chosen machine."""
        name = self._name
        self.take.setEnabled(False)

        def work(book: "ShopBook") -> "Calibration":
            from core.shop_book.jobs_done import calibration

            return calibration(book, name)

        self.do(work, self._show, failed=self._refused)

    def _refused(self, error: TainError) -> None:
        self.found = None
        self.told.setText(error.message)
        self.body.show_empty(True)
        self.doubts.setText("")

    def _show(self, found: "Calibration") -> None:
        self.found, fit = found, found.fit
        acceleration = estimate_text(fit.acceleration_mm_s2, "mm/s²")
        told = filled(
            "Acceleration of rows {acceleration}; row turn-round {estimate_text}. One job's time "
            "spreads by ± {spread_share:.1f} %.{wide_gaps_text}",
            acceleration=acceleration,
            estimate_text=estimate_text(fit.turn_round_s, "s"),
            spread_share=100 * fit.spread_share,
            wide_gaps_text=wide_gaps_text(fit.wide_gaps),
        )
        self.told.setText(in_shown_units(told, inches=self._inches))
        rows = [
            (
                timing.name,
                duration_text(timing.actual_s),
                duration_text(timing.predicted_s),
                time_with_spread(
                    exactly(timing.actual_s - residual_s),
                    fit.time_error_s(
                        time_s=timing.actual_s - residual_s,
                        inverse_acceleration_slope=timing.inverse_acceleration_slope,
                        turn_rounds=timing.turn_rounds,
                    ),
                ),
            )
            for timing, residual_s in zip(found.timings, fit.residuals_s, strict=True)
        ]
        self.table.show_rows(rows)
        self.body.show_empty(False)
        self.doubts.setText(" ".join(finding.message for finding in fit.findings))
        self.take.setEnabled(True)

    def _keep(self) -> None:
        name = self._name

        def work(book: "ShopBook") -> "Calibration":
            from core.shop_book.jobs_done import keep_calibration

            return keep_calibration(book, name, date=today())

        def take(found: "Calibration") -> None:
            self.learned = found.machine.name
            self.accept()

        self.do(work, take, writes=True)
