"""A purpose's sign as a widget: the pattern that it has on the faces. The words beside it say the same."""

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QIcon, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.qt.guarded import Guarded
from app.theme.icons import purpose_icon
from app.theme.live_icon import live_icon
from app.theme.theme import theme
from core.purposes import Purpose

CHIP_PX = 16


class PurposeSwatch(Guarded, QWidget):
    """Follows the theme by itself, since it is drawn anew with it."""

    def __init__(self, purpose: Purpose) -> None:
        super().__init__()
        self._icon = purpose_icon(purpose)
        self.setFixedSize(QSize(32, 24))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        with QPainter(self) as painter:
            self._icon.paint(painter, self.rect())


class Sign(Guarded, QWidget):
    """An icon as a widget: sharp at any density, in the colours of the theme of the moment."""

    def __init__(self, size_px: int = 20) -> None:
        super().__init__()
        self._icon = QIcon()
        self.setFixedSize(QSize(size_px, size_px))

    def show_icon(self, sign: QIcon) -> None:
        """Show another one."""
        self._icon = sign
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        with QPainter(self) as painter:
            self._icon.paint(painter, self.rect())


def colour_chip(colour: str) -> QIcon:
    """A patch of a layer's own colour, edged so that it stands out from any ground."""

    def draw(painter: QPainter, room: QRectF) -> None:
        painter.setPen(QPen(QColor(theme().palette.border), 1))
        painter.setBrush(QColor(colour))
        painter.drawRoundedRect(room.adjusted(1.5, 1.5, -1.5, -1.5), 3, 3)

    return live_icon(QSize(CHIP_PX, CHIP_PX), draw)
