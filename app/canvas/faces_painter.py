"""Paints both faces: ground, rulers and marks of its own, the pictures of the artwork laid in between."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QFont, QPainter, QPixmap, QRegion
from PySide6.QtWidgets import QWidget

from app.canvas import bed_marks, live_marks, sheet_picture
from app.canvas.faces_layout import Face, FaceName
from app.canvas.finding_marks import paint_finding_marks
from app.canvas.flaw_marks import FlawLayer
from app.canvas.rulers import paint_rulers
from app.theme.theme import theme
from core.units import length_text

if TYPE_CHECKING:
    from app.canvas.overlay import Overlay
    from app.canvas.scene_pictures import ScenePictures
    from app.canvas.state import FacesState
    from core.job.plan import Plan


class FacesPainter:
    """Paints a state that has a plan; ``overlays`` come last on each face."""

    def __init__(self, state: "FacesState", pictures: "ScenePictures", overlays: Sequence["Overlay"]) -> None:
        self._state, self._pictures, self._overlays = state, pictures, overlays
        self._flaw_layers: dict[FaceName, FlawLayer] = {"front": FlawLayer(), "bed": FlawLayer()}
        self._coat: tuple[tuple[QSize, float, str], QPixmap] | None = None
        self._font, self._density, self._dragging = QFont(), 1.0, False

    def paint(self, painter: QPainter, widget: QWidget, *, dragging: bool) -> None:
        """Paint everything; ``dragging``: the artwork is under way, told with guides and its place."""
        self._font, self._density, self._dragging = widget.font(), widget.devicePixelRatioF(), dragging
        state, whole = self._state, widget.rect()
        if state.plan is None:
            return
        front, bed = state.faces
        painter.setClipRegion(QRegion(whole) - QRegion(front.frame) - QRegion(bed.frame))
        painter.fillRect(whole, QColor(theme().palette.rule))
        painter.setClipping(False)
        for face in (front, bed):
            painter.save()
            painter.setClipRect(face.area)
            self._paint_sheet(painter, face, state.plan)
            painter.restore()
            self._paint_frame(painter, face, state.plan)

    def _paint_sheet(self, painter: QPainter, face: Face, plan: "Plan") -> None:
        colours = theme().canvas
        sheet_picture.paint_ground(
            painter,
            face,
            plan.job,
            colours,
            self._coat_picture(face),
            kind=self._state.kind_on(face.name),
        )
        small = sheet_picture.ruler_font(self._font)
        if face.name == "bed":
            sheet_picture.paint_bed_label(painter, face, plan.job, colours, small)
        if self._state.scene is not None and self._state.scene.bounds_mm is not None:
            sheet_picture.paint_beyond_sheet(
                painter, face, self._state.scene.bounds_mm, self._pictures.shift_mm, colours
            )
        self._pictures.lay_on(painter, face)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._state.kind_on(face.name) != "artwork":
            layer, density = self._flaw_layers[face.name], self._density
            layer.lay(painter, face, plan.job.sheet, theme(), small, density, self._state.chosen_flaw)
            bed_marks.paint_datum(painter, face, plan, colours)
        if face.name == "bed":
            bed_marks.paint_zones(painter, face, plan.job, colours, small)
        sheet_picture.paint_corner_mark(painter, face, plan.job, colours, small)
        if self._state.mode == "sheet":
            self._paint_placing(painter, face, small)
        paint_finding_marks(painter, self._state.marks_on(face), theme().palette, small, self._density)
        if self._state.band is not None:
            live_marks.paint_band(painter, face, self._state.band, colours)
        if self._state.pointed is not None and self._state.pointed[1] != face.name:
            live_marks.paint_pointer(painter, face, self._state.pointed[0], colours)
        for overlay in self._overlays:
            overlay.paint(painter, face)

    def _paint_placing(self, painter: QPainter, face: Face, font: QFont) -> None:
        bounds = self._state.burned_bounds_mm
        if bounds is None:
            return
        colours = theme().canvas
        dx, dy = self._pictures.shift_mm
        live_marks.paint_artwork_box(
            painter, face, (bounds[0] + dx, bounds[1] + dy, bounds[2] + dx, bounds[3] + dy), colours
        )
        dragged = self._pictures.dragged
        if dragged is not None and self._dragging:
            live_marks.paint_guides(painter, face, dragged, colours)
            if self._state.pointed is not None and self._state.pointed[1] == face.name:
                x, y = (length_text(value, inches=self._state.inches) for value in (bounds[0] + dx, bounds[1] + dy))
                at = face.to_px(*self._state.pointed[0])
                live_marks.paint_label(painter, at, f"left {x}, top {y}", font, colours, QRectF(face.area))

    def _paint_frame(self, painter: QPainter, face: Face, plan: "Plan") -> None:
        colours, palette = theme().canvas, theme().palette
        pointer = self._state.pointed[0] if self._state.pointed is not None else None
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        small = sheet_picture.ruler_font(self._font)
        paint_rulers(painter, face, colours, small, inches=self._state.inches, pointer=pointer)
        sheet_picture.paint_title(
            painter, face, plan.job, palette, self._font, inches=self._state.inches, shown=self._state.shown
        )

    def _coat_picture(self, face: Face) -> QPixmap:
        size, density = face.area.size(), self._density
        key = (QSize(size), density, theme().name)
        if self._coat is None or self._coat[0] != key:
            picture = sheet_picture.coat_picture(size.width(), size.height(), density, theme().canvas)
            self._coat = (key, picture)
        return self._coat[1]
