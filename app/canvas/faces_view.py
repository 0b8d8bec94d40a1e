"""The two faces of the sheet, linked: *Front, as seen* and *Bed, back up*.

The widget holds what is shown and where; it draws ground, rulers and marks itself and lays the pictures of the
artwork, drawn on another thread, in between. ``pointer`` and ``keys`` turn input into calls of this class.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.canvas import faces_layout
from app.canvas.faces_layout import Arrangement, Face, View
from app.canvas.faces_painter import FacesPainter, Overlay
from app.canvas.keys import Keys
from app.canvas.modes import CanvasMode, RegionLook, Shown
from app.canvas.outlines import Box
from app.canvas.placing import Snapped
from app.canvas.pointer import Pointer
from app.canvas.scene_pictures import ScenePictures, Wanted
from app.canvas.state import FacesState, FitTarget, Tool
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.theme import theme, theme_changes
from app.widgets.plain_text import plain_tip
from core.artwork.drawing import Finding
from core.job.plan import Plan

ZOOM_STEP = 1.25


class FacesView(Guarded, QWidget):
    """Both faces of the sheet.

    selection_changed(ids: tuple[str, ...]): the user selected other shapes (not emitted by ``set_selection``).
    pointed(point): (x_mm, y_mm) in the front frame under the pointer, whichever face it is over, or None.
    placement_dragged(dx_mm, dy_mm, finished): the artwork is dragged by so much from where the plan has it, front
    frame; finished False while under way, True once at the end ((0, 0, True) when it was given up).
    shape_activated(id, global_pos: QPoint): double click or Enter. context_requested(ids: tuple, global_pos: QPoint).
    finding_activated(index): a finding's mark was clicked; index into what ``set_finding_marks`` got.
    flaw_picked(number): a flaw of the sheet was clicked.
    held(True): a button is held for something; held(False): no more.
    zoomed(px_per_mm): the scale changed. drawn: a picture of the artwork was finished and is shown.
    shown_changed(shown): the front shows something else of the piece.
    Files dropped on it are the window's.
    """

    selection_changed = Signal(tuple)
    pointed = Signal(object)
    placement_dragged = Signal(float, float, bool)
    shape_activated = Signal(str, object)
    context_requested = Signal(tuple, object)
    finding_activated = Signal(int)
    flaw_picked = Signal(int)
    held = Signal(bool)
    zoomed = Signal(float)
    shown_changed = Signal(str)
    drawn = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(240, 240)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(caption("Front and bed of the sheet"))
        self.state = FacesState()
        self.pictures = ScenePictures(self._wanted, self)
        self.pictures.changed.connect(self.update)
        self.pictures.scene_changed.connect(self._scene_changed)
        self.pictures.drawn.connect(self.drawn)
        self._painter = FacesPainter(self.state, self.pictures)
        self._pointer = Pointer(self)
        self._keys = Keys(self)
        self._held = False
        theme_changes().changed.connect(self._refresh)
        self._describe()

    # --- what is shown -------------------------------------------------------------------------------------------

    def set_plan(self, plan: Plan | None) -> None:
        """Show this plan; None shows the empty state. Keeps zoom and place unless it is another artwork or sheet."""
        before, self.state.plan = self.state.plan, plan
        self.pictures.show_plan(plan)
        if plan is None:
            self.state.scene = None
            self.state.hovered = None
            self._describe()
            self.update()
            return
        if before is None or before.job.source != plan.job.source:
            self.state.fit_target, self.state.stacked = self._usual_target, None
            self.state.is_fitted = True
        elif before.job.sheet != plan.job.sheet:
            self.state.is_fitted = True
        self.state.settle_arrangement()
        if self.state.is_fitted:
            self.fit()
        self._describe()
        self.update()

    @property
    def plan(self) -> Plan | None:
        """The plan shown."""
        return self.state.plan

    def set_mode(self, mode: CanvasMode) -> None:
        """What is drawn: the stage's key."""
        if mode != self.state.mode:
            self.give_up()
            self.state.mode = mode
            if self.state.is_fitted and self.state.fit_target != "selection":
                self.fit(self._usual_target)
            self.shown_changed.emit(self.state.shown)
            self._refresh()

    def set_shown(self, shown: Shown) -> None:
        """Have the front show this from now on, in the mode at hand."""
        if shown != self.state.shown:
            self.state.chosen_shown[self.state.mode] = shown
            self.shown_changed.emit(shown)
            self._describe()
            self._refresh()

    @property
    def shown(self) -> Shown:
        """What the front shows."""
        return self.state.shown

    @property
    def _usual_target(self) -> FitTarget:
        """Placing is done on the whole sheet, all else goes by the artwork."""
        return "sheet" if self.state.mode == "sheet" else "artwork"

    def set_selection(self, shape_ids: Collection[str]) -> None:
        """Select these shapes; no signal comes back."""
        chosen = frozenset(shape_ids)
        if chosen != self.state.selection:
            self.state.selection = chosen
            self._describe()
            self.pictures.ask()

    @property
    def is_held(self) -> bool:
        """Whether a button is held for something."""
        return self._held

    @property
    def selection(self) -> frozenset[str]:
        """Ids of the shapes selected."""
        return self.state.selection

    def select(self, shape_ids: Collection[str]) -> None:
        """The user selected these shapes: as ``set_selection``, and tells so."""
        if frozenset(shape_ids) != self.state.selection:
            self.set_selection(shape_ids)
            self.selection_changed.emit(self.state.selected_in_order())

    def set_highlight(self, shape_ids: Collection[str]) -> None:
        """Mark these shapes without selecting them, as for a hovered row of a list; () takes the mark away."""
        self.state.highlight = frozenset(shape_ids)
        self.pictures.ask()

    def set_finding_marks(self, findings: Sequence[Finding]) -> None:
        """Mark the places of findings (front frame); those without a place are left out."""
        self.state.findings = tuple(findings)
        self.update()

    def set_chosen_flaw(self, number: int | None) -> None:
        """Have a flaw of the sheet stand out; None for none."""
        if number != self.state.chosen_flaw:
            self.state.chosen_flaw = number
            self.update()

    def set_tool(self, tool: Tool | None) -> None:
        """Give clicks to a tool; None gives them back to selecting and dragging."""
        self._pointer.give_up()
        self.state.tool = tool
        if tool is None:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.CrossCursor)

    def set_region_looks(self, looks: Sequence[RegionLook]) -> None:
        """Regions to show in the "paint" mode, over the fills, first ones undermost."""
        self.state.looks = tuple(looks)
        self._refresh()

    def set_inches(self, inches: bool) -> None:
        """Rulers and lengths in inches, or in mm."""
        self.state.inches = inches
        self.update()

    def set_arrangement(self, arrangement: Arrangement) -> None:
        """How the faces lie: by the room there is, or as told."""
        self.state.arrangement = arrangement
        self._resized()

    def set_empty_text(self, title: str, hint: str = "") -> None:
        """What an empty view invites to."""
        self.state.empty = (caption(title), caption(hint))
        self._describe()
        self.update()

    def add_overlay(self, overlay: Overlay) -> None:
        """Paint this over both faces from now on; call ``update`` when it should change."""
        self._painter.overlays.append(overlay)
        self.update()

    # --- where it is shown ---------------------------------------------------------------------------------------

    def show_view(self, view: View) -> None:
        """Show another middle and zoom, held within reach."""
        if self.state.plan is None:
            return
        front, _ = self.state.faces
        held = faces_layout.within_reach(view, front, self.state.reach())
        if held == self.state.view:
            return
        zoomed, self.state.view, self.state.is_fitted = held.px_per_mm != self.state.view.px_per_mm, held, False
        self.pictures.ask()
        self.update()
        if zoomed:
            self.zoomed.emit(held.px_per_mm)

    def zoom_to(self, x_mm: float, y_mm: float, span_mm: float) -> None:
        """Put a front point in the middle with ``span_mm`` across the shorter side of a face."""
        if self.state.plan is not None:
            area = self.state.faces[0].area
            scale = min(area.width(), area.height()) / max(span_mm, 1e-6)
            self.show_view(View(x_mm=x_mm, y_mm=y_mm, px_per_mm=scale))

    def fit(self, target: FitTarget | None = None) -> None:
        """Show all of the artwork, of the selection or of the sheet, as large as the faces allow; None: as last."""
        if self.state.plan is None:
            return
        if target == "selection" and self.state.box_of("selection") is None:
            return
        self.state.fit_target = target or self.state.fit_target
        front, box = self.state.faces[0], self.state.box_of(self.state.fit_target)
        self.show_view(faces_layout.fitted(front) if box is None else faces_layout.fitted_box(front, box))
        self.state.is_fitted = True

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a pixel of a face, or about the middle."""
        if self.state.plan is None:
            return
        face = self.state.face_at(at) if at is not None else None
        wanted = replace(self.state.view, px_per_mm=self.state.view.px_per_mm * factor)
        held = faces_layout.within_reach(wanted, self.state.faces[0], self.state.reach())
        if face is None or at is None:
            self.show_view(held)
        else:
            self.show_view(faces_layout.zoomed_at(face, at, held.px_per_mm / self.state.view.px_per_mm))

    def pan_by(self, face: Face, dx_px: float, dy_px: float) -> None:
        """Move the picture of one face; the other follows."""
        self.show_view(faces_layout.panned(replace(face, view=self.state.view), dx_px, dy_px))

    # --- for pointer and keys ------------------------------------------------------------------------------------

    @property
    def dragging(self) -> bool:
        """Whether the artwork is being dragged."""
        return self._pointer.dragging

    def set_hovered(self, shape_id: str | None) -> None:
        """Show which shape is pointed at."""
        if shape_id != self.state.hovered:
            self.state.hovered = shape_id
            self._describe()
            self.pictures.ask()

    def set_pointed(self, point: tuple[float, float] | None, face_name: str = "") -> None:
        """Show a front point as pointed at on that face, and tell."""
        pointed = None if point is None else (point, face_name)
        if pointed != self.state.pointed:
            self.state.pointed = pointed
            self.pointed.emit(point)
            self.update()

    def set_band(self, band: Box | None) -> None:
        """Show the rubber band, a front box."""
        self.state.band = band
        self.update()

    def show_drag(self, shift: Snapped | None) -> None:
        """Show the artwork moved from where the plan has it; None puts it back."""
        self.pictures.drag(shift)
        self.update()

    def bring_into_view(self, shape_id: str) -> None:
        """Pan until the shape's middle is seen."""
        box = self.state.shape_box(shape_id)
        if box is not None and not QRectF(self.state.faces[0].area).contains(self.state.shape_middle(shape_id)):
            self.show_view(replace(self.state.view, x_mm=(box[0] + box[2]) / 2, y_mm=(box[1] + box[3]) / 2))

    def show_cursor(self, shape: Qt.CursorShape | None) -> None:
        """Show this pointer; None: the usual one."""
        if shape is None:
            self.unsetCursor()
        else:
            self.setCursor(shape)

    def refresh(self) -> None:
        """Paint again."""
        self.update()

    def give_up(self) -> bool:
        """Take back what the pointer is about; returns whether it was about anything."""
        was_about = self._pointer.give_up()
        self._tell_held()
        return was_about

    def _tell_held(self) -> None:
        if self._pointer.busy != self._held:
            self._held = self._pointer.busy
            self.held.emit(self._held)

    # --- pictures ------------------------------------------------------------------------------------------------

    def shutdown(self) -> None:
        """Stop the drawing thread and wait for it; the view shows nothing new afterwards."""
        self.state.plan = None
        self.pictures.close()

    def whole_artwork(self) -> QImage | None:
        """All of the artwork as the front shows it, once that is drawn."""
        drawn = self.pictures.overview.picture
        return drawn.image if drawn is not None else None

    @property
    def settled(self) -> bool:
        """Whether everything that is to be drawn off the GUI thread is there."""
        return self.pictures.settled

    @property
    def under_way(self) -> tuple[str, ...]:
        """What is to be drawn and is not there yet, each by its name."""
        return self.pictures.under_way

    def _wanted(self) -> Wanted | None:
        if self.state.plan is None:
            return None
        return Wanted(
            front=self.state.faces[0],
            density=self.devicePixelRatioF(),
            kinds={"front": self.state.kind_on("front"), "bed": self.state.kind_on("bed")},
            looks=self.state.looks,
            selected=self.state.selection,
            highlighted=self.state.highlight,
            hovered=self.state.hovered,
        )

    def _scene_changed(self) -> None:
        self.state.scene = self.pictures.scene
        if self.state.scene is not None and self.state.hovered not in self.state.scene.index_of:
            self.state.hovered = None
        if self.state.is_fitted and not self.dragging:
            self.fit()
        self.update()

    def _refresh(self) -> None:
        """Something other than the view changed: have all pictures drawn that are out of date."""
        self.pictures.ask()
        self.update()

    # --- painting ------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw both faces."""
        painter = QPainter(self)
        self._painter.paint(painter, self, dragging=self._pointer.dragging)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setPen(QColor(theme().palette.accent))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    # --- words ---------------------------------------------------------------------------------------------------

    def _describe(self) -> None:
        """Say in words what the picture shows, for screen readers."""
        text = self.state.description()
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.DescriptionChanged))

    # --- events --------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Qt: anything; tooltips, pinches and the keys Qt would keep to itself are taken here."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            tip = plain_tip(self.state.tip_at(QPointF(event.pos())))
            QToolTip.showText(event.globalPos(), tip, self)
            return True
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self.zoom_by(1.0 + event.value(), event.position())
            return True
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._refresh()
        return super().event(event)

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
        self._tell_held()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Qt: the pointer moves."""
        self._pointer.moved(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Qt: a button comes up."""
        self._pointer.released(event)
        self._tell_held()

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
        self.state.size_px = (self.width(), self.height())
        self.state.settle_arrangement()
        if self.state.plan is not None and self.state.is_fitted:
            self.fit()
        self._refresh()

    def global_pos(self, point: QPointF) -> QPoint:
        """A pixel of the view on the screen."""
        return self.mapToGlobal(point.toPoint())
