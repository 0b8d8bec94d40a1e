"""Brushes and pens of the looks: hatches that stay fixed to the sheet, line patterns in px."""

import math
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPen, QTransform

from app.theme.theme import PurposeLook

HATCH_PX = 7
WEAVE_PX = 8
DOTS_PX = 7

_DASHES_PX = {"long dash": (14.0, 5.0), "dotted": (1.5, 3.5), "dash dot": (9.0, 4.0, 2.0, 4.0)}


def line_pen(look: PurposeLook, *, start_px: float = 0.0) -> QPen:
    """The pen of a purpose, its width and dashes in px at any zoom; ``start_px`` along the line begins the dashes."""
    return _pen(look.colour, look.width_px, _DASHES_PX.get(look.line, ()), start_px)


def dashed_pen(colour: str, width_px: float, dashes_px: tuple[float, ...], *, start_px: float = 0.0) -> QPen:
    """Any other pen in px."""
    return _pen(colour, width_px, dashes_px, start_px)


def _pen(colour: str, width_px: float, dashes_px: tuple[float, ...], start_px: float) -> QPen:
    pen = QPen(QColor(colour), width_px)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.BevelJoin)
    if dashes_px:
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setDashPattern([dash / width_px for dash in dashes_px])
        pen.setDashOffset(start_px / width_px)
    else:
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


def hatch(
    colour: str, ground: str | None, *, angle_deg: float, origin: QPointF, density: float, spacing: float = 1.0
) -> QBrush:
    """Parallel lines 1 px wide at an angle (0 along +x, towards +y); a line runs through ``origin``, px.

    spacing: how many times further apart than usual. The brush is in px of a picture of that density; see ``in_frame``
    for use under a transform.
    """
    period = round(HATCH_PX * spacing * density)
    tile = _line_tile(colour, ground, period, max(1, round(density)))
    return _placed(tile, angle_deg, origin, density)


def weave(colour: str, ground: str | None, *, origin: QPointF, density: float) -> QBrush:
    """Crossed slanting lines; looks the same mirrored."""
    return _placed(_weave_tile(colour, ground, round(WEAVE_PX * density)), 0.0, origin, density)


def dots(colour: str, ground: str | None, *, origin: QPointF, density: float, spacing: float = 1.0) -> QBrush:
    """Staggered dots, so many times further apart than usual; looks the same mirrored."""
    side = round(DOTS_PX * spacing * density)
    return _placed(_dots_tile(colour, ground, side, DOTS_PX * density * 0.18), 0.0, origin, density)


def in_frame(brush: QBrush, transform: QTransform) -> QBrush:
    """The brush for painting under a transform that would otherwise take it along."""
    back, _ = transform.inverted()
    result = QBrush(brush)
    result.setTransform(brush.transform() * back)
    return result


def _placed(tile: QImage, angle_deg: float, origin: QPointF, density: float) -> QBrush:
    # only the part of the origin within one tile matters; large offsets would overflow the texture's coordinates
    period = tile.width() / density
    turn = QTransform().rotate(angle_deg)
    back, _ = turn.inverted()
    local = back.map(origin)
    if angle_deg % 90.0 == 0.0:  # whole device pixels keep the lines sharp
        local = QPointF(round(local.x() * density) / density, round(local.y() * density) / density)
    shift = QTransform.fromTranslate(math.fmod(local.x(), period), math.fmod(local.y(), period))
    brush = QBrush(tile)
    brush.setTransform(QTransform.fromScale(1 / density, 1 / density) * shift * turn)
    return brush


@lru_cache(maxsize=64)
def _line_tile(colour: str, ground: str | None, side: int, line: int) -> QImage:
    tile = _ground(ground, side)
    with QPainter(tile) as painter:
        painter.fillRect(0, 0, side, line, QColor(colour))
    return tile


@lru_cache(maxsize=64)
def _weave_tile(colour: str, ground: str | None, side: int) -> QImage:
    tile = _ground(ground, side)
    with QPainter(tile) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(colour), side / WEAVE_PX))
        for shift in (-side, 0, side):
            painter.drawLine(QPointF(shift - 1, -1), QPointF(shift + side + 1, side + 1))
            painter.drawLine(QPointF(shift - 1, side + 1), QPointF(shift + side + 1, -1))
    return tile


@lru_cache(maxsize=64)
def _dots_tile(colour: str, ground: str | None, side: int, radius: float) -> QImage:
    tile = _ground(ground, side)
    with QPainter(tile) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colour))
        for x, y in ((0, 0), (side, 0), (0, side), (side, side), (side / 2, side / 2)):
            painter.drawEllipse(QRectF(x - radius, y - radius, 2 * radius, 2 * radius))
    return tile


def _ground(colour: str | None, side: int) -> QImage:
    tile = QImage(side, side, QImage.Format.Format_ARGB32_Premultiplied)
    tile.fill(QColor(colour) if colour else Qt.GlobalColor.transparent)
    return tile
