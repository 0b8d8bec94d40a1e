"""Paints what the artwork lies on and what stands around it: desk, bed, sheet, title, corner mark. Drawn live."""

from functools import lru_cache
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QLinearGradient,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
    QPolygonF,
    QRegion,
)

from app.canvas.faces_layout import RULER_PX, TITLE_PX, Face
from app.canvas.rulers import scale_bar
from app.qt.captions import caption, filled
from app.theme.theme import DIM, CanvasColours, Palette
from core.job.job import Job
from core.sheet.faces import turned_corner
from core.sheet.placement import Sheet

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from app.canvas.modes import PictureKind, Shown
    from app.canvas.outlines import Box

BED_TITLE = "Bed, back up"
FRONT_TITLES: dict["Shown", str] = {
    "as sent": "Front, as sent",
    "as it will look": "Front, as seen",
    "what is burned": "Front, what is burned",
}
CORNER_PX = 22
SCALE_BAR_ROOM_PX = 96


def coat_picture(width: int, height: int, density: float, colours: CanvasColours) -> QPixmap:
    """A silver surface as large as a face. The sheen stays where it is when the sheet is moved, as a mirror's does."""
    picture = QPixmap(round(width * density), round(height * density))
    picture.setDevicePixelRatio(density)
    sheen = QLinearGradient(0.0, 0.0, width, height)
    bright, deep = QColor(colours.coat_bright), QColor(colours.coat_deep)
    for share, colour in ((0.0, deep), (0.3, bright), (0.45, deep), (0.7, bright), (1.0, deep)):
        sheen.setColorAt(share, colour)
    with QPainter(picture) as painter:
        painter.fillRect(QRectF(0, 0, width, height), QBrush(sheen))
    return picture


def paint_ground(
    painter: QPainter, face: Face, job: Job, colours: CanvasColours, coat: QPixmap, *, kind: "PictureKind"
) -> None:
    """Desk, machine bed (on the bed face) and sheet: a plain page under artwork, else coat, dim below the gap map."""
    area = QRectF(face.area)
    painter.fillRect(area, QColor(colours.desk))
    if face.name == "bed":
        bed = bed_rect(face, job)
        painter.fillRect(bed.intersected(area), QColor(colours.bed))
        painter.setPen(QPen(QColor(colours.bed_edge), 1.5))
        _draw_edges(painter, bed, area)
    sheet = face.sheet_rect.intersected(area)
    if sheet.isEmpty():
        return
    if not job.sheet.outline:
        _fill_sheet(painter, face, colours, coat, kind=kind)
        painter.setPen(QPen(QColor(colours.sheet_edge), 1.0))
        _draw_edges(painter, face.sheet_rect, area)
        return
    from app.canvas.regions import area_path, edge_path

    region = _region(job.sheet)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setClipPath(area_path(face, region), Qt.ClipOperation.IntersectClip)
    _fill_sheet(painter, face, colours, coat, kind=kind)
    painter.restore()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(colours.sheet_edge), 1.5))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(edge_path(face, region))
    painter.restore()


@lru_cache(maxsize=8)
def _region(sheet: Sheet) -> "BaseGeometry":
    """The sheet is painted at every move of the pointer."""
    from core.sheet.offcuts import sheet_region

    return sheet_region(sheet)


def _fill_sheet(painter: QPainter, face: Face, colours: CanvasColours, coat: QPixmap, *, kind: "PictureKind") -> None:
    area = QRectF(face.area)
    sheet = face.sheet_rect.intersected(area)
    if kind == "artwork":
        painter.fillRect(sheet, QColor(colours.page))
    elif face.name == "bed":
        painter.fillRect(sheet, QColor(colours.back))
    else:
        source = sheet.translated(-area.topLeft())
        density = coat.devicePixelRatio()
        painter.drawPixmap(
            sheet,
            coat,
            QRectF(source.x() * density, source.y() * density, source.width() * density, source.height() * density),
        )
    if kind == "gaps":
        veil = QColor(colours.ink)
        veil.setAlphaF(DIM)
        painter.fillRect(sheet, veil)


