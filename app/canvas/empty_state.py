"""What an empty view shows: a calm invitation to bring artwork."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QLinearGradient, QPainter, QPainterPath, QPen

from app.theme.theme import Theme, mixed

PANEL_W_PX, PANEL_H_PX = 440.0, 300.0
SIGN_RATIO = 1.4
"""Width of the sign over its height."""


def paint_empty(
    painter: QPainter, area: QRectF, font: QFont, title: str, hint: str, theme: Theme, density: float
) -> None:
    """A dashed field with a shape and its mirror image, a title and a hint, in the middle of the area."""
    palette = theme.palette
    painter.fillRect(area, QColor(palette.window))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    size = QRectF(0, 0, min(PANEL_W_PX, area.width() - 32), min(PANEL_H_PX, area.height() - 32))
    size.moveCenter(area.center())
    pen = QPen(QColor(palette.border), 1.5)
    pen.setDashPattern([5.0, 4.0])
    painter.setPen(pen)
    painter.setBrush(QColor(palette.surface))
    painter.drawRoundedRect(size, 16.0, 16.0)
    title_font = QFont(font)
    title_font.setPointSizeF(font.pointSizeF() * 1.5)
    title_font.setWeight(QFont.Weight.DemiBold)
    words = size.adjusted(24, 0, -24, -24)
    hint_box = QFontMetricsF(font).boundingRect(words, int(Qt.TextFlag.TextWordWrap), hint)
    title_box = QFontMetricsF(title_font).boundingRect(words, int(Qt.TextFlag.TextWordWrap), title)
    picture_h = 88.0 if size.height() > 88.0 + 28 + title_box.height() + hint_box.height() + 48 else 0.0
    top = size.center().y() - (picture_h + 28 + title_box.height() + 8 + hint_box.height()) / 2
    if picture_h:
        sign = QRectF(0, 0, picture_h * SIGN_RATIO, picture_h)
        sign.moveCenter(QPointF(size.center().x(), top + picture_h / 2))
        paint_sign(painter, sign, theme)
    flags = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop) | int(Qt.TextFlag.TextWordWrap)
    painter.setFont(title_font)
    painter.setPen(QColor(palette.text))
    at = top + picture_h + 28
    painter.drawText(QRectF(words.left(), at, words.width(), title_box.height() + 2), flags, title)
    painter.setFont(font)
    painter.setPen(QColor(palette.quiet))
    at += title_box.height() + 8
    painter.drawText(QRectF(words.left(), at, words.width(), hint_box.height() + 2), flags, hint)


def paint_sign(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A small sail in silver, and mirrored as scan rows: the front and the bed."""
    canvas, middle = theme.canvas, box.center()
    unit = box.height() / 8
    half = QPainterPath(QPointF(0, -4 * unit))
    half.cubicTo(QPointF(3.4 * unit, -2 * unit), QPointF(4.4 * unit, 1.0 * unit), QPointF(4.6 * unit, 3 * unit))
    half.lineTo(QPointF(0, 3 * unit))
    half.closeSubpath()
    painter.save()
    painter.translate(middle)
    painter.setPen(Qt.PenStyle.NoPen)
    sheen = QLinearGradient(-5 * unit, -4 * unit, 0, 3 * unit)
    sheen.setColorAt(0.0, QColor(canvas.coat_bright))
    sheen.setColorAt(1.0, QColor(mixed(canvas.coat_deep, theme.palette.border, 0.35)))
    painter.setBrush(sheen)
    painter.save()
    painter.translate(-unit * 0.7, 0)
    painter.scale(-1, 1)
    painter.drawPath(half)
    painter.restore()
    painter.translate(unit * 0.7, 0)
    painter.setClipPath(half)
    pen = QPen(QColor(theme.palette.accent), unit * 0.36)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    for row in range(8):
        y = (-3.3 + row * 0.84) * unit
        painter.drawLine(QPointF(unit * 0.2, y), QPointF(6 * unit, y))
    painter.restore()
