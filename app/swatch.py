"""A purpose's sign as a widget: the pattern that it has on the faces. The words beside it say the same."""

from PySide6.QtCore import QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from app.icons import purpose_icon
from core.burning.recipes import Purpose


class PurposeSwatch(QWidget):
    """Follows the theme by itself, since it is drawn anew with it."""

    def __init__(self, purpose: Purpose) -> None:
        super().__init__()
        self._icon = purpose_icon(purpose)
        self.setFixedSize(QSize(32, 24))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        self._icon.paint(QPainter(self), self.rect())
