"""Card of the Paint page with the trials of the chosen paint."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QListWidget

from app.dialogs.trial import PaintTrialDialog
from app.qt.captions import caption, filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets import messages
from app.widgets.fields import small_button, words
from app.widgets.plain_text import plain_tip
from app.words.wording import count_text
from core.finishing.paints import Paint, PaintTrial
from core.job.painting.decisions import with_paint

ROW_PX = 24
MOST_ROWS = 5


class TrialsCard(PaintedCard):
    """What trials on scraps showed; they stay with the paint, in the job and in the shop book."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._paint: Paint | None = None
        self._title = words(role="heading")
        self.body.addWidget(self._title)
        self._list = QListWidget()
        self._list.setAccessibleName(caption("Trials of the paint"))
        self._list.itemActivated.connect(self._change)
        self._list.currentRowChanged.connect(self._enable)
        self.body.addWidget(self._list)
        add = small_button("Add…", "Add a trial")
        add.clicked.connect(self._add)
        self._edit = small_button("Change…", "Change the trial")
        self._edit.clicked.connect(self._change)
        self._remove = small_button("Remove", "Remove the trial")
        self._remove.clicked.connect(self._take_out)
        self.line(add, self._edit, self._remove)

    def show_painted(self, painted: Painted) -> None:
        """Show the chosen paint's trials."""
        step = self._page.chosen_step
        self.setVisible(step is not None)
        if step is None:
            return
        self._paint = step.area.paint
        trials = self._paint.trials
        row = self._list.currentRow()
        self._title.setText(filled("Trials of {name}", name=self._paint.name))
        self._list.clear()
        for trial in trials:
            self._list.addItem(trial_words(trial))
            self._list.item(self._list.count() - 1).setToolTip(plain_tip(trial.photo or trial.note))
        self._list.setCurrentRow(min(max(row, 0), len(trials) - 1))
        self._list.setVisible(bool(trials))
        self._list.setFixedHeight(ROW_PX * min(max(len(trials), 1), MOST_ROWS) + 8)
        self._enable()

    def _enable(self) -> None:
        for button in (self._edit, self._remove):
            button.setEnabled(self._list.currentRow() >= 0)

    def _add(self) -> None:
        if self._paint is not None:
            new = PaintTrial(stock=self._page.session.job.stock.name, coats=self._paint.coats, verdict="")
            trial = self._asked(self._paint, new)
            if trial is not None:
                self._put((*self._paint.trials, trial))

    def _change(self) -> None:
        row, paint = self._list.currentRow(), self._paint
        if paint is not None and 0 <= row < len(paint.trials):
            trial = self._asked(paint, paint.trials[row])
            if trial is not None:
                self._put((*paint.trials[:row], trial, *paint.trials[row + 1 :]))

    def _take_out(self) -> None:
        row, paint = self._list.currentRow(), self._paint
        if paint is not None and 0 <= row < len(paint.trials):
            self._put((*paint.trials[:row], *paint.trials[row + 1 :]))

    def _asked(self, paint: Paint, trial: PaintTrial) -> PaintTrial | None:
        dialog = PaintTrialDialog(self, paint.name, trial)
        accepted = messages.run(dialog)
        entered = dialog.trial if accepted else None
        dialog.deleteLater()
        return entered

    def _put(self, trials: tuple[PaintTrial, ...]) -> None:
        before = self._paint
        if before is not None:
            after = replace(before, trials=trials)
            self._page.decide(
                lambda plan: with_paint(plan, before.name, after), filled("Trials of {name}", name=before.name)
            )


def trial_words(trial: PaintTrial) -> str:
    """One trial in a line."""
    photo = ", with a photo" if trial.photo else ""
    stock = trial.stock or "a scrap"
    return f"{trial.date} {stock}, {count_text(trial.coats, 'coat', 'coats')}: {trial.verdict}{photo}".strip()
