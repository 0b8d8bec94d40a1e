"""What is noted of anything kept by hand: name, how it came out, a note, photos by path."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.qt.captions import caption
from app.widgets import messages
from app.widgets.fields import small_button, words

MOST_CHARACTERS = 200
PHOTOS = "Pictures (*.jpg *.jpeg *.png *.heic);;All files (*)"


class KeptFields(QDialog):
    """Rows of a form, photos below, a refusal, and the button that keeps it."""

    def __init__(self, parent: QWidget | None, title: str, *, lead: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption(title))
        self.setMinimumWidth(520)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        self.lead = words(lead, role="quiet")
        layout.addWidget(self.lead)
        self._columns = QHBoxLayout()
        self._columns.setSpacing(16)
        self._left = QVBoxLayout()
        self._left.setSpacing(12)
        self._columns.addLayout(self._left, 1)
        layout.addLayout(self._columns)
        self.form = QFormLayout()
        self._left.addLayout(self.form)
        self._layout = layout

    def line(self, label: str, text: str = "", *, hint: str = "") -> QLineEdit:
        """One more line of text."""
        field = QLineEdit(text)
        field.setMaxLength(MOST_CHARACTERS)
        field.setAccessibleName(caption(label))
        field.setPlaceholderText(caption(hint))
        self.form.addRow(caption(label), field)
        return field

    def beside_fields(self, widget: QWidget) -> None:
        """Something that stands at the right of the lines and the photos."""
        self._columns.addWidget(widget, 1)

    def end_fields(self, keep: str) -> None:
        """Photos and buttons below the lines; ``keep`` is what the main button says."""
        layout = self._layout
        self.photos = QListWidget()
        self.photos.setAccessibleName(caption("Photos, by path"))
        self.photos.setFixedHeight(72)
        self._left.addWidget(words("Photos", role="quiet"))
        self._left.addWidget(self.photos)
        line = QHBoxLayout()
        add = small_button("&Add a photo…", "Add a photo")
        add.clicked.connect(self._add_photo)
        self.drop = small_button("Take it &out", "Take the chosen photo out")
        self.drop.clicked.connect(lambda: self.photos.takeItem(self.photos.currentRow()))
        self.drop.setEnabled(False)
        self.photos.currentRowChanged.connect(lambda row: self.drop.setEnabled(row >= 0))
        self.add = add
        line.addWidget(add)
        line.addWidget(self.drop)
        line.addStretch(1)
        self._left.addLayout(line)
        self._left.addStretch(1)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        layout.addWidget(self.refusal)
        line = QHBoxLayout()
        line.addStretch(1)
        cancel = QPushButton(caption("Cancel"))
        cancel.clicked.connect(self.reject)
        self.keep = QPushButton(caption(keep))
        self.keep.setProperty("role", "main")
        self.keep.setDefault(True)
        self.keep.clicked.connect(self.accept)
        line.addWidget(cancel)
        line.addWidget(self.keep)
        layout.addLayout(line)

    @property
    def photo_paths(self) -> Sequence[str]:
        """The photos, by path."""
        return tuple(self.photos.item(row).text() for row in range(self.photos.count()))

    def refuse(self, text: str) -> None:
        """Say in one sentence what can't be kept."""
        self.refusal.setText(text)
        self.refusal.setVisible(bool(text))

    def _add_photo(self) -> None:
        known = self.photo_paths
        folder = str(Path(known[-1]).parent) if known else ""
        photo = messages.open_file(self, "A photo", folder=folder, filters=PHOTOS)
        if photo is not None and str(photo) not in known:
            self.photos.addItem(str(photo))
