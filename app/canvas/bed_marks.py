"""What lies on the bed and the sheet besides the artwork: clamps and guides, and what the sheet is laid by."""

from typing import TYPE_CHECKING

import shapely
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from app.canvas.faces_layout import Face
from app.canvas.regions import area_path
from app.canvas.sheet_picture import bed_rect
from app.theme.theme import CanvasColours
from core.geometry.flattening import flatten
from core.job.job import Job

if TYPE_CHECKING:
    from core.job.plan import Plan

TOLERANCE_MM = 0.05


def zone_rects(face: Face, job: Job) -> list[tuple[str, QRectF]]:
    """Each zone's kind and where it lies on the bed face, px."""
    bed, scale = bed_rect(face, job), face.view.px_per_mm
    return [
        (zone.kind, QRectF(bed.left() + zone.x_mm * scale, bed.top() + zone.y_mm * scale,
                           zone.width_mm * scale, zone.height_mm * scale))
        for zone in job.machine.zones
    ]  # fmt: skip


def paint_zones(painter: QPainter, face: Face, job: Job, colours: CanvasColours, font: QFont) -> None:
    """Clamps and guides as hatched boxes that lie over the sheet, named where there is room."""
    metrics = QFontMetricsF(font)
    for kind, box in zone_rects(face, job):
        seen = box.intersected(QRectF(face.area).adjusted(-4, -4, 4, 4))
        if seen.isEmpty():
            continue
        painter.fillRect(seen, QColor(colours.desk))
        painter.setPen(QPen(QColor(colours.bed_edge), 1.5))
        painter.fillRect(seen, QBrush(QColor(colours.bed_edge), Qt.BrushStyle.BDiagPattern))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(seen)
        width, height = metrics.horizontalAdvance(kind) + 8, metrics.height() + 2
        if seen.width() > width + 4 and seen.height() > height + 4:
            label = QRectF(0, 0, width, height)
            label.moveCenter(seen.center())
            painter.fillRect(label, QColor(colours.desk))
            painter.setFont(font)
            painter.setPen(QColor(colours.ruler_text))
            painter.drawText(label, Qt.AlignmentFlag.AlignCenter, kind)


def paint_datum(painter: QPainter, face: Face, plan: "Plan", colours: CanvasColours) -> None:
    """Marks and pin holes that the files of the job share, as they are burned on this sheet."""
    for planned in plan.datum_layers:
        painter.setPen(QPen(QColor(colours.ink), 1.25))
        painter.setBrush(QColor(colours.bared) if planned.layer.purpose == "fill" else Qt.BrushStyle.NoBrush)
        if not shapely.is_empty(planned.region):
            painter.drawPath(area_path(face, planned.region))
        for path in planned.paths:
            painter.drawPath(_line(face, [part.tolist() for part in flatten(path, TOLERANCE_MM).parts()]))


def _line(face: Face, parts: list[list[list[float]]]) -> QPainterPath:
    line = QPainterPath()
    for part in parts:
        line.addPolygon(QPolygonF([face.to_px(x, y) for x, y in part]))
    return line