def bed_rect(face: Face, job: Job) -> QRectF:
    """The machine's bed on the bed face, px: the sheet's stop corner lies in the bed's same corner."""
    vertical, horizontal = job.stop_corner.split()
    x = 0.0 if horizontal == "left" else job.sheet.width_mm - job.machine.bed_width_mm
    y = 0.0 if vertical == "top" else job.sheet.height_mm - job.machine.bed_height_mm
    first = face.own(x, y)  # the map to front coordinates and back is the same
    last = face.own(x + job.machine.bed_width_mm, y + job.machine.bed_height_mm)
    return QRectF(face.to_px(*first), face.to_px(*last)).normalized()


def paint_bed_label(painter: QPainter, face: Face, job: Job, colours: CanvasColours, font: QFont) -> None:
    """Names the machine's bed below or above the sheet, where there is room."""
    bed = bed_rect(face, job).intersected(QRectF(face.area))
    sheet, metrics = face.sheet_rect, QFontMetricsF(font)
    text = filled("machine bed, {name}", name=job.machine.name)
    room = metrics.height() + 12
    left = max(bed.left(), sheet.left()) + 8
    if left + metrics.horizontalAdvance(text) > bed.right() - 8:
        return
    if bed.bottom() - sheet.bottom() > room:
        y = bed.bottom() - 8 - metrics.descent()
    elif sheet.top() - bed.top() > room:
        y = bed.top() + 8 + metrics.ascent()
    else:
        return
    painter.setFont(font)
    painter.setPen(QColor(colours.ruler_text))
    painter.drawText(QPointF(left, y), text)


def paint_beyond_sheet(
    painter: QPainter, face: Face, bounds: "Box", shift_mm: tuple[float, float], colours: CanvasColours
) -> None:
    """A pale ground under artwork that reaches beyond the sheet, or its ink could not be seen on a dark desk."""
    dx, dy = shift_mm
    x0, y0, x1, y1 = bounds[0] + dx, bounds[1] + dy, bounds[2] + dx, bounds[3] + dy
    around = face.rect_px(x0, y0, x1, y1).adjusted(-8, -8, 8, 8).intersected(QRectF(face.area))
    if face.sheet.outline:
        from app.canvas.regions import area_path

        beyond = QPainterPath()
        beyond.addRect(around)
        painter.fillPath(beyond.subtracted(area_path(face, _region(face.sheet))), QColor(colours.page))
        return
    if x0 >= 0 and y0 >= 0 and x1 <= face.sheet.width_mm and y1 <= face.sheet.height_mm:
        return
    painter.save()
    painter.setClipRegion(QRegion(around.toAlignedRect()) - QRegion(face.sheet_rect.intersected(around).toRect()))
    painter.fillRect(around, QColor(colours.page))
    painter.restore()


def _draw_edges(painter: QPainter, box: QRectF, area: QRectF) -> None:
    # long lines far outside the view are cut first: the rasteriser's own numbers run out
    near = area.adjusted(-4, -4, 4, 4)
    left, right = max(box.left(), near.left()), min(box.right(), near.right())
    top, bottom = max(box.top(), near.top()), min(box.bottom(), near.bottom())
    if left > right or top > bottom:
        return
    for x in (box.left(), box.right()):
        if near.left() <= x <= near.right():
            painter.drawLine(QLineF(round(x) + 0.5, top, round(x) + 0.5, bottom))
    for y in (box.top(), box.bottom()):
        if near.top() <= y <= near.bottom():
            painter.drawLine(QLineF(left, round(y) + 0.5, right, round(y) + 0.5))


