"""Flaws of the sheet on the faces: on the clear face solid edges and crossed lines, in the coat dashes and dots."""

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import shapely
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPixmap

from app.canvas.faces_layout import Face
from app.canvas.regions import area_path
from app.theme import patterns
from app.theme.theme import CanvasColours, Theme
from core.sheet.flaws import flaw_region
from core.sheet.placement import Flaw, Sheet

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SMALL_PX = 12.0
RING_PX = 9.0
REACH_PX = 6.0
DASHES_PX = (5.0, 3.0)
SURFACE_WORDS = {"clear face": "on the clear face", "coat": "in the coat"}


def flaw_words(number: int, flaw: Flaw) -> str:
    """A flaw in words, counted from 1: ``"2: line in the coat, from the saw"``."""
    note = f", {flaw.note}" if flaw.note else ""
    return f"{number + 1}: {flaw.kind} {SURFACE_WORDS[flaw.surface]}{note}"


class FlawLayer:
    """The flaws of one face as a picture, painted anew only when something about them changed: not while dragging."""

    def __init__(self) -> None:
        self._key: object = None
        self._picture = QPixmap()

    def lay(
        self, painter: QPainter, face: Face, sheet: Sheet, theme: Theme, font: QFont, density: float, chosen: int | None
    ) -> None:
        """Lay the flaws on the face."""
        if not sheet.flaws:
            return
        key = (face, sheet, theme.name, font, density, chosen)
        if key != self._key:
            self._key = key
            self._picture = QPixmap(face.area.size() * density)
            self._picture.setDevicePixelRatio(density)
            self._picture.fill(Qt.GlobalColor.transparent)
            with QPainter(self._picture) as inner:
                inner.setRenderHint(QPainter.RenderHint.Antialiasing)
                inner.translate(-face.area.topLeft())
                paint_flaws(inner, face, sheet, theme.canvas, font, chosen=chosen)
        painter.drawPixmap(face.area.topLeft(), self._picture)


def paint_flaws(
    painter: QPainter, face: Face, sheet: Sheet, colours: CanvasColours, font: QFont, *, chosen: int | None = None
) -> None:
    """All flaws of the sheet at their places on a face; the chosen one stands out."""
    boxes: list[QRectF] = []
    for number, flaw in enumerate(sheet.flaws):
        strong = number == chosen
        path = area_path(face, _region(flaw, sheet))
        box = _box(face, flaw, sheet)
        if not box.intersects(QRectF(face.area)):
            continue
        for colour, width in (
            (colours.halo, 4.0),
            (colours.selection if strong else colours.flaw, 2.5 if strong else 1.5),
        ):
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(_pen(flaw, colour, width) if colour != colours.halo else QPen(QColor(colour), width))
            painter.drawPath(path)
            if max(box.width(), box.height()) < SMALL_PX:
                painter.drawEllipse(box.center(), RING_PX, RING_PX)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(flaw_brush(flaw, colours.flaw, face))
        painter.drawPath(path)
        _paint_number(painter, box, number, font, colours, boxes, QRectF(face.area))


def flaw_brush(flaw: Flaw, colour: str, face: Face | None = None, *, density: float = 1.0) -> QBrush:
    """The pattern of the surface that the flaw is on, fixed to the sheet where a face is given."""
    origin = face.to_px(0.0, 0.0) if face is not None else QPointF()
    pattern = patterns.weave if flaw.surface == "clear face" else patterns.dots
    return pattern(colour, None, origin=origin, density=density)


def _pen(flaw: Flaw, colour: str, width_px: float) -> QPen:
    return patterns.dashed_pen(colour, width_px, DASHES_PX if flaw.surface == "coat" else ())


def flaw_at(face: Face, sheet: Sheet, point: QPointF) -> int | None:
    """The number of the flaw under a pixel of a face, the uppermost; None for none."""
    for number in range(len(sheet.flaws) - 1, -1, -1):
        flaw = sheet.flaws[number]
        box = _box(face, flaw, sheet)
        if box.adjusted(-REACH_PX, -REACH_PX, REACH_PX, REACH_PX).contains(point):
            region = flaw_region(flaw, sheet, grown_mm=REACH_PX / face.view.px_per_mm)
            if shapely.intersects_xy(region, *face.to_front(point)):
                return number
    return None


def _box(face: Face, flaw: Flaw, sheet: Sheet) -> QRectF:
    return face.rect_px(*_region(flaw, sheet).bounds)


@lru_cache(maxsize=512)
def _region(flaw: Flaw, sheet: Sheet) -> "BaseGeometry":
    """Flaws are painted at every move of the pointer; a rounder edge than this would not be seen."""
    return shapely.simplify(flaw_region(flaw, sheet), 0.005)


def _paint_number(
    painter: QPainter,
    box: QRectF,
    number: int,
    font: QFont,
    colours: CanvasColours,
    taken: list[QRectF],
    area: QRectF,
) -> None:
    """The flaw's number on a plate beside it, clear of the plates before."""
    text, metrics = str(number + 1), QFontMetricsF(font)
    plate = QRectF(0, 0, metrics.horizontalAdvance(text) + 8, metrics.height() + 2)
    gap = RING_PX + 2 if max(box.width(), box.height()) < SMALL_PX else 3.0
    middle = box.center()
    corners = (
        QPointF(middle.x() + min(box.width() / 2, 60) + gap, middle.y() - plate.height() / 2),
        QPointF(middle.x() - plate.width() / 2, box.top() - gap - plate.height()),
        QPointF(middle.x() - plate.width() / 2, box.bottom() + gap),
    )
    for corner in corners:
        plate.moveTopLeft(corner)
        if area.contains(plate) and not any(plate.intersects(other) for other in taken):
            break
    taken.append(QRectF(plate))
    painter.setPen(QPen(QColor(colours.flaw), 1.0))
    painter.setBrush(QColor(colours.halo))
    painter.drawRoundedRect(plate, 3.0, 3.0)
    painter.setFont(font)
    painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, text)


def paint_course(
    painter: QPainter, face: Face, points_mm: Sequence[tuple[float, float]], colours: CanvasColours, *, closed: bool
) -> None:
    """A flaw that is being noted: its places so far and the lines between."""
    places = [face.to_px(x, y) for x, y in points_mm]
    pairs = list(zip(places, [*places[1:], *(places[:1] if closed and len(places) > 2 else [])], strict=False))
    for colour, width in ((colours.halo, 4.0), (colours.flaw, 2.0)):
        painter.setPen(QPen(QColor(colour), width))
        for start, end in pairs:
            painter.drawLine(QLineF(start, end))
    painter.setBrush(QColor(colours.halo))
    painter.setPen(QPen(QColor(colours.flaw), 1.5))
    for place in places:
        painter.drawEllipse(place, 4.0, 4.0)
