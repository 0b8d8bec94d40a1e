"""A trial on a scrap: what was tried, what it showed, where its photo lies."""

from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtWidgets import QDialog, QFormLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.widgets import messages
from app.widgets.fields import ChoiceField, NumberField, small_button, words
from core.finishing.bonding import BondTrial
from core.finishing.paints import PaintTrial

VERDICTS = (("Suits", "suits"), ("Test again first", "test first"), ("Avoid", "avoid"))
MOST_CHARACTERS = 200
PHOTOS = "Pictures (*.jpg *.jpeg *.png *.heic);;All files (*)"


class _TrialDialog(QDialog):
    """Stock, verdict, date, note and photo; accepted when it is to be noted."""

    def __init__(self, parent: QWidget | None, title: str, trial: PaintTrial | BondTrial) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption(title))
        self.setMinimumWidth(420)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(16)
        self.form = QFormLayout()
        self.stock = self.line("Stock", trial.stock)
        self.date = self.line("Date", trial.date or datetime.now(UTC).date().isoformat())
        self.note = self.line("Note", trial.note)
        self.photo = QLineEdit(trial.photo)
        self.photo.setAccessibleName(caption("Photo of the trial"))
        choose = small_button("Choose…", "Choose the photo")
        choose.clicked.connect(self._choose_photo)
        line = QHBoxLayout()
        line.addWidget(self.photo, 1)
        line.addWidget(choose)
        self.form.addRow(caption("Photo"), line)
        layout.addLayout(self.form)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        layout.addWidget(self.refusal)
        layout.addLayout(Foot(self, "&Note it"))

    def line(self, label: str, text: str) -> QLineEdit:
        """One more line of text."""
        field = QLineEdit(text)
        field.setMaxLength(MOST_CHARACTERS)
        field.setAccessibleName(filled("{label} of the trial", label=label))
        self.form.addRow(caption(label), field)
        return field

    def _choose_photo(self) -> None:
        folder = str(Path(self.photo.text()).parent) if self.photo.text() else ""
        photo = messages.open_file(self, "Photo of the trial", folder=folder, filters=PHOTOS)
        if photo is not None:
            self.photo.setText(str(photo))


class PaintTrialDialog(Guarded, _TrialDialog):
    """What so many coats of a paint showed on a stock."""

    def __init__(self, parent: QWidget | None, paint: str, trial: PaintTrial) -> None:
        super().__init__(parent, f"Trial of {paint}", trial)
        self.coats = NumberField("Coats of the trial", low=1, high=50, places=0)
        self.coats.show_value(trial.coats)
        self.form.insertRow(1, "Coats", self.coats)
        self.verdict = QLineEdit(trial.verdict)
        self.verdict.setMaxLength(MOST_CHARACTERS)
        self.verdict.setAccessibleName(caption("What the trial showed"))
        self.form.insertRow(2, "It showed", self.verdict)

    @property
    def trial(self) -> PaintTrial:
        """The trial as entered."""
        return PaintTrial(
            stock=self.stock.text().strip(),
            coats=round(self.coats.value()),
            verdict=self.verdict.text().strip(),
            date=self.date.text().strip(),
            note=self.note.text().strip(),
            photo=self.photo.text().strip(),
        )

    def accept(self) -> None:
        """Qt: it is to be noted, if it says what was seen."""
        if self.verdict.text().strip():
            super().accept()
        else:
            self.refusal.setText(caption("Say what the trial showed."))
            self.refusal.show()


class BondTrialDialog(_TrialDialog):
    """What the shop saw of one joint and adhesive."""

    def __init__(self, parent: QWidget | None, trial: BondTrial) -> None:
        super().__init__(parent, f"Trial: {trial.joint} with {trial.adhesive}", trial)
        self._joint, self._adhesive = trial.joint, trial.adhesive
        self.verdict = ChoiceField("Verdict of the trial", VERDICTS)
        self.verdict.show_value(trial.verdict)
        self.form.insertRow(1, "Verdict", self.verdict)

    @property
    def trial(self) -> BondTrial:
        """The trial as entered."""
        return BondTrial(
            joint=self._joint,
            adhesive=self._adhesive,
            verdict=VERDICTS[self.verdict.currentIndex()][1],  # type: ignore[arg-type]  # one of the three
            stock=self.stock.text().strip(),
            date=self.date.text().strip(),
            note=self.note.text().strip(),
            photo=self.photo.text().strip(),
        )
