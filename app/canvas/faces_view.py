"""The two faces of the sheet, linked: *Front, as seen* and *Bed, back up*.

The widget is told what to show and passes on what happens to it: ``state`` holds what is shown, ``zooming`` moves it,
``pictures`` are drawn on another thread, a painter lays them between ground, rulers and marks, ``touch`` takes pointer
and keys.
"""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QToolTip, QWidget

from app.canvas.described import describe
from app.canvas.empty_state import paint_empty
from app.canvas.faces_layout import Arrangement
from app.canvas.scene_pictures import ScenePictures, Wanted
from app.canvas.state import FacesState, FitTarget, Tool
from app.canvas.touch import Touch
from app.canvas.zooming import Zooming
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.theme import theme, theme_changes
from app.widgets.plain_text import plain_tip
from core.findings import Finding

if TYPE_CHECKING:
    from app.canvas.faces_painter import FacesPainter
    from app.canvas.modes import CanvasMode, RegionLook, Shown
    from app.canvas.overlay import Overlay
    from core.job.plan import Plan

ZOOM_STEP = 1.25


class FacesView(Guarded, QWidget):
    """Both faces of the sheet.

    drawn: a picture of the artwork was finished and is shown. shown_changed(shown): the front shows something else of
    the piece. What the user does is told by ``touch``, another scale by ``zooming``. Files dropped on it are the
    window's.
    """

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
        self.zooming = Zooming(self.state, self)
        self.zooming.moved.connect(self._refresh)
        self.touch = Touch(self, self.state, self.pictures, self.zooming)
        self._overlays: list[Overlay] = []
        self._painter: FacesPainter | None = None
        theme_changes().changed.connect(self._refresh)
        describe(self, self.state)

    # --- what is shown -------------------------------------------------------------------------------------------

    def set_plan(self, plan: "Plan | None") -> None:
        """Show this plan; None shows the empty state. Keeps zoom and place unless it is another artwork or sheet."""
        before, self.state.plan = self.state.plan, plan
        self.pictures.show_plan(plan)
        if plan is None:
            self.state.scene = None
            self.state.hovered = None
            describe(self, self.state)
            self.update()
            return
        if before is None or before.job.source != plan.job.source:
            self.state.fit_target, self.state.stacked = self._usual_target, None
            self.state.is_fitted = True
        elif before.job.sheet != plan.job.sheet:
            self.state.is_fitted = True
        self.state.settle_arrangement()
        self.zooming.fit_again()
        describe(self, self.state)
        self.update()

    def set_mode(self, mode: "CanvasMode") -> None:
        """What is drawn: the stage's key."""
        if mode != self.state.mode:
            self.touch.give_up()
            self.state.mode = mode
            if self.state.is_fitted and self.state.fit_target != "selection":
                self.zooming.fit(self._usual_target)
            self.shown_changed.emit(self.state.shown)
            self._refresh()

    def set_shown(self, shown: "Shown") -> None:
        """Have the front show this from now on, in the mode at hand."""
        if shown != self.state.shown:
            self.state.chosen_shown[self.state.mode] = shown
            self.shown_changed.emit(shown)
            describe(self, self.state)
            self._refresh()

    @property
    def _usual_target(self) -> FitTarget:
        """Placing is done on the whole sheet, all else goes by the artwork."""
        return "sheet" if self.state.mode == "sheet" else "artwork"

    def set_selection(self, shape_ids: Collection[str]) -> None:
        """Select these shapes; no signal comes back."""
        self.touch.show_selection(shape_ids)

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
        self.touch.give_up()
        self.state.tool = tool
        self.touch.show_cursor(None if tool is None else Qt.CursorShape.CrossCursor)

    def set_region_looks(self, looks: Sequence["RegionLook"]) -> None:
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
        describe(self, self.state)
        self.update()

    def add_overlay(self, overlay: "Overlay") -> None:
        """Paint this over both faces from now on; call ``update`` when it should change."""
        self._overlays.append(overlay)
        self.update()

    # --- pictures ------------------------------------------------------------------------------------------------

    def shutdown(self) -> None:
        """Stop the drawing thread and wait for it; the view shows nothing new afterwards."""
        self.state.plan = None
        self.pictures.close()

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
        if not self.touch.dragging:
            self.zooming.fit_again()
        self.update()

    def _refresh(self) -> None:
        """Something other than the view changed: have all pictures drawn that are out of date."""
        self.pictures.ask()
        self.update()

    # --- painting ------------------------------------------------------------------------------------------------

    def _faces_painter(self) -> "FacesPainter":
        """Made with the first plan: it brings what an empty view does without."""
        if self._painter is None:
            from app.canvas.faces_painter import FacesPainter

            self._painter = FacesPainter(self.state, self.pictures, self._overlays)
        return self._painter

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw both faces."""
        with QPainter(self) as painter:
            if self.state.plan is None:
                density = self.devicePixelRatioF()
                paint_empty(painter, QRectF(self.rect()), self.font(), *self.state.empty, theme(), density)
            else:
                self._faces_painter().paint(painter, self, dragging=self.touch.dragging)
            if self.hasFocus():
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
                painter.setPen(QColor(theme().palette.accent))
                painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    # --- events --------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Qt: anything; tooltips, pinches and the keys Qt would keep to itself are taken here."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            tip = plain_tip(self.state.tip_at(QPointF(event.pos())))
            QToolTip.showText(event.globalPos(), tip, self)
            return True
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self.zooming.zoom_by(1.0 + event.value(), event.position())
            return True
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._refresh()
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: a key goes down."""
        if not self.touch.key_pressed(event):
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Qt: a key comes up."""
        if not self.touch.key_released(event):
            super().keyReleaseEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Qt: a button goes down."""
        self.touch.pressed(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Qt: the pointer moves."""
        self.touch.moved(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Qt: a button comes up."""
        self.touch.released(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Qt: a double click."""
        self.touch.double_clicked(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Qt: the wheel turns."""
        steps = event.angleDelta().y() / 120.0
        if steps:
            self.zooming.zoom_by(ZOOM_STEP**steps, event.position())
        event.accept()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Qt: a context menu is wanted, by the right button or a key."""
        by_key = event.reason() == QContextMenuEvent.Reason.Keyboard
        self.touch.context_wanted(None if by_key else QPointF(event.pos()), event.globalPos())

    def leaveEvent(self, event: QEvent) -> None:
        """Qt: the pointer leaves."""
        self.touch.left()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Qt: the keyboard comes here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Qt: the keyboard goes elsewhere."""
        self.touch.focus_lost()
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
        self.zooming.fit_again()
        self._refresh()
