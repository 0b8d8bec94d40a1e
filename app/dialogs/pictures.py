"""Pictures in dialogs: how large one is and how it is taken, asked at opening; before and after at true size."""

from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.fields import ChoiceField, LengthField, words
from app.widgets.plain_text import plain_label
from core.units import MM_PER_INCH

MOST_SHOWN_PX = 1600
WAYS = (("Traced: a logo, lettering, line art", "trace"), ("Screened: a photograph, by its tones", "screen"))


class PictureQuestion(QDialog):
    """Asks for the width of a picture that does not say it, and whether it is traced or screened."""

    def __init__(self, parent: QWidget | None, name: str, width_mm: float) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("How large is it?"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(16)
        title = words(filled("{name} does not say how large it is.", name=name), role="heading")
        title.setMinimumWidth(400)
        layout.addWidget(title)
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(8)
        self._width = LengthField("Width of the picture", low=0.1, high=20_000)
        self._width.show_value(width_mm)
        self._way = ChoiceField(
            "How the picture is taken",
            WAYS,
        )
        for row, (label, field) in enumerate((("Its &width", self._width), ("It is &taken", self._way))):
            named = plain_label(label)
            named.setBuddy(field)
            grid.addWidget(named, row, 0)
            grid.addWidget(field, row, 1)
        grid.setColumnStretch(1, 1)
        layout.addLayout(grid)
        layout.addWidget(words("The Artwork page lets you change both later.", role="quiet"))
        layout.addLayout(Foot(self, "&Open it", leave="Don't open"))

    @property
    def width_mm(self) -> float:
        """The width chosen."""
        return float(self._width.value())

    @property
    def way(self) -> str:
        """ "trace" or "screen"."""
        return WAYS[self._way.currentIndex()][1]

    def choose(self, *, width_mm: float, way: str) -> None:
        """Choose as clicks do."""
        self._width.show_value(width_mm)
        self._way.show_value(way)


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One of two pictures beside each other: its heading, the picture, what is told below it."""

    caption: str
    image: QImage
    told: str


class BeforeAndAfter(QDialog):
    """A picture as it came and as it is taken, at true size on this screen where that fits."""

    def __init__(self, parent: QWidget | None, before: Side, after: Side, width_mm: float) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Before and after"))
        across_px = width_mm / MM_PER_INCH * (self.screen().physicalDotsPerInchX() if self.screen() else 96.0)
        shown_px = round(min(across_px, MOST_SHOWN_PX))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        line = QHBoxLayout()
        line.setSpacing(16)
        areas: list[QScrollArea] = []
        for side in (before, after):
            column = QVBoxLayout()
            column.addWidget(words(side.caption, role="heading"))
            shown = plain_label()
            shown.setAccessibleName(side.caption)
            shown.setPixmap(
                QPixmap.fromImage(side.image).scaledToWidth(
                    max(1, shown_px), Qt.TransformationMode.SmoothTransformation
                )
            )
            area = QScrollArea()
            area.setWidget(shown)
            area.setMinimumSize(280, 220)
            area.setFrameShape(QFrame.Shape.NoFrame)
            area.setCornerWidget(QWidget())
            areas.append(area)
            column.addWidget(area, 1)
            column.addWidget(words(side.told))
            line.addLayout(column, 1)
        layout.addLayout(line, 1)
        _move_together(*areas)
        fits = across_px <= MOST_SHOWN_PX
        layout.addWidget(words("At true size on this screen." if fits else "Smaller than true size.", role="quiet"))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        layout.addWidget(buttons)


def _move_together(one: QScrollArea, other: QScrollArea) -> None:
    """Both show the same part of the picture."""
    for this, that in ((one, other), (other, one)):
        this.horizontalScrollBar().valueChanged.connect(that.horizontalScrollBar().setValue)
        this.verticalScrollBar().valueChanged.connect(that.verticalScrollBar().setValue)
