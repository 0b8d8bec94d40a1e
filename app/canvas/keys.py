"""What the keyboard does to the faces: pan, zoom, go from shape to shape, select, nudge the artwork."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from app.canvas.hands import Hands
from app.canvas.placing import FINE_NUDGE_MM, NUDGE_MM

PAN_PX = 48.0
ZOOM_STEP = 1.25
_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, -1.0),
    Qt.Key.Key_Down: (0.0, 1.0),
}


class Keys:
    """Keys of a ``FacesView``.

    Arrows pan (Shift: further); in the sheet mode Ctrl with an arrow moves the artwork by 1 mm, with Shift too by
    0.1 mm. + - 0 zoom in, out, fit. Tab goes from shape to shape, Space selects, Enter activates, Escape gives up:
    what the pointer is about, then the selection, then the walk from shape to shape, so that Tab leaves the view.
    """

    def __init__(self, view: Hands) -> None:
        self._view, self._state = view, view.state
        self.space_held = False
        self._space_panned = False
        self._tab_leaves = False

    def pressed(self, event: QKeyEvent) -> bool:
        """A key went down; returns whether it was meant for the faces."""
        key, modifiers = event.key(), event.modifiers()
        if self._state.plan is None:
            return False
        if self._state.tool is not None and self._state.tool.key(key):
            return True
        if key in _ARROWS:
            self._arrow(*_ARROWS[Qt.Key(key)], modifiers)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self._view.zoom_by(ZOOM_STEP)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self._view.zoom_by(1 / ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self._view.fit()
        elif key == Qt.Key.Key_Space:
            if not event.isAutoRepeat():
                self.space_held, self._space_panned = True, False
                self._view.show_cursor(Qt.CursorShape.OpenHandCursor)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._state.hovered is not None:
            shape = self._state.hovered
            self._view.shape_activated.emit(shape, self._view.global_pos(self._state.shape_middle(shape)))
        elif key == Qt.Key.Key_Escape:
            return self._escape()
        else:
            return False
        return True

    def released(self, event: QKeyEvent) -> bool:
        """A key came up; Space on its own selects the shape that the keys are at."""
        if event.key() != Qt.Key.Key_Space or event.isAutoRepeat() or not self.space_held:
            return False
        panned = self._space_panned
        self.let_go()
        shape = self._state.hovered
        if shape is not None and not panned:
            self._view.select(self._state.selection ^ {shape})
        return True

    def panned(self) -> None:
        """A pan happened while Space was held: letting go selects nothing."""
        self._space_panned = True

    def let_go(self) -> None:
        """Forget keys that are held."""
        self._tab_leaves = False
        if self.space_held:
            self.space_held = False
            self._view.show_cursor(None)

    def next_shape(self, forwards: bool) -> bool:
        """Go to the next or previous shape; False at the end of the row, when Tab leaves the view."""
        ids = self._state.shape_ids()
        if not ids or self._tab_leaves:
            self._tab_leaves = False
            return False
        hovered = self._state.hovered
        step = 1 if forwards else -1
        at = ids.index(hovered) + step if hovered in ids else (0 if forwards else len(ids) - 1)
        if not 0 <= at < len(ids):
            self._view.set_hovered(None)
            return False
        self._view.set_hovered(ids[at])
        self._view.bring_into_view(ids[at])
        return True

    def context_wanted(self) -> None:
        """The menu key: a menu for what is selected, or for the shape that the keys are at."""
        shape = self._state.hovered
        if shape is not None and shape not in self._state.selection:
            self._view.select({shape})
        chosen = self._state.selected_in_order()
        if chosen:
            at = self._state.shape_middle(shape if shape in chosen else chosen[0])
            self._view.context_requested.emit(chosen, self._view.global_pos(at))

    def _arrow(self, dx: float, dy: float, modifiers: Qt.KeyboardModifier) -> None:
        far = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
        if modifiers & Qt.KeyboardModifier.ControlModifier:
            if self._state.mode == "sheet" and self._state.burned_bounds_mm is not None:
                step_mm = FINE_NUDGE_MM if far else NUDGE_MM
                self._view.placement_dragged.emit(dx * step_mm, dy * step_mm, True)
            return
        step_px = PAN_PX * (4 if far else 1)
        self._view.pan_by(self._state.faces[0], -dx * step_px, -dy * step_px)

    def _escape(self) -> bool:
        if self._view.give_up():
            return True
        if self._state.selection:
            self._view.select(())
            return True
        self._tab_leaves = True
        self._view.set_hovered(None)
        return False
