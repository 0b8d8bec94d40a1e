"""How large is this drawing? Asked when the file does not say what one of its units is."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QDialog,
    QGridLayout,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.fields import words
from app.widgets.plain_text import plain_label
from app.words.wording import grouped, size_text
from core.units import MM_PER_UNIT

CHOICES = (
    ("Pixels, 96 an inch", "px"),
    ("Millimetres", "mm"),
    ("Centimetres", "cm"),
    ("Inches", "in"),
    ("Points, 72 an inch", "pt"),
)


class UnitsQuestion(QDialog):
    """Each unit with the size it would give; ``unit`` is the one chosen.

    ``width_mm`` and ``height_mm`` are what the page comes to at 96 units an inch.
    """

    def __init__(self, parent: QWidget | None, name: str, width_mm: float, height_mm: float) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("How large is it?"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(16)
        width, height = width_mm / MM_PER_UNIT["px"], height_mm / MM_PER_UNIT["px"]
        title = words(filled("{name} does not say how large it is.", name=name), role="heading")
        title.setMinimumWidth(400)
        layout.addWidget(title)
        layout.addWidget(
            words(
                filled(
                    "Its page is {plain} × {plain_2} units. What is one unit?",
                    plain=_plain(width),
                    plain_2=_plain(height),
                )
            )
        )
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(8)
        self._group = QButtonGroup(self)
        for row, (what, unit) in enumerate(CHOICES):
            mm = MM_PER_UNIT[unit]
            size = size_text(width * mm, height * mm)
            inches = size_text(width * mm, height * mm, inches=True)
            choice = QRadioButton(what)
            choice.setAccessibleName(f"{what}: {size}")
            choice.setChecked(row == 0)
            self._group.addButton(choice, row)
            grid.addWidget(choice, row, 0)
            for column, text in ((1, size), (2, inches)):
                label = plain_label(text)
                label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                label.setProperty("role", "figure" if column == 1 else "quiet")
                grid.addWidget(label, row, column)
        grid.setColumnStretch(0, 1)
        layout.addLayout(grid)
        layout.addWidget(words("The Artwork page lets you change it later.", role="quiet"))
        layout.addLayout(Foot(self, "&Open at this size", leave="Don't open"))

    @property
    def unit(self) -> str:
        """The unit chosen."""
        return CHOICES[self._group.checkedId()][1]

    def choose(self, unit: str) -> None:
        """Choose a unit as a click does."""
        at = [key for _, key in CHOICES].index(unit)
        self._group.button(at).setChecked(True)


def _plain(number: float) -> str:
    return grouped(number, 0 if abs(number - round(number)) < 1e-6 else 2)
