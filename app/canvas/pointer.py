"""What the pointer does to the faces: select, band, pan, drag the artwork, open menus."""

from enum import Enum, auto
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QMouseEvent

from app.canvas.faces_layout import MAX_PX_PER_MM, Face
from app.canvas.finding_marks import GATHER_PX, FindingMark
from app.canvas.placing import Snapped, along_one_axis

if TYPE_CHECKING:
    from app.canvas.hands import Hands
    from app.canvas.outlines import Box

MOVE_FROM_PX = 4.0
"""A press that moves less than this is a click."""
SNAP_PX = 8.0
SAME_PLACE_PX = 3.0
SAME_PLACE_MM = 0.05
GRIP_PX = 6.0


class Doing(Enum):
    """What a pressed button is about."""

    NOTHING = auto()
    CLICKING = auto()
    BANDING = auto()
    PANNING = auto()
    DRAGGING = auto()
    WITH_TOOL = auto()


class Pointer:
    """Follows the pointer over a ``FacesView``.

    A click selects (with Ctrl or Shift it adds or takes away), a second one at the same place goes on to the shape
    beneath; moving from there opens the rubber band, in the sheet mode it drags the artwork: Shift keeps to one
    axis, Ctrl does not snap. The middle button, or the left one with Space, pans.
    """

    def __init__(self, hands: "Hands") -> None:
        self._hands, self._state = hands, hands.state
        self._doing = Doing.NOTHING
        self._face: Face | None = None
        self._pressed_at = QPointF()
        self._last = QPointF()
        self._on_artwork = False
        self._clicked_at: QPointF | None = None
        self._shift: Snapped | None = None

    @property
    def dragging(self) -> bool:
        """Whether the artwork is being dragged."""
        return self._doing is Doing.DRAGGING

    @property
    def busy(self) -> bool:
        """Whether a button is held for something."""
        return self._doing is not Doing.NOTHING

    def pressed(self, event: QMouseEvent, *, panning: bool) -> None:
        """A button went down; ``panning``: Space is held."""
        face = self._state.face_at(event.position())
        if face is None or self.busy:
            return
        self._face, self._pressed_at, self._last = face, event.position(), event.position()
        if event.button() == Qt.MouseButton.MiddleButton or (event.button() == Qt.MouseButton.LeftButton and panning):
            self._doing = Doing.PANNING
            self._hands.show_cursor(Qt.CursorShape.ClosedHandCursor)
        elif event.button() == Qt.MouseButton.LeftButton and self._state.tool is not None:
            self._doing = Doing.WITH_TOOL
        elif event.button() == Qt.MouseButton.LeftButton:
            self._doing = Doing.CLICKING
            self._on_artwork = self._over_artwork(face, event.position())

    def moved(self, event: QMouseEvent) -> None:
        """The pointer moved, with or without a button."""
        at = event.position()
        if self._doing is Doing.NOTHING or self._face is None:
            self._hover(at)
            return
        far = (at - self._pressed_at).manhattanLength() >= MOVE_FROM_PX
        if self._doing is Doing.CLICKING and far:
            self._doing = Doing.DRAGGING if self._on_artwork else Doing.BANDING
        if self._doing is Doing.PANNING:
            step = at - self._last
            self._hands.zooming.pan_by(self._face, step.x(), step.y())
        elif self._doing is Doing.BANDING:
            self._hands.set_band(self._band_to(at))
        elif self._doing is Doing.DRAGGING:
            self._drag_to(at, event.modifiers())
        self._last = at
        face = self._state.face_at(at)
        self._hands.set_pointed(face.to_front(at) if face else None, face.name if face else "")

    def released(self, event: QMouseEvent) -> None:
        """A button came up."""
        doing, self._doing = self._doing, Doing.NOTHING
        if doing is Doing.PANNING:
            self._hands.show_cursor(None)
        elif doing is Doing.WITH_TOOL:
            face = self._state.face_at(event.position())
            if face is not None and self._state.tool is not None:
                self._state.tool.clicked(face, event.position())
        elif doing is Doing.CLICKING and event.button() == Qt.MouseButton.LeftButton:
            self._click(event.position(), event.modifiers())
        elif doing is Doing.BANDING:
            found = self._state.shapes_in(self._band_to(event.position()))
            self._hands.set_band(None)
            self._hands.select(self._merged(found, event.modifiers()))
        elif doing is Doing.DRAGGING:
            shift, self._shift = self._shift, None
            self._hands.placement_dragged.emit(shift.dx_mm if shift else 0.0, shift.dy_mm if shift else 0.0, True)
            self._hands.refresh()
        self._hover(event.position())

    def double_clicked(self, event: QMouseEvent) -> None:
        """A double click: the shape under it is activated."""
        face = self._state.face_at(event.position())
        if face is None or event.button() != Qt.MouseButton.LeftButton:
            return
        if self._state.tool is not None:
            self._state.tool.double_clicked(face, event.position())
            return
        found = self._state.shapes_at(face, event.position())
        if found:
            chosen = next((shape for shape in found if shape in self._state.selection), found[0])
            self._hands.shape_activated.emit(chosen, self._hands.global_pos(event.position()))

    def context_wanted(self, at: QPointF, global_pos: QPoint) -> None:
        """The right button: a menu for what is selected, or for the shape under it, which is then selected."""
        face = self._state.face_at(at)
        if face is None or self.busy or self._state.tool is not None:
            return
        found = self._state.shapes_at(face, at)
        if found and not self._state.selection.intersection(found):
            self._hands.select(found[:1])
        self._hands.context_requested.emit(self._state.selected_in_order(), global_pos)

    def give_up(self) -> bool:
        """Escape: what is under way is taken back. Returns whether anything was."""
        doing, self._doing = self._doing, Doing.NOTHING
        if doing is Doing.BANDING:
            self._hands.set_band(None)
        elif doing is Doing.DRAGGING:
            self._shift = None
            self._hands.show_drag(None)
            self._hands.placement_dragged.emit(0.0, 0.0, True)
        elif doing is Doing.PANNING:
            self._hands.show_cursor(None)
        return doing is not Doing.NOTHING

    def _click(self, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        face = self._state.face_at(at)
        if face is None:
            return
        mark = self._state.mark_at(face, at)
        if mark is not None:
            self._open_mark(face, mark)
            return
        flaw = self._state.flaw_at(face, at) if self._state.mode == "sheet" else None
        if flaw is not None:
            self._hands.flaw_picked.emit(flaw)
            return
        found = self._state.shapes_at(face, at)
        meant = found[:1]
        again = self._clicked_at is not None and (at - self._clicked_at).manhattanLength() <= SAME_PLACE_PX
        if again and len(self._state.selection) == 1 and not _adds(modifiers):
            chosen = next(iter(self._state.selection))
            if chosen in found:
                meant = [found[(found.index(chosen) + 1) % len(found)]]
        self._clicked_at = at
        self._hands.select(self._merged(meant, modifiers))

    def _open_mark(self, face: Face, mark: FindingMark) -> None:
        """One finding is told; a count is zoomed to until its places part, where they can."""
        if mark.text and mark.span_mm * MAX_PX_PER_MM > GATHER_PX and mark.span_mm > SAME_PLACE_MM:
            x_mm, y_mm = face.to_front(mark.foot)
            self._hands.zooming.zoom_to(x_mm, y_mm, 3.0 * mark.span_mm)
        else:
            self._hands.finding_activated.emit(mark.indices[0])

    def _merged(self, found: list[str], modifiers: Qt.KeyboardModifier) -> frozenset[str]:
        """What is selected after shapes were hit: one by one taken away where they were in it, else added."""
        chosen = self._state.selection
        if not _adds(modifiers):
            return frozenset(found)
        return chosen - set(found) if found and chosen.issuperset(found) else chosen | set(found)

    def _band_to(self, at: QPointF) -> "Box":
        assert self._face is not None
        area = QRectF(self._face.area)
        held = QPointF(min(max(at.x(), area.left()), area.right()), min(max(at.y(), area.top()), area.bottom()))
        (x0, y0), (x1, y1) = self._face.to_front(self._pressed_at), self._face.to_front(held)
        return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))

    def _drag_to(self, at: QPointF, modifiers: Qt.KeyboardModifier) -> None:
        face, bounds, plan = self._face, self._state.burned_bounds_mm, self._state.plan
        if face is None or bounds is None or plan is None:
            return
        (x0, y0), (x1, y1) = face.to_front(self._pressed_at), face.to_front(at)
        dx, dy = x1 - x0, y1 - y0
        if modifiers & Qt.KeyboardModifier.ShiftModifier:
            dx, dy = along_one_axis(dx, dy)
        if modifiers & Qt.KeyboardModifier.ControlModifier:
            self._shift = Snapped(dx_mm=dx, dy_mm=dy)
        else:
            from app.canvas.snapping import snapped

            hull = self._state.burned_hull_mm
            self._shift = snapped(bounds, plan.job.sheet, dx, dy, reach_mm=SNAP_PX / face.view.px_per_mm, hull=hull)
        self._hands.show_drag(self._shift)
        self._hands.placement_dragged.emit(self._shift.dx_mm, self._shift.dy_mm, False)

    def _over_artwork(self, face: Face, at: QPointF) -> bool:
        bounds = self._state.burned_bounds_mm
        if self._state.mode != "sheet" or bounds is None:
            return False
        return face.rect_px(*bounds).adjusted(-GRIP_PX, -GRIP_PX, GRIP_PX, GRIP_PX).contains(at)

    def _hover(self, at: QPointF) -> None:
        face = self._state.face_at(at)
        self._hands.set_pointed(face.to_front(at) if face else None, face.name if face else "")
        if self._state.tool is not None:
            self._hands.show_cursor(Qt.CursorShape.CrossCursor)
            self._hands.refresh()
            return
        found = self._state.shapes_at(face, at) if face else []
        self._hands.set_hovered(found[0] if found else None)
        if face is not None and self._over_artwork(face, at):
            self._hands.show_cursor(Qt.CursorShape.SizeAllCursor)
        else:
            self._hands.show_cursor(None)


def _adds(modifiers: Qt.KeyboardModifier) -> bool:
    return bool(modifiers & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier))
