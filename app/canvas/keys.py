"""What the keyboard does to the faces: pan, zoom, walk from shape to shape, select, nudge the artwork."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from app.canvas.placing import FINE_NUDGE_MM, NUDGE_MM

if TYPE_CHECKING:
    from app.canvas.hands import Hands

PAN_PX = 96.0
ZOOM_STEP = 1.25
_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, -1.0),
    Qt.Key.Key_Down: (0.0, 1.0),
}
_ORDER = {
    Qt.Key.Key_Home: "first",
    Qt.Key.Key_End: "last",
    Qt.Key.Key_PageUp: "previous",
    Qt.Key.Key_PageDown: "next",
}


class Keys:
    """Keys of a ``FacesView``.

    Arrows walk to the next shape that way, Home, End, Page Up and Page Down through all in the drawing's order; Shift
    with an arrow pans. In the sheet mode Ctrl with an arrow moves the artwork by 1 mm, with Shift too by 0.1 mm.
    + - 0 zoom in, out, fit. Space selects the shape that was walked to, Enter activates it, Escape gives up: what the
    pointer is about, then the selection, then the walk. Tab leaves the view in one step, as everywhere.
    """

    def __init__(self, hands: "Hands") -> None:
        self._hands, self._state = hands, hands.state
        self.space_held = False
        self._space_panned = False

    def pressed(self, event: QKeyEvent) -> bool:
        """A key went down; returns whether it was meant for the faces."""
        key, modifiers = event.key(), event.modifiers()
        if self._state.plan is None:
            return False
        if self._state.tool is not None and self._state.tool.key(key):
            return True
        if key in _ARROWS:
            self._arrow(*_ARROWS[Qt.Key(key)], modifiers)
        elif key in _ORDER:
            self._walk_order(_ORDER[Qt.Key(key)])
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self._hands.zooming.zoom_by(ZOOM_STEP)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self._hands.zooming.zoom_by(1 / ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self._hands.zooming.fit()
        elif key == Qt.Key.Key_Space:
            if not event.isAutoRepeat():
                self.space_held, self._space_panned = True, False
                self._hands.show_cursor(Qt.CursorShape.OpenHandCursor)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._state.hovered is not None:
            shape = self._state.hovered
            self._hands.shape_activated.emit(shape, self._hands.global_pos(self._state.shape_middle(shape)))
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
            self._hands.select(self._state.selection ^ {shape})
        return True

    def panned(self) -> None:
        """A pan happened while Space was held: letting go selects nothing."""
        self._space_panned = True

    def let_go(self) -> None:
        """Forget keys that are held."""
        if self.space_held:
            self.space_held = False
            self._hands.show_cursor(None)

    def _walk_order(self, to: str) -> None:
        """To the first, last, previous or next shape as they were drawn; it stays at the ends."""
        ids = self._state.shape_ids()
        if not ids:
            return
        at = ids.index(self._state.hovered) if self._state.hovered in ids else None
        if to == "first" or (to == "next" and at is None):
            wanted = 0
        elif to == "last" or at is None:
            wanted = len(ids) - 1
        else:
            wanted = max(0, min(len(ids) - 1, at + (1 if to == "next" else -1)))
        self._go_to(ids[wanted])

    def _walk_towards(self, dx: float, dy: float) -> None:
        """To the shape that lies nearest that way; to the first one where the walk has not begun."""
        ids = self._state.shape_ids()
        if self._state.hovered in ids:
            wanted = self._state.shape_towards(self._state.hovered, dx, dy)
        else:
            wanted = ids[0] if ids else None
        if wanted is not None:
            self._go_to(wanted)

    def _go_to(self, shape: str) -> None:
        self._hands.set_hovered(shape)
        self._hands.zooming.bring_into_view(shape)

    def context_wanted(self) -> None:
        """The menu key: a menu for what is selected, or for the shape that the keys are at."""
        shape = self._state.hovered
        if shape is not None and shape not in self._state.selection:
            self._hands.select({shape})
        chosen = self._state.selected_in_order()
        if chosen:
            at = self._state.shape_middle(shape if shape in chosen else chosen[0])
            self._hands.context_requested.emit(chosen, self._hands.global_pos(at))

    def _arrow(self, dx: float, dy: float, modifiers: Qt.KeyboardModifier) -> None:
        far = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
        if modifiers & Qt.KeyboardModifier.ControlModifier:
            if self._state.mode == "sheet" and self._state.burned_bounds_mm is not None:
                step_mm = FINE_NUDGE_MM if far else NUDGE_MM
                self._hands.placement_dragged.emit(dx * step_mm, dy * step_mm, True)
            return
        if far:
            self._hands.zooming.pan_by(self._state.faces[0], -dx * PAN_PX, -dy * PAN_PX)
        else:
            self._walk_towards(dx, dy)

    def _escape(self) -> bool:
        if self._hands.give_up():
            return True
        if self._state.selection:
            self._hands.select(())
            return True
        self._hands.set_hovered(None)
        return False
