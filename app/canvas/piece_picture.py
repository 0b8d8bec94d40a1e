"""Small pictures of pieces of sheet: outline, flaws, and what a job takes of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QIcon, QPainter, QPaintEvent, QPen, QTransform
from PySide6.QtWidgets import QWidget

from app.canvas.flaw_marks import DASHES_PX, flaw_brush
from app.canvas.regions import region_path
from app.canvas.sheet_picture import ruler_font
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme import patterns
from app.theme.live_icon import live_icon
from app.theme.theme import theme
from core.geometry.region import BaseGeometry
from core.sheet.flaws import flaw_region
from core.sheet.offcuts import Piece, piece_region, sheet_of

RIM_PX = 4
THUMB = QSize(120, 72)
LEAST = QSize(240, 150)
LEAST_FLAW_PX = 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceLook:
    """What is shown of a piece. burned: what the job burns there; parts: regions left, with the label of each."""

    piece: Piece
    burned: BaseGeometry | None = None
    parts: tuple[tuple[BaseGeometry, str], ...] = ()


def paint_piece(painter: QPainter, room: QRectF, look: PieceLook, font: QFont) -> None:
    """Paint a piece as large as the room allows, front up."""
    region = piece_region(look.piece)
    _, _, width_mm, height_mm = region.bounds
    scale = min((room.width() - 2 * RIM_PX) / width_mm, (room.height() - 2 * RIM_PX) / height_mm)
    corner = room.center() - QPointF(width_mm, height_mm) * scale / 2
    to_px = QTransform(scale, 0.0, 0.0, scale, corner.x(), corner.y())
    colours, palette = theme().canvas, theme().palette
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(colours.sheet_edge if theme().name == "light" else palette.border), 1.25))
    gone = patterns.hatch(palette.rule, palette.surface, angle_deg=45.0, origin=corner, density=1.0)
    painter.setBrush(gone if look.parts else QColor(colours.coat_deep))
    painter.drawPath(to_px.map(region_path(region)))
    for part, _ in look.parts:
        painter.setBrush(QColor(colours.coat_deep))
        painter.drawPath(to_px.map(region_path(part)))
    if look.burned is not None:
        painter.setPen(QPen(QColor(colours.ink), 1.0))
        painter.setBrush(QColor(colours.bared))
        painter.drawPath(to_px.map(region_path(look.burned)))
    _paint_flaws(painter, look.piece, to_px)
    _paint_labels(painter, look.parts, to_px, font)


def _paint_flaws(painter: QPainter, piece: Piece, to_px: QTransform) -> None:
    colours, sheet = theme().canvas, sheet_of(piece)
    for flaw in piece.flaws:
        path = to_px.map(region_path(flaw_region(flaw, sheet)))
        painter.setPen(patterns.dashed_pen(colours.flaw, 1.25, DASHES_PX if flaw.surface == "coat" else ()))
        painter.setBrush(flaw_brush(flaw, colours.flaw))
        painter.drawPath(path)
        box = path.boundingRect()
        if max(box.width(), box.height()) < LEAST_FLAW_PX:
            painter.drawEllipse(box.center(), LEAST_FLAW_PX, LEAST_FLAW_PX)


def _paint_labels(painter: QPainter, parts: Sequence[tuple[BaseGeometry, str]], to_px: QTransform, font: QFont) -> None:
    small = ruler_font(font)
    painter.setFont(small)
    for part, label in parts:
        if not label:
            continue
        place = part.representative_point()
        at = to_px.map(QPointF(place.x, place.y))
        box = QRectF(painter.fontMetrics().boundingRect(label)).adjusted(-4, -2, 4, 2)
        box.moveCenter(at)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme().palette.surface))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(QColor(theme().palette.text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, label)


def piece_icon(look: PieceLook, font: QFont, *, size: QSize = THUMB) -> QIcon:
    """The picture of a piece for lists, in the colours of the theme of the moment."""
    return live_icon(size, lambda painter, room: paint_piece(painter, room, look, font))


class PiecePicture(Guarded, QWidget):
    """A piece, as large as there is room."""

    def __init__(self, name: str, *, least: QSize = LEAST) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setMinimumSize(least)
        self._look: PieceLook | None = None

    def show_piece(self, look: PieceLook | None, description: str = "") -> None:
        """Show this piece, in words too; None shows nothing."""
        self._look = look
        self.setAccessibleDescription(description)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        if self._look is None:
            return
        with QPainter(self) as painter:
            paint_piece(painter, QRectF(self.rect()), self._look, self.font())
