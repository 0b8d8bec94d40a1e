"""What the user does to the faces: pointer and keys change the state by these calls, and others are told."""

from collections.abc import Collection
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from app.canvas.described import describe
from app.canvas.keys import Keys
from app.canvas.pointer import Pointer

if TYPE_CHECKING:
    from app.canvas.outlines import Box
    from app.canvas.placing import Snapped
    from app.canvas.scene_pictures import ScenePictures
    from app.canvas.state import FacesState
    from app.canvas.zooming import Zooming


class Touch(QObject):
    """The ``Hands`` of the faces.

    selection_changed(ids: tuple[str, ...]): the user selected other shapes.
    pointed(point): (x_mm, y_mm) in the front frame under the pointer, whichever face it is over, or None.
    placement_dragged(dx_mm, dy_mm, finished): the artwork is dragged by so much from where the plan has it, front
    frame; finished False while under way, True once at the end ((0, 0, True) when it was given up).
    shape_activated(id, global_pos: QPoint): double click or Enter. context_requested(ids: tuple, global_pos: QPoint).
    finding_activated(index): a finding's mark was clicked; index into the findings marked.
    flaw_picked(number): a flaw of the sheet was clicked.
    held(True): a button is held for something; held(False): no more.
    """

    selection_changed = Signal(tuple)
    pointed = Signal(object)
    placement_dragged = Signal(float, float, bool)
    shape_activated = Signal(str, object)
    context_requested = Signal(tuple, object)
    finding_activated = Signal(int)
    flaw_picked = Signal(int)
    held = Signal(bool)

    def __init__(self, widget: QWidget, state: "FacesState", pictures: "ScenePictures", zooming: "Zooming") -> None:
        super().__init__(widget)
        self._widget, self._pictures = widget, pictures
        self.state, self.zooming = state, zooming
        self._pointer, self._keys = Pointer(self), Keys(self)
        self._held = False

    # --- for pointer and keys ------------------------------------------------------------------------------------

    def select(self, shape_ids: Collection[str]) -> None:
        """The user selected these shapes."""
        if frozenset(shape_ids) != self.state.selection:
            self.show_selection(shape_ids)
            self.selection_changed.emit(self.state.selected_in_order())

    def show_selection(self, shape_ids: Collection[str]) -> None:
        """Show these shapes as selected; nobody is told."""
        chosen = frozenset(shape_ids)
        if chosen != self.state.selection:
            self.state.selection = chosen
            describe(self._widget, self.state)
            self._pictures.ask()

    def set_hovered(self, shape_id: str | None) -> None:
        """Show which shape is pointed at."""
        if shape_id != self.state.hovered:
            self.state.hovered = shape_id
            describe(self._widget, self.state)
            self._pictures.ask()

    def set_pointed(self, point: tuple[float, float] | None, face_name: str = "") -> None:
        """Show a front point as pointed at on that face, and tell."""
        pointed = None if point is None else (point, face_name)
        if pointed != self.state.pointed:
            self.state.pointed = pointed
            self.pointed.emit(point)
            self.refresh()

    def set_band(self, band: "Box | None") -> None:
        """Show the rubber band, a front box."""
        self.state.band = band
        self.refresh()

    def show_drag(self, shift: "Snapped | None") -> None:
        """Show the artwork moved from where the plan has it; None puts it back."""
        self._pictures.drag(shift)
        self.refresh()

    def show_cursor(self, shape: Qt.CursorShape | None) -> None:
        """Show this pointer; None: the usual one."""
        if shape is None:
            self._widget.unsetCursor()
        else:
            self._widget.setCursor(shape)

    def refresh(self) -> None:
        """Paint again."""
        self._widget.update()

    def global_pos(self, point: QPointF) -> QPoint:
        """A pixel of the view on the screen."""
        return self._widget.mapToGlobal(point.toPoint())

    def give_up(self) -> bool:
        """Take back what the pointer is about; returns whether it was about anything."""
        was_about = self._pointer.give_up()
        self._tell_held()
        return was_about

    # --- from the widget -----------------------------------------------------------------------------------------

    @property
    def dragging(self) -> bool:
        """Whether the artwork is being dragged."""
        return self._pointer.dragging

    @property
    def is_held(self) -> bool:
        """Whether a button is held for something."""
        return self._held

    def key_pressed(self, event: QKeyEvent) -> bool:
        """A key went down; returns whether it was meant for the faces."""
        return self._keys.pressed(event)

    def key_released(self, event: QKeyEvent) -> bool:
        """A key came up; returns whether it was meant for the faces."""
        return self._keys.released(event)

    def pressed(self, event: QMouseEvent) -> None:
        """A button went down."""
        self._pointer.pressed(event, panning=self._keys.space_held)
        if self._keys.space_held:
            self._keys.panned()
        self._tell_held()

    def moved(self, event: QMouseEvent) -> None:
        """The pointer moved, with or without a button."""
        self._pointer.moved(event)

    def released(self, event: QMouseEvent) -> None:
        """A button came up."""
        self._pointer.released(event)
        self._tell_held()

    def double_clicked(self, event: QMouseEvent) -> None:
        """A double click."""
        self._pointer.double_clicked(event)

    def context_wanted(self, at: QPointF | None, global_pos: QPoint) -> None:
        """A context menu is wanted at a pixel, or (None) by a key for what is selected."""
        if at is None:
            self._keys.context_wanted()
        else:
            self._pointer.context_wanted(at, global_pos)

    def left(self) -> None:
        """The pointer left."""
        self.set_pointed(None)
        self.set_hovered(None)

    def focus_lost(self) -> None:
        """Keys that are held are not held any more."""
        self._keys.let_go()

    def _tell_held(self) -> None:
        if self._pointer.busy != self._held:
            self._held = self._pointer.busy
            self.held.emit(self._held)
