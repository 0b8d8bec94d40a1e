"""A small picture of the artwork on a white page, for lists of files: the same in light and dark, as paper is."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter

PICTURE = QSize(132, 88)
DENSITY = 2.0
RIM_PX = 6.0
PAGE = "#ffffff"


def thumbnail(artwork: QImage, *, size: QSize = PICTURE, density: float = DENSITY) -> QImage:
    """The picture of the artwork, as large as fits on a page of this size."""
    page = QImage(size * density, QImage.Format.Format_RGB32)
    page.fill(QColor(PAGE))
    with QPainter(page) as painter:
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        room = QRectF(page.rect()).adjusted(*(RIM_PX * density * side for side in (1, 1, -1, -1)))
        drawn = artwork.scaled(
            room.size().toSize(), Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
        drawn.setDevicePixelRatio(1.0)
        painter.drawImage(room.center() - QPointF(drawn.width(), drawn.height()) / 2, drawn)
    page.setDevicePixelRatio(density)
    return page
