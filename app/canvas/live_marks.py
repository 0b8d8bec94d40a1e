"""Paints what changes with every move of the pointer: band, guides, the pointer's place."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from app.canvas.faces_layout import Face
from app.theme.theme import CanvasColours

if TYPE_CHECKING:
    from app.canvas.outlines import Box
    from app.canvas.placing import Snapped

POINTER_PX = 7


def paint_pointer(painter: QPainter, face: Face, point: tuple[float, float], colours: CanvasColours) -> None:
    """A ring where the pointer's place is found on this, the other, face."""
    at = face.to_px(*point)
    for colour, width in ((colours.halo, 4.0), (colours.pointer, 1.75)):
        painter.setPen(QPen(QColor(colour), width))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, POINTER_PX, POINTER_PX)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            inner, outer = POINTER_PX, POINTER_PX + 5
            painter.drawLine(QLineF(at.x() + dx * inner, at.y() + dy * inner, at.x() + dx * outer, at.y() + dy * outer))


def paint_band(painter: QPainter, face: Face, band: "Box", colours: CanvasColours) -> None:
    """The rubber band, shown at its place on both faces."""
    box = face.rect_px(*band)
    ground = QColor(colours.selection)
    ground.setAlphaF(0.12)
    painter.setBrush(ground)
    painter.setPen(QPen(QColor(colours.halo), 3.0))
    painter.drawRect(box)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(colours.selection), 1.25))
    painter.drawRect(box)


def paint_guides(painter: QPainter, face: Face, shift: "Snapped", colours: CanvasColours) -> None:
    """Lines that a dragged artwork is caught by."""
    area = QRectF(face.area)
    painter.setPen(QPen(QColor(colours.snap), 1.25, Qt.PenStyle.DashLine))
    for x_mm in shift.x_lines_mm:
        x = round(face.to_px(x_mm, 0.0).x()) + 0.5
        painter.drawLine(QLineF(x, area.top(), x, area.bottom()))
    for y_mm in shift.y_lines_mm:
        y = round(face.to_px(0.0, y_mm).y()) + 0.5
        painter.drawLine(QLineF(area.left(), y, area.right(), y))
    if shift.slanted is not None:
        x0, y0, x1, y1 = shift.slanted
        painter.drawLine(QLineF(face.to_px(x0, y0), face.to_px(x1, y1)))


def paint_artwork_box(painter: QPainter, face: Face, bounds: "Box", colours: CanvasColours) -> None:
    """A thin box around what is burned, as a handle for dragging."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    box = face.rect_px(*bounds).adjusted(-4, -4, 4, 4)
    painter.setPen(QPen(QColor(colours.halo), 3.0))
    painter.drawRect(box)
    painter.setPen(QPen(QColor(colours.selection), 1.25, Qt.PenStyle.DashLine))
    painter.drawRect(box)


def paint_label(painter: QPainter, at: QPointF, text: str, font: QFont, colours: CanvasColours, area: QRectF) -> None:
    """A small label beside a point, kept within the area."""
    metrics = QFontMetricsF(font)
    box = QRectF(at.x() + 14, at.y() + 14, metrics.horizontalAdvance(text) + 12, metrics.height() + 6)
    box.moveRight(min(box.right(), area.right() - 4))
    box.moveBottom(min(box.bottom(), area.bottom() - 4))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colours.selection))
    painter.drawRoundedRect(box, 4.0, 4.0)
    painter.setFont(font)
    painter.setPen(QColor(colours.halo))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
