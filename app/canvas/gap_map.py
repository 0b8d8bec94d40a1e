"""Paints what the scan rows leave and spill: single rows swept by the cleared width close up, a map of shares afar.

Close up nothing is worked out: the region is laid down as left-over coat, the spans are stroked over it as bared
sheet, and what stays visible between them *is* left over; what spans show outside the region is spill.
"""

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPen, QTransform

from app.canvas.picture import EDGE_PX, Brushwork, bare
from app.canvas.regions import region_path
from app.theme import patterns
from app.theme.theme import mixed
from core.geometry.affine import Affine, apply, compose, inverse
from core.sheet.faces import turn_matrix

if TYPE_CHECKING:
    from app.canvas.frame import Frame
    from app.canvas.outlines import Floats
    from app.canvas.scene import LayerPicture, Scene
    from core.burning.scan_rows import ScanRows
    from core.job.plan import LayerPlan

ROWS_FROM_PX = 2.0
ROWS_ALONE_FROM_PX = 4.0
"""Rows closer than the first (device px) are not drawn, from the second on the map is gone; between them, a mix."""
LINES_AT_ONCE = 500
SPILL_GROUND = 0.12
FAINT_SPILL = 0.1
"""A smaller share of a cell is what every edge spills; it would only blur the map."""


def rows_share(pitch_mm: float, frame: "Frame") -> float:
    """How far single rows are drawn instead of the map, 0 to 1."""
    row_px = pitch_mm * frame.detail_px_per_mm
    return min(max((row_px - ROWS_FROM_PX) / (ROWS_ALONE_FROM_PX - ROWS_FROM_PX), 0.0), 1.0)


def paint_gaps(work: Brushwork, scene: "Scene") -> None:
    """The gap map of every fill; a fill whose coverage is not worked out yet is shown by its rows alone."""
    for layer in scene.layers:
        if layer.areas is not None and layer.edges is not None:
            _paint_layer(work, scene, layer)


def _paint_layer(work: Brushwork, scene: "Scene", layer: "LayerPicture") -> None:
    assert layer.areas is not None and layer.edges is not None
    planned, canvas = layer.planned, work.theme.canvas
    share = rows_share(planned.layer.recipe.pitch_mm, work.frame) if planned.rows is not None else 0.0
    bare(work, scene, layer, QBrush(QColor(canvas.bared)), canvas.bared)
    if share < 1.0 and planned.coverage is not None:
        _lay(work, shares_picture(work, scene, layer), 1.0)
    if share > 0.0:
        _lay(work, rows_picture(work, scene, layer), share)
    work.stroke(layer.edges, patterns.dashed_pen(canvas.fill, 2 * EDGE_PX, ()))  # white areas, told by their rim


def rows_picture(work: Brushwork, scene: "Scene", layer: "LayerPicture") -> QImage:
    """Left-over, bared and spill of one fill, from its spans."""
    assert layer.areas is not None and layer.planned.rows is not None and layer.planned.verdict is not None
    frame, canvas = work.frame, work.theme.canvas
    lines = visible_spans_px(layer.planned.rows, _scan_to_front(scene, layer.planned), frame)
    width_px = layer.planned.verdict.cleared_width_mm * frame.view.px_per_mm
    left_over = patterns.weave(
        mixed(canvas.left_over, canvas.ink, 0.45), canvas.left_over, origin=frame.origin, density=frame.density
    )
    spill = _spilt(work)
    inside, outside = frame.image(), frame.image()
    work_inside, work_outside = _on(work, inside), _on(work, outside)
    try:
        if layer.solid is not None:
            work_inside.fill(layer.solid, left_over)
        if width_px > 0.0:
            if layer.tones:  # between the spans of a screen coat is to stay
                work_inside.painter.setClipPath(region_path(layer.planned.region))
            else:  # where the region is not there is nothing to be drawn atop of
                work_inside.painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceAtop)
            sweep(work_inside, lines, QBrush(QColor(canvas.bared)), width_px)
            sweep(work_outside, lines, spill, width_px)
            work_outside.painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_DestinationOut)
            work_outside.fill(layer.areas, QBrush(Qt.GlobalColor.black))
        return _over(work_inside, work_outside, inside, outside)
    finally:
        _end(work_inside, work_outside)


def shares_picture(work: Brushwork, scene: "Scene", layer: "LayerPicture") -> QImage:
    """Left-over and spill of one fill by cells of the coarse grid: the more of it, the stronger the pattern."""
    assert layer.areas is not None and layer.planned.coverage is not None
    frame, canvas, grid = work.frame, work.theme.canvas, layer.planned.coverage.grid
    job = scene.plan.job
    to_px = _qt(compose(_frame_affine(frame), compose(turn_matrix(job.turn, job.sheet), grid.to_bed)))
    inside, outside = frame.image(), frame.image()
    work_inside, work_outside = _on(work, inside), _on(work, outside)
    try:
        woven = patterns.weave(
            mixed(canvas.left_over, canvas.ink, 0.45), canvas.left_over, origin=frame.origin, density=frame.density
        )
        work_inside.fill(layer.areas, woven)
        _keep_by(work_inside, np.sqrt(grid.left_over_share), to_px)
        work_outside.painter.resetTransform()
        dotted = _spilt(work)
        rows, columns = grid.spill_share.shape
        work_outside.painter.fillRect(to_px.mapRect(QRectF(0, 0, columns, rows)), dotted)
        work_outside.painter.setTransform(frame.transform)
        work_outside.painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_DestinationOut)
        work_outside.fill(layer.areas, QBrush(Qt.GlobalColor.black))
        _keep_by(work_outside, np.clip((grid.spill_share - FAINT_SPILL) * 3.0, 0.0, 1.0), to_px)
        return _over(work_inside, work_outside, inside, outside)
    finally:
        _end(work_inside, work_outside)