def paint_corner_mark(painter: QPainter, face: Face, job: Job, colours: CanvasColours, font: QFont) -> None:
    """The corner that meets the machine's stop, at its place on either face, with a word."""
    corner = job.stop_corner if face.name == "bed" else turned_corner(job.stop_corner, job.turn)
    vertical, horizontal = corner.split()
    sheet = face.sheet_rect
    at = QPointF(
        sheet.left() if horizontal == "left" else sheet.right(), sheet.top() if vertical == "top" else sheet.bottom()
    )
    if not QRectF(face.area).contains(at):
        return
    # dx, dy: from the corner into the sheet
    dx, dy = (1.0 if horizontal == "left" else -1.0), (1.0 if vertical == "top" else -1.0)
    outer = at - QPointF(5.0 * dx, 5.0 * dy)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    bracket = QPolygonF([outer + QPointF(0.0, CORNER_PX * dy), outer, outer + QPointF(CORNER_PX * dx, 0.0)])
    pen = QPen(QColor(colours.bed_edge), 4.0)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(bracket)
    text = caption("at the stop") if face.name == "bed" else caption("goes to the stop")
    metrics = QFontMetricsF(font)
    width, height = metrics.horizontalAdvance(text) + 12, metrics.height() + 4
    x = outer.x() + (CORNER_PX + 6) * dx
    box = QRectF(x if dx > 0 else x - width, outer.y() - height / 2 - 8 * dy, width, height)
    inside = QRectF(face.area)
    if box.top() < inside.top() or box.bottom() > inside.bottom():
        box.moveTop(at.y() + 6 if dy > 0 else at.y() - 6 - height)
    if not inside.contains(box):
        return  # half a word says nothing
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colours.bed_edge))
    painter.drawRoundedRect(box, 4.0, 4.0)
    painter.setPen(QColor(colours.ruler))
    painter.setFont(font)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def paint_title(
    painter: QPainter, face: Face, job: Job, palette: Palette, font: QFont, *, inches: bool, shown: "Shown"
) -> None:
    """The strip over a face: its name; at the right the scale bar, on the bed also which way the sheet was turned."""
    strip = QRectF(face.frame.x(), face.frame.y(), face.frame.width(), TITLE_PX)
    painter.fillRect(strip, QColor(palette.window))
    inner = strip.adjusted(12, 0, -12, 0)
    strong = QFont(font)
    strong.setBold(True)
    painter.setFont(strong)
    painter.setPen(QColor(palette.text))
    title = caption(FRONT_TITLES[shown] if face.name == "front" else BED_TITLE)
    painter.drawText(inner, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, title)
    used = QFontMetricsF(strong).horizontalAdvance(title) + 12
    painter.setFont(font)
    painter.setPen(QColor(palette.quiet))
    length_px, text = scale_bar(face.view.px_per_mm, inches=inches, room_px=SCALE_BAR_ROOM_PX)
    metrics = QFontMetricsF(font)
    right = inner.right()
    needed = length_px + 8 + metrics.horizontalAdvance(text)
    if inner.left() + used + needed < right:
        painter.drawText(inner, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, text)
        end = right - metrics.horizontalAdvance(text) - 8
        y = round(strip.center().y()) + 0.5
        painter.setPen(QPen(QColor(palette.quiet), 1.5))
        painter.drawPolyline(
            [QPointF(end - length_px, y - 4), QPointF(end - length_px, y), QPointF(end, y), QPointF(end, y - 4)]
        )
        right = end - length_px - 16
    if face.name == "bed":
        turned = caption("turned sideways") if job.turn == "sideways" else caption("turned endways")
        if inner.left() + used + metrics.horizontalAdvance(turned) < right:
            painter.setPen(QColor(palette.quiet))
            painter.drawText(
                QRectF(inner.left() + used, strip.top(), right - inner.left() - used, strip.height()),
                Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft,
                turned,
            )
    painter.fillRect(QRectF(strip.left(), strip.bottom() - 1, strip.width(), 1), QColor(palette.rule))


def ruler_font(base: QFont) -> QFont:
    """The small font of rulers and labels."""
    font = QFont(base)
    font.setPixelSize(RULER_PX // 2 + 1)
    return font
