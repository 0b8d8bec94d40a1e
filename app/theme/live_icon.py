"""An icon that is drawn whenever it is shown, so that it has the colours of the theme of the moment."""

from collections.abc import Callable

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QIconEngine, QPainter, QPixmap

from app.qt.guarded import Guarded

Draw = Callable[[QPainter, QRectF], None]


def live_icon(size: QSize, draw: Draw) -> QIcon:
    """What ``draw`` paints into a rectangle of that size, px, the same whether it is chosen or not."""
    return QIcon(_LiveEngine(size, draw))


class _LiveEngine(Guarded, QIconEngine):
    def __init__(self, size: QSize, draw: Draw) -> None:
        super().__init__()
        self._size, self._draw = size, draw

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        """Qt: draw into a rectangle."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw(painter, QRectF(rect))
        painter.restore()

    def actualSize(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QSize:
        """Qt: how large it is where there is so much room."""
        return self._size.scaled(size, Qt.AspectRatioMode.KeepAspectRatio) if _holds(self._size, size) else self._size

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Qt: a picture of so many device pixels; a larger one is taken for one of a denser screen."""
        picture = QPixmap(size)
        picture.fill(Qt.GlobalColor.transparent)
        with QPainter(picture) as painter:
            scale = max(1.0, size.height() / self._size.height())
            painter.scale(scale, scale)
            self.paint(painter, QRect(0, 0, round(size.width() / scale), round(size.height() / scale)), mode, state)
        return picture

    def clone(self) -> QIconEngine:
        """Qt: another one just like it."""
        return _LiveEngine(self._size, self._draw)


def _holds(whole: QSize, room: QSize) -> bool:
    return whole.width() > room.width() or whole.height() > room.height()
