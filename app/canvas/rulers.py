"""Rulers and scale bars: where their marks go and how they are drawn."""

import math

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from app.canvas.faces_layout import RULER_PX, Face
from app.theme.theme import CanvasColours
from core.units import MM_PER_INCH

LABEL_ROOM_PX = 64
TICK_ROOM_PX = 6


def label_step(px_per_unit: float) -> float:
    """Distance between labels: 1, 2 or 5 times a power of ten, at least ``LABEL_ROOM_PX`` apart."""
    return round_step(LABEL_ROOM_PX / px_per_unit)


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not below ``least``."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= least * (1 - 1e-9))


def ticks_per_label(step_px: float) -> int:
    """How many parts a labelled step is divided into."""
    return next((parts for parts in (10, 5, 2) if step_px / parts >= TICK_ROOM_PX), 1)


def label_text(value: float, step: float) -> str:
    """A ruler label with just the decimals its step needs; the zero without a sign."""
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) else text.lstrip("-")


def scale_bar(px_per_mm: float, *, inches: bool, room_px: float) -> tuple[float, str]:
    """Length in px of a round length that fits the room, and its text."""
    mm_per_unit, unit = (MM_PER_INCH, "in") if inches else (1.0, "mm")
    step = round_step(room_px / px_per_mm / mm_per_unit)
    while step * mm_per_unit * px_per_mm > room_px:
        step = round_step(step / 2.6)
    return step * mm_per_unit * px_per_mm, f"{label_text(step, step)} {unit}"


def paint_rulers(
    painter: QPainter,
    face: Face,
    colours: CanvasColours,
    font: QFont,
    *,
    inches: bool,
    pointer: tuple[float, float] | None,
) -> None:
    """Both rulers of a face in its own frame, with marks at the pointer (front point)."""
    area = face.area
    top = QRect(area.left(), area.top() - RULER_PX, area.width(), RULER_PX)
    left = QRect(area.left() - RULER_PX, area.top(), RULER_PX, area.height())
    corner = QRect(left.left(), top.top(), RULER_PX, RULER_PX)
    for box in (top, left, corner):
        painter.fillRect(box, QColor(colours.ruler))
    unit_mm = MM_PER_INCH if inches else 1.0
    painter.setFont(font)
    start = face.own(*face.to_front(QPointF(area.left(), area.top())))
    _paint_ruler(painter, top, start[0] / unit_mm, face.view.px_per_mm * unit_mm, colours, upright=False)
    _paint_ruler(painter, left, start[1] / unit_mm, face.view.px_per_mm * unit_mm, colours, upright=True)
    painter.setPen(QColor(colours.ruler_text))
    smaller = QFont(font)
    smaller.setPixelSize(font.pixelSize() - 2)
    painter.setFont(smaller)
    painter.drawText(corner, Qt.AlignmentFlag.AlignCenter, "in" if inches else "mm")
    painter.setPen(QPen(QColor(colours.ruler_line), 1))
    painter.drawLine(top.bottomLeft(), top.bottomRight())
    painter.drawLine(left.topRight(), left.bottomRight())
    if pointer is not None:
        _paint_pointer(painter, face, top, left, pointer, colours)


def _paint_ruler(
    painter: QPainter, box: QRect, first: float, px_per_unit: float, colours: CanvasColours, *, upright: bool
) -> None:
    step = label_step(px_per_unit)
    parts = ticks_per_label(step * px_per_unit)
    length = box.height() if upright else box.width()
    last = first + length / px_per_unit
    painter.save()
    painter.setClipRect(box)
    painter.translate(box.topLeft())
    if upright:  # drawn lying, its labels read upwards
        painter.translate(0, length)
        painter.rotate(-90)
    metrics = QFontMetricsF(painter.font())
    ticks, labels = [], []
    for nth in range(
        math.ceil((first - LABEL_ROOM_PX / px_per_unit) / step * parts), math.floor(last / step * parts) + 1
    ):
        at = (nth * step / parts - first) * px_per_unit
        place = round(length - at) - 0.5 if upright else round(at) + 0.5
        labelled = nth % parts == 0
        tick = RULER_PX if labelled else RULER_PX * (0.45 if parts == 10 and nth % 5 == 0 else 0.3)
        ticks.append(QLineF(place, RULER_PX - tick, place, RULER_PX))
        if labelled and 0 <= place < length:
            labels.append((place + 3, label_text(nth * step / parts, step)))
    painter.setPen(QPen(QColor(colours.ruler_line), 1))
    painter.drawLines(ticks)
    painter.setPen(QColor(colours.ruler_text))
    for place, text in labels:
        if place + metrics.horizontalAdvance(text) <= length:
            painter.drawText(QPointF(place, RULER_PX - 8), text)
    painter.restore()


def _paint_pointer(
    painter: QPainter, face: Face, top: QRect, left: QRect, pointer: tuple[float, float], colours: CanvasColours
) -> None:
    at = face.to_px(*pointer)
    colour = QColor(colours.ruler_text)
    if top.left() <= at.x() <= top.right():
        painter.fillRect(QRectF(at.x() - 1, top.top(), 2, top.height()), colour)
    if left.top() <= at.y() <= left.bottom():
        painter.fillRect(QRectF(left.left(), at.y() - 1, left.width(), 2), colour)
