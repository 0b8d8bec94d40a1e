"""Paints what lies on the sheet into an image, front frame: by purpose, as drawn, and the marks of a selection.

Runs on the drawing thread, on images only. The bed shows the same image mirrored.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPainterPath, QPen, QTransform

from app.canvas.batch import Batch
from app.canvas.frame import Frame
from app.canvas.outlines import Ints
from app.canvas.regions import region_path
from app.theme import patterns
from app.theme.theme import Theme, burned_in, contrast_ratio, purpose_look_in
from core.artwork.picture_decisions import BARED_LOOKS
from core.geometry.affine import apply_to_region, compose
from core.progress import Progress
from core.purposes import LEAVE_OUT, UNDECIDED

if TYPE_CHECKING:
    from app.canvas.paints import ShapePaint
    from app.canvas.scene import LayerPicture, Scene
    from core.artwork.tone_map import Tones

BREATH_S = 0.0015
REST_S = 0.0002
EDGE_PX, CASING_PX = 0.75, 2.0
SCORE_PX, CUT_PX = 1.25, 1.5
UNPAINTED = "#7d858d"
FAINT_CONTRAST = 1.4
"""Painted areas that stand out less than this from the page get a thin rim."""


class Breath:
    """Called between strokes: stops the work when it is no longer wanted, and lets other threads run.

    Painter calls keep the interpreter's lock; without these rests the view could not follow the pointer meanwhile.
    """

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._last_s = time.perf_counter()

    def __call__(self) -> None:
        """Rest for a moment when it is time. Raises Cancelled when the progress callback does."""
        if time.perf_counter() - self._last_s > BREATH_S:
            self._progress(0.0, "Drawing")
            time.sleep(REST_S)
            self._last_s = time.perf_counter()


@dataclass(frozen=True, slots=True, kw_only=True)
class Brushwork:
    """What painting functions share: painter under the frame's transform, frame, theme, breath."""

    painter: QPainter
    frame: Frame
    theme: Theme
    breath: Callable[[], None]

    def fill(self, batch: "Batch", brush: QBrush, units: "Ints | None" = None) -> None:
        """Fill areas with a brush given in px."""
        local = patterns.in_frame(brush, self.frame.transform)
        for piece in batch.pieces(self.frame.detail_px_per_mm, self.frame.box, units):
            self.painter.fillPath(piece.path, local)
            self.breath()

    def stroke(self, batch: "Batch", pen: QPen, units: "Ints | None" = None) -> None:
        """Stroke lines with a px pen, dashes running on along each line."""
        dashed = pen.style() == Qt.PenStyle.CustomDashLine
        start = pen.dashOffset()
        scale = self.frame.view.px_per_mm / pen.widthF()
        for piece in batch.pieces(self.frame.detail_px_per_mm, self.frame.box, units):
            if dashed:
                pen.setDashOffset(start + piece.start_mm * scale)
            self.painter.strokePath(piece.path, pen)
            self.breath()


def begin(image: QImage, frame: Frame, theme: Theme, progress: Progress) -> Brushwork:
    """Start painting into an image of the frame; end the painter afterwards."""
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.setTransform(frame.transform)
    return Brushwork(painter=painter, frame=frame, theme=theme, breath=Breath(progress))


def paint_purposes(work: Brushwork, scene: "Scene") -> None:
    """Fills hatched, lines by their purpose, undecided and left-out shapes as outlines."""
    fills = [layer for layer in scene.layers if layer.areas is not None and layer.edges is not None]
    for layer in fills:
        paint_fill(work, scene, layer)
    paint_lines(work, scene, cased=bool(fills))


def paint_fill(work: Brushwork, scene: "Scene", layer: "LayerPicture") -> None:
    """One fill: a deep tone that stands out from the coat, with a light hatch along its scan rows."""
    assert layer.areas is not None and layer.edges is not None
    look, frame = purpose_look_in(work.theme, "fill"), work.frame
    # rows are told by their direction on the bed; either turn mirrors it to the opposite angle
    angle_deg = -layer.planned.layer.recipe.scan_angle_deg
    ground = burned_in(work.theme)
    rows = work.theme.canvas.bared
    brush = patterns.hatch(rows, ground, angle_deg=angle_deg, origin=frame.origin, density=frame.density)
    bare(work, scene, layer, brush, ground)
    work.stroke(layer.edges, patterns.dashed_pen(look.colour, EDGE_PX, ()))