def _spilt(work: Brushwork) -> QBrush:
    """Bared sheet where coat should stand: dots on a ground of its own, for the coat around is dim here."""
    frame, canvas = work.frame, work.theme.canvas
    ground = mixed(canvas.bared, canvas.spill, SPILL_GROUND)
    return patterns.dots(canvas.spill, ground, origin=frame.origin, density=frame.density)


def _keep_by(work: Brushwork, strength: "Floats", to_px: QTransform) -> None:
    """Fade what was painted by a grid of strengths from 0 to 1."""
    alpha = np.zeros((*strength.shape, 4), np.uint8)
    alpha[..., 3] = np.rint(255 * np.clip(np.nan_to_num(strength), 0.0, 1.0))
    rows, columns = strength.shape
    mask = QImage(alpha.tobytes(), columns, rows, 4 * columns, QImage.Format.Format_ARGB32_Premultiplied)
    painter = work.painter
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_DestinationIn)
    painter.setTransform(to_px)
    painter.drawImage(0, 0, mask)


def _over(upper: Brushwork, lower: Brushwork, upper_image: QImage, lower_image: QImage) -> QImage:
    """Both painters ended, the lower image laid under the upper one."""
    lower.painter.end()
    upper.painter.resetTransform()
    upper.painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_DestinationOver)
    upper.painter.drawImage(0, 0, lower_image)
    upper.painter.end()
    return upper_image


def visible_spans_px(rows: "ScanRows", to_front: Affine, frame: "Frame") -> "Floats":
    """Spans that show in the frame as (x0, y0, x1, y1) px, (n, 4), cut to a little more than the frame."""
    x0, y0, x1, y1 = frame.box
    corners = apply(inverse(to_front), np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))
    (low_x, low_y), (high_x, high_y) = corners.min(0), corners.max(0)
    first = max(int(np.searchsorted(rows.row_y_mm, low_y)) - 1, 0)
    last = min(int(np.searchsorted(rows.row_y_mm, high_y)) + 1, len(rows.row_y_mm))
    if first >= last:
        return np.zeros((0, 4))
    some = slice(rows.row_starts[first], rows.row_starts[last])
    starts, ends, row = rows.x0_mm[some], rows.x1_mm[some], rows.row_index[some]
    room = high_x - low_x
    near = (ends >= low_x - room / 8) & (starts <= high_x + room / 8)
    starts, ends = np.maximum(starts[near], low_x - room / 2), np.minimum(ends[near], high_x + room / 2)
    y = rows.row_y_mm[row[near]]
    to_px = compose(_frame_affine(frame), to_front)
    return np.hstack([apply(to_px, np.stack([starts, y], 1)), apply(to_px, np.stack([ends, y], 1))])


def sweep(work: Brushwork, lines_px: "Floats", brush: QBrush, width_px: float) -> None:
    """Stroke spans, given in px, with round ends."""
    pen = QPen(brush, width_px)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter = work.painter
    painter.save()
    painter.resetTransform()
    painter.setPen(pen)
    try:
        for i in range(0, len(lines_px), LINES_AT_ONCE):
            painter.drawLines([QLineF(*line) for line in lines_px[i : i + LINES_AT_ONCE].tolist()])
            work.breath()
    finally:  # a breath is where the picture may be given up
        painter.restore()


def _scan_to_front(scene: "Scene", planned: "LayerPlan") -> Affine:
    assert planned.rows is not None
    job = scene.plan.job
    return compose(turn_matrix(job.turn, job.sheet), planned.rows.to_bed)


def _frame_affine(frame: "Frame") -> Affine:
    t = frame.transform
    return (t.m11(), t.m12(), t.m21(), t.m22(), t.dx(), t.dy())


def _qt(matrix: Affine) -> QTransform:
    return QTransform(*matrix)


def _on(work: Brushwork, image: QImage) -> Brushwork:
    painter = QPainter(image)
    painter.setRenderHints(work.painter.renderHints())
    painter.setTransform(work.frame.transform)
    return Brushwork(painter=painter, frame=work.frame, theme=work.theme, breath=work.breath)


def _end(*works: Brushwork) -> None:
    """End painters, also when the picture was given up: none may outlive its image."""
    for work in works:
        if work.painter.isActive():
            work.painter.end()


def _lay(work: Brushwork, image: QImage, share: float) -> None:
    painter = work.painter
    painter.save()
    painter.resetTransform()
    painter.setOpacity(share)
    painter.drawImage(QPointF(0.0, 0.0), image)
    painter.restore()
