"""What a place of the artwork comes to, painted in place: parts over the edge, flaws that would show, and the words."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from app.canvas.faces_layout import Face
from app.canvas.flaw_marks import SURFACE_WORDS
from app.canvas.regions import area_path, edge_path
from app.theme import patterns
from app.theme.icons import pixmap
from app.theme.theme import CanvasColours, Palette
from app.words.wording import area_text, length_text

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from core.job.laying import Laid

SIGN_PX = 16
NEAR_PX = 48


def laid_words(laid: "Laid", *, inches: bool) -> tuple[str, str]:
    """What the place comes to, in a sentence, and its sign: "done", "warning" or "problem"."""
    if not laid.fits:
        return f"Reaches {length_text(laid.over_mm, inches=inches)} over the edge", "problem"
    if not laid.shown:
        return "Fits, no flaw shows" if laid.has_flaws else "Fits", "done"
    first = max(laid.shown, key=lambda one: one.region.area)
    area = area_text(first.region.area, inches=inches)
    more = f", and {len(laid.shown) - 1} more" if len(laid.shown) > 1 else ""
    where = SURFACE_WORDS[first.flaw.surface]
    return f"Fits, but flaw {first.number + 1} ({first.flaw.kind} {where}) would show: {area}{more}", "warning"


def paint_laid(
    painter: QPainter, face: Face, laid: "Laid", palette: Palette, colours: CanvasColours, density: float
) -> None:
    """Parts over the edge woven, flaws that show filled, each with an edge and a sign at its place."""
    if not laid.over.is_empty:
        _paint_region(painter, face, laid.over, "problem", palette, colours, density, woven=True)
    for one in laid.shown:
        _paint_region(painter, face, one.region, "warning", palette, colours, density, woven=False)


def _paint_region(
    painter: QPainter,
    face: Face,
    region: "BaseGeometry",
    sign: str,
    palette: Palette,
    colours: CanvasColours,
    density: float,
    *,
    woven: bool,
) -> None:
    path, colour = area_path(face, region), colours.trouble
    painter.setPen(QPen(QColor(colours.halo), 4.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(path)
    painter.setPen(QPen(QColor(colour), 2.0))
    ground = QColor(colour)
    painter.setBrush(patterns.weave(colour, None, origin=face.to_px(0.0, 0.0), density=density) if woven else ground)
    painter.drawPath(path)
    place = region.representative_point()
    foot = face.to_px(place.x, place.y)
    plate = QRectF(foot.x() - SIGN_PX / 2 - 3, foot.y() - SIGN_PX - 14, SIGN_PX + 6, SIGN_PX + 6)
    signed = getattr(palette, sign)
    painter.setPen(QPen(QColor(signed), 1.5))
    painter.drawLine(foot, QPointF(foot.x(), plate.bottom()))
    painter.setBrush(QColor(palette.surface))
    painter.drawRoundedRect(plate, 4.0, 4.0)
    painter.drawPixmap(plate.topLeft() + QPointF(3, 3), pixmap(sign, signed, SIGN_PX, density))


def paint_soft_place(painter: QPainter, face: Face, burned: "BaseGeometry", colours: CanvasColours) -> None:
    """Where the search would put it: a faint dashed outline."""
    path = edge_path(face, burned)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(colours.halo), 3.0))
    painter.drawPath(path)
    painter.setPen(patterns.dashed_pen(colours.selection, 1.25, (3.0, 4.0)))
    painter.drawPath(path)


def paint_hint(
    painter: QPainter,
    face: Face,
    said: str,
    sign: str,
    hint: str,
    palette: Palette,
    font: QFont,
    density: float,
    *,
    avoid: QPointF | None = None,
) -> None:
    """A plate at the foot of a face: what the place comes to, and under it what the pointer and the keys do.

    Where the pointer (``avoid``) comes near, it goes to the head of the face.
    """
    strong = QFont(font)
    strong.setBold(True)
    small = QFont(font)
    small.setPointSizeF(font.pointSizeF() * 0.9)
    area = QRectF(face.area)
    lines = [(said, strong)] if said else []
    lines.append((hint, small))
    room = area.width() - 16
    inset = SIGN_PX + 8 if said else 0
    shown = []
    for text, its in lines:
        metrics = QFontMetricsF(its)
        left = inset if its is strong else 0
        fitting = metrics.elidedText(text, Qt.TextElideMode.ElideRight, room - 20 - left)
        shown.append((fitting, its, left, metrics))
    width = max(left + metrics.horizontalAdvance(text) for text, _, left, metrics in shown) + 20
    height = sum(metrics.height() for _, _, _, metrics in shown) + 10 + 2 * (len(shown) - 1)
    plate = QRectF(area.left() + 8, area.bottom() - 8 - height, width, height)
    if avoid is not None and plate.adjusted(-NEAR_PX, -NEAR_PX, NEAR_PX, 0).contains(avoid):
        plate.moveTop(area.top() + 8)
    painter.setPen(QPen(QColor(palette.border), 1.0))
    painter.setBrush(QColor(palette.surface))
    painter.drawRoundedRect(plate, 4.0, 4.0)
    y = plate.top() + 5
    for text, its, left, metrics in shown:
        painter.setFont(its)
        painter.setPen(QColor(palette.text if its is strong else palette.quiet))
        line = QRectF(plate.left() + 10 + left, y, plate.width() - 20 - left, metrics.height())
        painter.drawText(line, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
        if its is strong:
            colour = getattr(palette, sign)
            at = QPointF(plate.left() + 8, y + (metrics.height() - SIGN_PX) / 2)
            painter.drawPixmap(at, pixmap(sign, colour, SIGN_PX, density))
        y += metrics.height() + 2