def bare(work: Brushwork, scene: "Scene", layer: "LayerPicture", brush: QBrush, tone: str) -> None:
    """Fill what is solid with a brush; of screened pictures each place as much as it is bared with the tone."""
    if layer.solid is not None:
        work.fill(layer.solid, brush)
    colour = QColor(tone)
    for shown in layer.tones:
        height, width = shown.shares.shape
        alpha = shown.shares[..., None].astype(np.uint16)
        rgb = np.array([colour.blue(), colour.green(), colour.red(), 255], np.uint16)
        pixels = np.ascontiguousarray((alpha * rgb // 255).astype(np.uint8))  # premultiplied, as Qt has it
        image = QImage(pixels.data, width, height, 4 * width, QImage.Format.Format_ARGB32_Premultiplied)
        work.painter.save()
        rim = region_path(apply_to_region(scene.plan.drawing_to_front, shown.region))
        work.painter.setClipPath(rim, Qt.ClipOperation.IntersectClip)
        work.painter.setTransform(QTransform(*compose(scene.plan.drawing_to_front, shown.to_drawing)), True)
        work.painter.drawImage(0, 0, image)
        work.painter.restore()
        work.breath()


def paint_bared(work: Brushwork, scene: "Scene") -> None:
    """Fills as plain bared sheet."""
    for layer in scene.layers:
        if layer.areas is not None and layer.edges is not None:
            bare(work, scene, layer, QBrush(QColor(work.theme.canvas.bared)), work.theme.canvas.bared)
            work.stroke(layer.edges, patterns.dashed_pen(work.theme.canvas.fill, EDGE_PX, ()))


def paint_look(work: Brushwork, scene: "Scene", paints: Callable[[], None]) -> None:
    """The finished piece from the front: what lies behind shows where the coat is gone, ``paints`` over it.

    Scores are fine lines in the coat, cuts the edge of the piece; what is left out is not there.
    """
    through = _behind_pictures(scene) or work.theme.canvas.through
    for layer in scene.layers:
        if layer.areas is not None:
            bare(work, scene, layer, QBrush(QColor(through)), through)
    paints()
    for purpose, colour, width_px in (("score", through, SCORE_PX), ("cut", work.theme.canvas.ink, CUT_PX)):
        for layer in scene.layers:
            if layer.planned.layer.purpose == purpose and layer.lines is not None:
                work.stroke(layer.lines, patterns.dashed_pen(colour, width_px, ()))


def _behind_pictures(scene: "Scene") -> str | None:
    """The look of bared places where the artwork is a picture and its maker said what they look like."""
    look = scene.plan.job.reading.picture.bared_is
    if look is None or not any(shape.kind in ("picture", "image") for shape in scene.plan.drawing.shapes):
        return None
    return BARED_LOOKS[look]


def paint_lines(work: Brushwork, scene: "Scene", *, cased: bool = False) -> None:
    """All that is no fill, cuts uppermost. cased: with light beside them, which shows over fills."""

    def stroke(batch: Batch, purpose: str, units: Ints | None = None) -> None:
        look = purpose_look_in(work.theme, purpose)
        if cased:
            casing = patterns.dashed_pen(work.theme.canvas.halo, look.width_px + CASING_PX, ())
            work.stroke(batch, casing, units)
        work.stroke(batch, patterns.line_pen(look), units)

    for key in (LEAVE_OUT, UNDECIDED):
        units = scene.units_on(key)
        if len(units):
            stroke(scene.shape_lines, key, units)
    for purpose in ("guide", "score", "cut"):
        for layer in scene.layers:
            if layer.planned.layer.purpose == purpose and layer.lines is not None:
                stroke(layer.lines, purpose)


def paint_artwork(work: Brushwork, scene: "Scene") -> None:
    """The shapes as the artwork paints them, in its order."""
    frame = work.frame
    detail, box, scale = frame.detail_px_per_mm, frame.box, frame.view.px_per_mm
    rims = {piece.unit: piece.path for piece in scene.shape_areas.pieces(detail, box)}
    runs: dict[int, list[tuple[QPainterPath, float]]] = {}
    for piece in scene.shape_lines.pieces(detail, box):
        runs.setdefault(piece.unit, []).append((piece.path, piece.start_mm))
    page = work.theme.canvas.page
    for unit in sorted(rims.keys() | runs.keys()):
        paint = scene.source.paints[unit]
        tones = scene.plan.drawing.shapes[unit].tones
        if tones is not None and unit in rims:
            _paint_tones(work, scene, tones, rims[unit])
        elif paint.fill is not None and unit in rims:
            work.painter.fillPath(rims[unit], QColor(paint.fill))
        pen = _artwork_pen(paint, scale, page)
        if pen is not None:
            start = pen.dashOffset()
            for path, start_mm in runs.get(unit, ()):
                if paint.dashes_mm:
                    pen.setDashOffset(start + start_mm * scale / pen.widthF())
                work.painter.strokePath(path, pen)
                work.breath()
        work.breath()


def _paint_tones(work: Brushwork, scene: "Scene", tones: "Tones", rim: QPainterPath) -> None:
    """A picture that is screened, as it is seen: its greys within its outline."""
    light = scene.plan.job.reading.picture.bared_is == "light"
    greys = np.ascontiguousarray(np.round(255 * (tones.wanted if light else 1 - tones.wanted)).astype(np.uint8))
    height, width = greys.shape
    image = QImage(greys.data, width, height, width, QImage.Format.Format_Grayscale8)
    work.painter.save()
    work.painter.setClipPath(rim, Qt.ClipOperation.IntersectClip)
    work.painter.setTransform(QTransform(*compose(scene.plan.drawing_to_front, tones.to_mm)), True)
    work.painter.drawImage(0, 0, image)
    work.painter.restore()


def paint_marks(
    work: Brushwork, scene: "Scene", *, selected: frozenset[str], highlighted: frozenset[str], hovered: str | None
) -> None:
    """Outlines over selected, highlighted and hovered shapes: told apart by halo, dashes and thin line."""
    colours, lines = work.theme.canvas, scene.shape_lines
    chosen = scene.units_of(selected)
    if len(chosen):
        tint = QColor(colours.selection)
        tint.setAlphaF(0.14)
        work.fill(scene.shape_areas, QBrush(tint), chosen)
        work.stroke(lines, patterns.dashed_pen(colours.halo, 5.0, ()), chosen)
        work.stroke(lines, patterns.dashed_pen(colours.selection, 2.25, ()), chosen)
    noted = scene.units_of(highlighted - selected)
    if len(noted):
        work.stroke(lines, patterns.dashed_pen(colours.halo, 4.0, ()), noted)
        work.stroke(lines, patterns.dashed_pen(colours.snap, 2.0, (6.0, 3.0)), noted)
    if hovered is not None:
        pointed_at = scene.units_of(frozenset({hovered}))
        work.stroke(lines, patterns.dashed_pen(colours.halo, 3.5, ()), pointed_at)
        work.stroke(lines, patterns.dashed_pen(colours.selection, 1.5, ()), pointed_at)


def _artwork_pen(paint: "ShapePaint", px_per_mm: float, page: str) -> QPen | None:
    if paint.stroke is not None:
        width_px = max(paint.stroke_width_mm * px_per_mm, 1.0)
        return patterns.dashed_pen(paint.stroke, width_px, tuple(dash * px_per_mm for dash in paint.dashes_mm))
    if paint.fill is None:  # not painted at all, yet it can be chosen
        return patterns.dashed_pen(UNPAINTED, 1.0, (2.0, 3.0))
    if contrast_ratio(QColor(paint.fill).name(), page) < FAINT_CONTRAST:
        return patterns.dashed_pen(UNPAINTED, 1.0, ())
    return None
