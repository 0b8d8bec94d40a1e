"""What the maker noted: which paint, what was really done, what loupe and lamp show, photos by path."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QListWidget, QVBoxLayout, QWidget

from app.qt.captions import caption, told
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, clear, show_role, small_button, words
from app.widgets.plain_text import plain_label
from core.errors import TainError
from core.trouble.case.noted import FIGURES, Look, Noted, with_noted
from core.trouble.looks import BY_CODE, LookAt

PHOTOS = "Pictures (*.jpg *.jpeg *.png *.heic);;All files (*)"
ANSWERS = (("not looked yet", None), ("yes", True), ("no", False))


class Notes(QWidget):
    """changed: something else is noted. noted: all of it, but for what could not be read, which is told."""

    changed = Signal()

    def __init__(self, paints: Sequence[str]) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        self._answers: dict[str, bool] = {}
        self.looks: dict[str, ChoiceField] = {}
        self._looks_card = Card("Look, to tell them apart")
        self._looks_body = QVBoxLayout()
        self._looks_card.body.addLayout(self._looks_body)
        layout.addWidget(self._looks_card)
        layout.addWidget(self._done_card())
        layout.addWidget(self._photo_card())
        layout.addStretch(1)
        self.noted = Noted()
        self.offer_paints(paints)

    def offer_paints(self, names: Sequence[str]) -> None:
        """Which paints may be at fault."""
        self._paints = ["", *dict.fromkeys((*names, *filter(None, (self.noted.paint,))))]
        self.paint.offer([(name or "any of them", name) for name in self._paints])
        self.paint.show_value(self.noted.paint)

    def show_noted(self, noted: Noted) -> None:
        """Show what was noted before; a look that was answered both ways stays open."""
        self._answers = {look.code: look.yes for look in noted.looks if noted.answer(look.code) is not None}
        for one in FIGURES:
            value = noted.value(one.name)
            self.figures[one.export_name].setText("" if value is None else f"{value:g}")
        if noted.paint and noted.paint not in self._paints:
            self._paints.append(noted.paint)
        self.paint.offer([(name or "any of them", name) for name in self._paints])
        self.paint.show_value(noted.paint)
        self.photos.clear()
        self.photos.addItems(list(noted.photos))
        self._take()

    def show_looks(self, asked: Sequence[LookAt]) -> None:
        """Ask these; what was answered stays, above them."""
        codes = [*self._answers, *(look.code for look in asked if look.code not in self._answers)]
        if codes == list(self.looks):
            return
        clear(self._looks_body)
        self.looks = {}
        for code in codes:
            look = BY_CODE[code]
            choice = ChoiceField(look.question, ANSWERS)
            choice.show_value(self._answers.get(code))
            choice.chosen.connect(lambda answer, code=code: self._answer(code, answer))
            self._looks_body.addWidget(words(f"{look.question} ({look.tool})"))
            self._looks_body.addWidget(choice)
            self.looks[code] = choice
        self._looks_card.setVisible(bool(codes))

    def _answer(self, code: str, answer: bool | None) -> None:
        if answer is None:
            self._answers.pop(code, None)
        else:
            self._answers[code] = answer
        self._take()

    def _done_card(self) -> Card:
        card = Card("What was really so")
        self.paint = ChoiceField("Paint at fault")
        self.paint.chosen.connect(lambda name: self._take())
        card.row("Paint", self.paint)
        self._paints = [""]
        grid = QGridLayout()
        grid.setColumnStretch(0, 1)
        self.figures: dict[str, QLineEdit] = {}
        for row, one in enumerate(FIGURES):
            field = QLineEdit()
            field.setAccessibleName(f"{told(one.words)}{f', {one.unit}' if one.unit else ''}")
            field.setFixedWidth(72)
            field.editingFinished.connect(self._take)
            label = plain_label(one.words)
            label.setWordWrap(True)
            label.setBuddy(field)
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1)
            grid.addWidget(plain_label(one.unit), row, 2)
            self.figures[one.export_name] = field
        card.body.addLayout(grid)
        self._refusal = words("Left empty: not noted.", role="quiet")
        card.body.addWidget(self._refusal)
        return card

    def _photo_card(self) -> Card:
        card = Card("Photos, kept by path")
        self.photos = QListWidget()
        self.photos.setAccessibleName(caption("Photos, by path"))
        self.photos.setFixedHeight(56)
        card.body.addWidget(self.photos)
        self.add_photo = small_button("Add a &photo…", "Add a photo")
        self.add_photo.clicked.connect(self._add_photo)
        out = small_button("Take it &out", "Take the chosen photo out")
        out.clicked.connect(self._drop_photo)
        out.setEnabled(False)
        self.photos.currentRowChanged.connect(lambda row: out.setEnabled(row >= 0))
        card.line(self.add_photo, out).addStretch(1)
        return card

    def _add_photo(self) -> None:
        folder = str(Path(self.noted.photos[-1]).parent) if self.noted.photos else ""
        photo = messages.open_file(self, "A photo of the fault", folder=folder, filters=PHOTOS)
        if photo is not None:
            self.photos.addItem(str(photo))
            self._take()

    def _drop_photo(self) -> None:
        self.photos.takeItem(self.photos.currentRow())
        self._take()

    def _take(self) -> None:
        """Everything as it stands now; what can't be read is told and left out."""
        noted = Noted(
            looks=tuple(Look(code=code, yes=yes) for code, yes in self._answers.items()),
            paint=self._paints[max(self.paint.currentIndex(), 0)],
            photos=tuple(self.photos.item(row).text() for row in range(self.photos.count())),
        )
        refused = ""
        for name, field in self.figures.items():
            if field.text().strip():
                try:
                    noted = with_noted(noted, f"{name}={field.text().strip()}")
                except TainError as error:
                    refused = str(error)
        show_role(self._refusal, "refusal" if refused else "quiet")
        self._refusal.setText(refused or caption("Left empty: not noted."))
        if noted != self.noted:
            self.noted = noted
            self.changed.emit()
