"""The two faces of the sheet, linked: *Front, as seen* and *Bed, back up*.

The widget holds what is shown and where; it draws ground, rulers and marks itself and lays the pictures of the
artwork, drawn on another thread, in between. ``pointer`` and ``keys`` turn input into calls of this class.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QFont,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QRegion,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.canvas import faces_layout, live_marks, sheet_picture
from app.canvas.empty_state import paint_empty
from app.canvas.faces_layout import Arrangement, Face, FaceName, View
from app.canvas.flaw_marks import FlawLayer, flaw_at, flaw_words
from app.canvas.keys import Keys
from app.canvas.modes import CanvasMode, RegionLook
from app.canvas.outlines import Box, Floats
from app.canvas.placing import Snapped
from app.canvas.pointer import Pointer
from app.canvas.rulers import paint_rulers
from app.canvas.scene import Scene
from app.canvas.scene_pictures import ScenePictures, Wanted
from app.canvas.words import plan_words, shape_words
from app.theme.theme import theme, theme_changes
from app.words.wording import in_shown_units
from core.artwork.drawing import Finding
from core.geometry.affine import apply, compose, inverse
from core.job.plan import Plan
from core.units import length_text

__all__ = ["Arrangement", "CanvasMode", "FacesView", "Overlay", "RegionLook", "Tool"]

HIT_REACH_PX = 5.0
ZOOM_STEP = 1.25


class Overlay(Protocol):
    """Something painted over both faces, such as a loupe."""

    def paint(self, painter: QPainter, face: Face) -> None:
        """Paint in px of the view; ``face`` maps places. The painter is clipped to the face."""


class Tool(Protocol):
    """Something that takes clicks and keys on the faces in place of selecting and dragging."""

    def clicked(self, face: Face, at: QPointF) -> None:
        """A click on a face, px of the view."""

    def double_clicked(self, face: Face, at: QPointF) -> None:
        """A second click at once; the first came as ``clicked``."""

    def key(self, key: int) -> bool:
        """A key; returns whether it was meant for the tool."""


class FacesView(QWidget):
    """Both faces of the sheet.

    selection_changed(ids: tuple[str, ...]): the user selected other shapes (not emitted by ``set_selection``).
    pointed(point): (x_mm, y_mm) in the front frame under the pointer, whichever face it is over, or None.
    placement_dragged(dx_mm, dy_mm, finished): the artwork is dragged by so much from where the plan has it, front
    frame; finished False while under way, True once at the end ((0, 0, True) when it was given up).
    shape_activated(id, global_pos: QPoint): double click or Enter. context_requested(ids: tuple, global_pos: QPoint).
    finding_activated(index): a finding's mark was clicked; index into what ``set_finding_marks`` got.
    flaw_picked(number): a flaw of the sheet was clicked.
    zoomed(px_per_mm): the scale changed. drawn: a picture of the artwork was finished and is shown.
    Files dropped on it are the window's.
    """

    selection_changed = Signal(tuple)
    pointed = Signal(object)
    placement_dragged = Signal(float, float, bool)
    shape_activated = Signal(str, object)
    context_requested = Signal(tuple, object)
    finding_activated = Signal(int)
    flaw_picked = Signal(int)
    zoomed = Signal(float)
    drawn = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(240, 240)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Front and bed of the sheet")
        self._plan: Plan | None = None
        self._mode: CanvasMode = "artwork"
        self._selection: frozenset[str] = frozenset()
        self._highlight: frozenset[str] = frozenset()
        self._findings: tuple[Finding, ...] = ()
        self._looks: tuple[RegionLook, ...] = ()
        self._overlays: list[Overlay] = []
        self._chosen_flaw: int | None = None
        self._flaw_layers: dict[FaceName, FlawLayer] = {"front": FlawLayer(), "bed": FlawLayer()}
        self.tool: Tool | None = None
        self._inches = False
        self._arrangement: Arrangement = "by width"
        self._empty = ("Drop artwork here", "")
        self._view = View(x_mm=0.0, y_mm=0.0, px_per_mm=1.0)
        self._is_fitted = True
        self._hovered: str | None = None
        self._pointed: tuple[tuple[float, float], str] | None = None
        self._band: Box | None = None
        self._pictures = ScenePictures(self._wanted, self)
        self._pictures.changed.connect(self.update)
        self._pictures.scene_changed.connect(self._scene_changed)
        self._pictures.drawn.connect(self.drawn)
        self._coat: tuple[tuple[QSize, float, str], QPixmap] | None = None
        self._pointer = Pointer(self)
        self._keys = Keys(self)
        theme_changes().changed.connect(self._refresh)
        self._describe()

    # --- what is shown -------------------------------------------------------------------------------------------

    def set_plan(self, plan: Plan | None) -> None:
        """Show this plan; None shows the empty state. Keeps zoom and place unless it is another artwork or sheet."""
        before, self._plan = self._plan, plan
        self._pictures.show_plan(plan)
        if plan is None:
            self._hovered = None
            self._describe()
            self.update()
            return
        if before is None or before.job.sheet != plan.job.sheet or before.job.source != plan.job.source:
            self._is_fitted = True
        if self._is_fitted:
            self.fit()
        self._describe()
        self.update()

    @property
    def plan(self) -> Plan | None:
        """The plan shown."""
        return self._plan

    def set_mode(self, mode: CanvasMode) -> None:
        """What is drawn: the stage's key."""
        if mode != self._mode:
            self._pointer.give_up()
            self._mode = mode
            self._refresh()

    @property
    def mode(self) -> CanvasMode:
        """What is drawn."""
        return self._mode

    def set_selection(self, shape_ids: Collection[str]) -> None:
        """Select these shapes; no signal comes back."""
        chosen = frozenset(shape_ids)
        if chosen != self._selection:
            self._selection = chosen
            self._describe()
            self._pictures.ask()

    @property
    def selection(self) -> frozenset[str]:
        """Ids of the shapes selected."""
        return self._selection

    def select(self, shape_ids: Collection[str]) -> None:
        """The user selected these shapes: as ``set_selection``, and tells so."""
        if frozenset(shape_ids) != self._selection:
            self.set_selection(shape_ids)
            self.selection_changed.emit(self.selected_in_order())

    def set_highlight(self, shape_ids: Collection[str]) -> None:
        """Mark these shapes without selecting them, as for a hovered row of a list; () takes the mark away."""
        self._highlight = frozenset(shape_ids)
        self._pictures.ask()

    def set_finding_marks(self, findings: Sequence[Finding]) -> None:
        """Mark the places of findings (front frame); those without a place are left out."""
        self._findings = tuple(findings)
        self.update()

    def set_chosen_flaw(self, number: int | None) -> None:
        """Have a flaw of the sheet stand out; None for none."""
        if number != self._chosen_flaw:
            self._chosen_flaw = number
            self.update()

    def set_tool(self, tool: Tool | None) -> None:
        """Give clicks to a tool; None gives them back to selecting and dragging."""
        self._pointer.give_up()
        self.tool = tool
        if tool is None:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.CrossCursor)

    def set_region_looks(self, looks: Sequence[RegionLook]) -> None:
        """Regions to show in the "paint" mode, over the fills, first ones undermost."""
        self._looks = tuple(looks)
        self._refresh()

    def set_inches(self, inches: bool) -> None:
        """Rulers and lengths in inches, or in mm."""
        self._inches = inches
        self.update()

    def set_arrangement(self, arrangement: Arrangement) -> None:
        """How the faces lie: by the room there is, or as told."""
        self._arrangement = arrangement
        self._resized()

    def set_empty_text(self, title: str, hint: str = "") -> None:
        """What an empty view invites to."""
        self._empty = (title, hint)
        self._describe()
        self.update()

    def add_overlay(self, overlay: Overlay) -> None:
        """Paint this over both faces from now on; call ``update`` when it should change."""
        self._overlays.append(overlay)
        self.update()

    def remove_overlay(self, overlay: Overlay) -> None:
        """Paint it no more."""
        self._overlays.remove(overlay)
        self.update()

    # --- where it is shown ---------------------------------------------------------------------------------------

    @property
    def faces(self) -> tuple[Face, Face]:
        """Front and bed as they lie now. Only with a plan."""
        assert self._plan is not None
        job = self._plan.job
        return faces_layout.laid_out((self.width(), self.height()), self._arrangement, self._view, job.sheet, job.turn)

    @property
    def view(self) -> View:
        """Middle and zoom of both faces."""
        return self._view

    def face_at(self, point: QPointF) -> Face | None:
        """The face whose sheet area holds a pixel."""
        if self._plan is None:
            return None
        return next((face for face in self.faces if QRectF(face.area).contains(point)), None)

    def show_view(self, view: View) -> None:
        """Show another middle and zoom, held within reach."""
        if self._plan is None:
            return
        front, _ = self.faces
        held = faces_layout.within_reach(view, front, self._reach())
        if held == self._view:
            return
        zoomed, self._view, self._is_fitted = held.px_per_mm != self._view.px_per_mm, held, False
        self._pictures.ask()
        self.update()
        if zoomed:
            self.zoomed.emit(held.px_per_mm)

    def zoom_to(self, x_mm: float, y_mm: float, span_mm: float) -> None:
        """Put a front point in the middle with ``span_mm`` across the shorter side of a face."""
        if self._plan is not None:
            area = self.faces[0].area
            scale = min(area.width(), area.height()) / max(span_mm, 1e-6)
            self.show_view(View(x_mm=x_mm, y_mm=y_mm, px_per_mm=scale))

    def fit(self) -> None:
        """Show the whole sheet."""
        if self._plan is not None:
            self.show_view(faces_layout.fitted(self.faces[0]))
            self._is_fitted = True

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a pixel of a face, or about the middle."""
        if self._plan is None:
            return
        face = self.face_at(at) if at is not None else None
        wanted = replace(self._view, px_per_mm=self._view.px_per_mm * factor)
        held = faces_layout.within_reach(wanted, self.faces[0], self._reach())
        if face is None or at is None:
            self.show_view(held)
        else:
            self.show_view(faces_layout.zoomed_at(face, at, held.px_per_mm / self._view.px_per_mm))

    def pan_by(self, face: Face, dx_px: float, dy_px: float) -> None:
        """Move the picture of one face; the other follows."""
        self.show_view(faces_layout.panned(replace(face, view=self._view), dx_px, dy_px))

    def _reach(self) -> Box:
        """Where there is something to see, front frame: sheet, machine bed, artwork."""
        assert self._plan is not None
        job, bed = self._plan.job, self.faces[1]
        box = sheet_picture.bed_rect(bed, job)
        corners = [bed.to_front(box.topLeft()), bed.to_front(box.bottomRight())]
        corners += [(0.0, 0.0), (job.sheet.width_mm, job.sheet.height_mm)]
        if self._scene is not None and (bounds := self._scene.bounds_mm) is not None:
            corners += [bounds[:2], bounds[2:]]
        xs, ys = zip(*corners, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    # --- for pointer and keys ------------------------------------------------------------------------------------

    def shapes_at(self, face: Face, point: QPointF) -> list[str]:
        """Ids of the shapes under a pixel of a face, on any copy, the one most likely meant first."""
        if self._scene is None:
            return []
        lines = frozenset() if self._mode == "artwork" else self._scene.line_shapes
        reach_mm = HIT_REACH_PX / face.view.px_per_mm
        plan, pointed = self._scene.plan, np.array(face.to_front(point))
        for copy_to_front in plan.copies_to_front:
            to_first_copy = compose(plan.drawing_to_front, inverse(copy_to_front))
            x_mm, y_mm = apply(to_first_copy, pointed).tolist()
            found = self._scene.picker.at(x_mm, y_mm, reach_mm=reach_mm, lines=lines)
            if found:
                return [plan.drawing.shapes[i].id for i in found]
        return []

    def shapes_in(self, box: Box) -> list[str]:
        """Ids of the shapes wholly in a box (front); of those that touch it when none is."""
        if self._scene is None:
            return []
        shapes, picker = self._scene.plan.drawing.shapes, self._scene.picker
        return [shapes[i].id for i in picker.within(box) or picker.touching(box)]

    def finding_at(self, face: Face, point: QPointF) -> int | None:
        """Index of the finding whose mark is under a pixel of a face; the uppermost."""
        for index in range(len(self._findings) - 1, -1, -1):
            box = live_marks.finding_box(face, self._findings[index])
            if box is not None and box.contains(point):
                return index
        return None

    def flaw_at(self, face: Face, point: QPointF) -> int | None:
        """Number of the sheet's flaw under a pixel of a face; the uppermost."""
        if self._plan is None or self._mode == "artwork":
            return None
        return flaw_at(face, self._plan.job.sheet, point)

    @property
    def dragging(self) -> bool:
        """Whether the artwork is being dragged."""
        return self._pointer.dragging

    @property
    def pointed_mm(self) -> tuple[float, float] | None:
        """The front point under the pointer."""
        return self._pointed[0] if self._pointed is not None else None

    @property
    def pointed_face(self) -> FaceName | None:
        """The face that the pointer is over."""
        return (
            next((face.name for face in self.faces if face.name == self._pointed[1]), None) if self._pointed else None
        )

    @property
    def burned_hull_mm(self) -> Floats | None:
        """Corners of the convex hull of what is burned, front frame, as drawn; None without any."""
        return self._scene.burned_hull_mm if self._scene is not None else None

    @property
    def burned_bounds_mm(self) -> Box | None:
        """Box of what is burned, front frame, as drawn; None without any."""
        return self._scene.burned_bounds_mm if self._scene is not None else None

    @property
    def hovered(self) -> str | None:
        """Id of the shape pointed at, by pointer or keys."""
        return self._hovered

    def set_hovered(self, shape_id: str | None) -> None:
        """Show which shape is pointed at."""
        if shape_id != self._hovered:
            self._hovered = shape_id
            self._describe()
            self._pictures.ask()

    def set_pointed(self, point: tuple[float, float] | None, face_name: str = "") -> None:
        """Show a front point as pointed at on that face, and tell."""
        pointed = None if point is None else (point, face_name)
        if pointed != self._pointed:
            self._pointed = pointed
            self.pointed.emit(point)
            self.update()

    def set_band(self, band: Box | None) -> None:
        """Show the rubber band, a front box."""
        self._band = band
        self.update()

    def show_drag(self, shift: Snapped | None) -> None:
        """Show the artwork moved from where the plan has it; None puts it back."""
        self._pictures.drag(shift)
        self.update()

    def shape_ids(self) -> tuple[str, ...]:
        """All shapes, in the drawing's order."""
        return tuple(shape.id for shape in self._plan.drawing.shapes) if self._plan is not None else ()

    def shape_middle(self, shape_id: str) -> QPointF:
        """The middle of a shape's box on the front face, px; the face's own middle when nothing is seen of it."""
        front, _ = self.faces
        box = self._shape_box(shape_id)
        return front.middle if box is None else front.to_px((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

    def bring_into_view(self, shape_id: str) -> None:
        """Pan until the shape's middle is seen."""
        box = self._shape_box(shape_id)
        if box is not None and not QRectF(self.faces[0].area).contains(self.shape_middle(shape_id)):
            self.show_view(replace(self._view, x_mm=(box[0] + box[2]) / 2, y_mm=(box[1] + box[3]) / 2))

    def _shape_box(self, shape_id: str) -> Box | None:
        if self._scene is None or shape_id not in self._scene.index_of:
            return None
        x0, y0, x1, y1 = self._scene.picker.boxes[self._scene.index_of[shape_id]].tolist()
        return (x0, y0, x1, y1) if x0 == x0 else None

    def selected_in_order(self) -> tuple[str, ...]:
        """Ids of the shapes selected, in the drawing's order."""
        return tuple(shape_id for shape_id in self.shape_ids() if shape_id in self._selection)

    def give_up(self) -> bool:
        """Take back what the pointer is about; returns whether it was about anything."""
        return self._pointer.give_up()

    # --- pictures ------------------------------------------------------------------------------------------------

    def shutdown(self) -> None:
        """Stop the drawing thread and wait for it; the view shows nothing new afterwards."""
        self._plan = None
        self._pictures.close()

    @property
    def settled(self) -> bool:
        """Whether everything that is to be drawn off the GUI thread is there."""
        return self._pictures.settled

    def _wanted(self) -> Wanted | None:
        if self._plan is None:
            return None
        return Wanted(
            front=self.faces[0],
            density=self.devicePixelRatioF(),
            mode=self._mode,
            looks=self._looks,
            selected=self._selection,
            highlighted=self._highlight,
            hovered=self._hovered,
        )

    def _scene_changed(self) -> None:
        if self._scene is not None and self._hovered not in self._scene.index_of:
            self._hovered = None
        self.update()

    def _refresh(self) -> None:
        """Something other than the view changed: have all pictures drawn that are out of date."""
        self._pictures.ask()
        self.update()

    @property
    def _scene(self) -> Scene | None:
        return self._pictures.scene

    # --- painting ------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw both faces."""
        painter = QPainter(self)
        if self._plan is None:
            paint_empty(painter, QRectF(self.rect()), self.font(), *self._empty, theme(), self.devicePixelRatioF())
        else:
            front, bed = self.faces
            painter.setClipRegion(QRegion(self.rect()) - QRegion(front.frame) - QRegion(bed.frame))
            painter.fillRect(self.rect(), QColor(theme().palette.rule))
            painter.setClipping(False)
            for face in (front, bed):
                painter.save()
                painter.setClipRect(face.area)
                self._paint_sheet(painter, face, self._plan)
                painter.restore()
                self._paint_frame(painter, face, self._plan)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(QColor(theme().palette.accent))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _paint_sheet(self, painter: QPainter, face: Face, plan: Plan) -> None:
        colours = theme().canvas
        sheet_picture.paint_ground(
            painter, face, plan.job, colours, self._coat_picture(face), as_page=self._mode == "artwork"
        )
        small = sheet_picture.ruler_font(self.font())
        if face.name == "bed":
            sheet_picture.paint_bed_label(painter, face, plan.job, colours, small)
        if self._scene is not None and self._scene.bounds_mm is not None:
            sheet_picture.paint_beyond_sheet(painter, face, self._scene.bounds_mm, self._pictures.shift_mm, colours)
        self._pictures.lay_on(painter, face)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._mode != "artwork":
            layer, density = self._flaw_layers[face.name], self.devicePixelRatioF()
            layer.lay(painter, face, plan.job.sheet, theme(), small, density, self._chosen_flaw)
        sheet_picture.paint_corner_mark(painter, face, plan.job, colours, small)
        if self._mode == "sheet":
            self._paint_placing(painter, face, small)
        live_marks.paint_findings(painter, face, self._findings, theme().palette, self.devicePixelRatioF())
        if self._band is not None:
            live_marks.paint_band(painter, face, self._band, colours)
        if self._pointed is not None and self._pointed[1] != face.name:
            live_marks.paint_pointer(painter, face, self._pointed[0], colours)
        for overlay in self._overlays:
            overlay.paint(painter, face)

    def _paint_placing(self, painter: QPainter, face: Face, font: QFont) -> None:
        bounds = self.burned_bounds_mm
        if bounds is None:
            return
        colours = theme().canvas
        dx, dy = self._pictures.shift_mm
        live_marks.paint_artwork_box(
            painter, face, (bounds[0] + dx, bounds[1] + dy, bounds[2] + dx, bounds[3] + dy), colours
        )
        dragged = self._pictures.dragged
        if dragged is not None and self._pointer.dragging:
            live_marks.paint_guides(painter, face, dragged, colours)
            if self._pointed is not None and self._pointed[1] == face.name:
                x, y = (length_text(value, inches=self._inches) for value in (bounds[0] + dx, bounds[1] + dy))
                at = face.to_px(*self._pointed[0])
                live_marks.paint_label(painter, at, f"left {x}, top {y}", font, colours, QRectF(face.area))

    def _paint_frame(self, painter: QPainter, face: Face, plan: Plan) -> None:
        colours, palette = theme().canvas, theme().palette
        pointer = self._pointed[0] if self._pointed is not None else None
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        small = sheet_picture.ruler_font(self.font())
        paint_rulers(painter, face, colours, small, inches=self._inches, pointer=pointer)
        sheet_picture.paint_title(painter, face, plan.job, palette, self.font(), inches=self._inches)

    def _coat_picture(self, face: Face) -> QPixmap:
        size, density = face.area.size(), self.devicePixelRatioF()
        key = (QSize(size), density, theme().name)
        if self._coat is None or self._coat[0] != key:
            picture = sheet_picture.coat_picture(size.width(), size.height(), density, theme().canvas)
            self._coat = (key, picture)
        return self._coat[1]

    # --- words ---------------------------------------------------------------------------------------------------

    def _describe(self) -> None:
        """Say in words what the picture shows, for screen readers."""
        if self._plan is None:
            text = " ".join(part for part in self._empty if part)
        else:
            text = plan_words(self._plan, self._selection, inches=self._inches)
            if self._hovered is not None and self._scene is not None:
                text += " " + shape_words(self._scene, self._hovered, self._selection)
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))

    def _tip_at(self, point: QPointF) -> str:
        face = self.face_at(point)
        if face is None:
            return ""
        finding = self.finding_at(face, point)
        if finding is not None:
            return in_shown_units(self._findings[finding].message, inches=self._inches)
        flaw = self.flaw_at(face, point)
        if flaw is not None and self._plan is not None:
            return f"Flaw {flaw_words(flaw, self._plan.job.sheet.flaws[flaw])}"
        shapes = self.shapes_at(face, point)
        return shape_words(self._scene, shapes[0], self._selection) if shapes and self._scene is not None else ""

    # --- events --------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Qt: anything; tooltips, pinches and the keys Qt would keep to itself are taken here."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), self._tip_at(QPointF(event.pos())), self)
            return True
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self.zoom_by(1.0 + event.value(), event.position())
            return True
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._refresh()
        return super().event(event)

    def focusNextPrevChild(self, forwards: bool) -> bool:
        """Qt: Tab. It goes from shape to shape, and on to the next widget after the last one."""
        return self._keys.next_shape(forwards) or super().focusNextPrevChild(forwards)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: a key goes down."""
        if not self._keys.pressed(event):
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Qt: a key comes up."""
        if not self._keys.released(event):
            super().keyReleaseEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Qt: a button goes down."""
        self._pointer.pressed(event, panning=self._keys.space_held)
        if self._keys.space_held:
            self._keys.panned()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Qt: the pointer moves."""
        self._pointer.moved(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Qt: a button comes up."""
        self._pointer.released(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Qt: a double click."""
        self._pointer.double_clicked(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Qt: the wheel turns."""
        steps = event.angleDelta().y() / 120.0
        if steps:
            self.zoom_by(ZOOM_STEP**steps, event.position())
        event.accept()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Qt: a context menu is wanted, by the right button or a key."""
        if event.reason() == QContextMenuEvent.Reason.Keyboard:
            self._keys.context_wanted()
        else:
            self._pointer.context_wanted(QPointF(event.pos()), event.globalPos())

    def leaveEvent(self, event: QEvent) -> None:
        """Qt: the pointer leaves."""
        self.set_pointed(None)
        self.set_hovered(None)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Qt: the keyboard comes here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Qt: the keyboard goes elsewhere."""
        self._keys.let_go()
        super().focusOutEvent(event)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        self._resized()

    def sizeHint(self) -> QSize:
        """Qt: the size liked best."""
        return QSize(960, 640)

    def _resized(self) -> None:
        if self._plan is not None and self._is_fitted:
            self.fit()
        self._refresh()

    def global_pos(self, point: QPointF) -> QPoint:
        """A pixel of the view on the screen."""
        return self.mapToGlobal(point.toPoint())
