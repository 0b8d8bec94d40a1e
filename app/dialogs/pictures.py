"""Pictures in dialogs: how large one is and how it is taken, asked at opening; before and after at true size."""

from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.fields import ChoiceField, LengthField, words
from app.widgets.plain_text import plain_label
from core.units import MM_PER_INCH

MOST_SHOWN_PX = 3200
SIZES = (("At true size", 1.0), ("Twice as large", 2.0), ("4 times as large", 4.0), ("8 times as large", 8.0))
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
    """A picture as it came and as it is taken, at true size on this screen or larger, beside each other or one below
    the other, whichever shows more of it; nearly as large as the window that it is opened from."""

    def __init__(self, parent: QWidget | None, before: Side, after: Side, width_mm: float) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Before and after"))
        self._across_px = width_mm / MM_PER_INCH * (self.screen().physicalDotsPerInchX() if self.screen() else 96.0)
        self._sides = (before, after)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(16)
        self._shown = tuple(_Shown(side) for side in self._sides)
        wide = before.image.width() > 2 * before.image.height()
        line = QVBoxLayout() if wide else QHBoxLayout()
        line.setSpacing(16)
        for shown in self._shown:
            line.addLayout(shown, 1)
        layout.addLayout(line, 1)
        _move_together(*(shown.area for shown in self._shown))
        self._size = ChoiceField("Size of the pictures", SIZES)
        self._size.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self._size.show_value(1.0)
        self._size.chosen.connect(self.show_at)
        self._told = words("", role="quiet")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        foot = QHBoxLayout()
        foot.setSpacing(16)
        foot.addWidget(self._size)
        foot.addWidget(self._told, 1)
        foot.addWidget(buttons)
        layout.addLayout(foot)
        room = parent.window().size() if parent is not None else QSize(1280, 800)
        self.resize(max(640, round(0.94 * room.width())), max(480, round(0.92 * room.height())))
        self.show_at(1.0)

    def show_at(self, times: object) -> None:
        """Show both so many times as large as they are in truth, as the choice below them does."""
        assert isinstance(times, float)
        self._size.show_value(times)
        wanted_px = times * self._across_px
        shown_px = max(1, round(min(wanted_px, MOST_SHOWN_PX)))
        for shown in self._shown:
            shown.show_across(shown_px)
        if wanted_px > MOST_SHOWN_PX:
            told = caption("Smaller than that: no screen needs more.")
        else:
            told = caption("On this screen.")
        self._told.setText(told)


class _Shown(QVBoxLayout):
    """One side: its heading, the picture to scroll in, what is told of it."""

    def __init__(self, side: Side) -> None:
        super().__init__()
        self.setSpacing(8)
        self._image = side.image
        self._picture = plain_label()
        self._picture.setAccessibleName(side.caption)
        self.area = QScrollArea()
        self.area.setWidget(self._picture)
        self.area.setMinimumSize(280, 160)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setCornerWidget(QWidget())
        self.addWidget(words(side.caption, role="heading"))
        self.addWidget(self.area, 1)
        self.addWidget(words(side.told))

    def show_across(self, across_px: int) -> None:
        """Show the picture so wide."""
        scaled = self._image.scaledToWidth(across_px, Qt.TransformationMode.SmoothTransformation)
        self._picture.setPixmap(QPixmap.fromImage(scaled))
        self._picture.adjustSize()


def _move_together(one: QScrollArea, other: QScrollArea) -> None:
    """Both show the same part of the picture."""
    for this, that in ((one, other), (other, one)):
        this.horizontalScrollBar().valueChanged.connect(that.horizontalScrollBar().setValue)
        this.verticalScrollBar().valueChanged.connect(that.verticalScrollBar().setValue)
