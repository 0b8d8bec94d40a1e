"""The sheet stage on the faces: what a place of the artwork comes to while it is dragged, flaws noted by pointer.

An overlay of the faces. What it takes to try places is made ready off the GUI thread; each step of a drag then takes
a few milliseconds.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, QPointF, Qt, Signal
from PySide6.QtGui import QPainter

from app.canvas.faces_layout import Face, FaceName
from app.canvas.faces_view import FacesView
from app.session.background import Background, Question
from app.theme.theme import theme
from core.sheet.placement import Points

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from core.job.laying import Laid, Laying
    from core.job.plan import Plan

FlawKind = Literal["point", "line", "patch"]
LEAST_PLACES = {"point": 1, "line": 2, "patch": 3}
DRAG_HINT = "Drag (Ctrl: no snap, Shift: straight) or Ctrl and arrows"
NOTE_HINTS: dict[FlawKind, str] = {
    "point": "Click it on either face; Esc ends.",
    "line": "Click along it; Enter ends, Backspace one back, Esc gives up.",
    "patch": "Click round it; Enter ends, Backspace one back, Esc gives up.",
}


class SheetWork(QObject):
    """laid_changed: ``laid`` is another. noted(kind, points, face name): a flaw was noted, points in that face's own
    frame. noting_ended: no flaw is being noted any more. flaw_picked(number)."""

    laid_changed = Signal()
    noted = Signal(str, tuple, str)
    noting_ended = Signal()
    flaw_picked = Signal(int)

    def __init__(self, view: FacesView) -> None:
        super().__init__(view)
        self._view = view
        self._question = Question(Background("laying", self))
        self._plan: Plan | None = None
        self._on = False
        self._laying: Laying | None = None
        self.laid: Laid | None = None
        self.soft_place: BaseGeometry | None = None
        self.inches = False
        self._kind: FlawKind | None = None
        self._places: list[tuple[float, float]] = []
        self._face: FaceName = "front"
        view.touch.placement_dragged.connect(self._dragged)
        view.touch.flaw_picked.connect(self.flaw_picked)
        view.add_overlay(self)

    # --- the place -----------------------------------------------------------------------------------------------

    def show_plan(self, plan: "Plan | None") -> None:
        """The plan on the faces; its job is made ready to be moved about as soon as somebody looks."""
        if plan is not None and self._plan is not None and plan.layers is self._plan.layers:
            self._plan = plan
            return
        self._plan = plan
        self._question.stop()
        self._laying = None
        if plan is None:
            self._show_laid(None)
        elif self._on:
            self._make_ready(plan)

    def show_on(self, on: bool) -> None:
        """Whether the sheet stage is looked at."""
        self._on = on
        if not on:
            self.end_noting()
        elif self._laying is None and self._plan is not None and not self._question.busy:
            self._make_ready(self._plan)

    def show_soft_place(self, burned: "BaseGeometry | None") -> None:
        """Where the search would put what is burned, front frame; None for nowhere."""
        if burned is not self.soft_place:
            self.soft_place = burned
            self._view.update()

    def show_chosen_flaw(self, number: int | None) -> None:
        """Have a flaw of the sheet stand out on the faces; None for none."""
        self._view.set_chosen_flaw(number)

    def show_inches(self, inches: bool) -> None:
        """Lengths in inches, or in mm."""
        self.inches = inches
        self._view.update()

    @property
    def ready(self) -> bool:
        """Whether places can be tried, or nobody wants to."""
        return self._laying is not None or not self._question.busy

    def _make_ready(self, plan: "Plan") -> None:
        def work(progress: Callable[[float, str], None]) -> "Laying | None":
            from core.job.laying import laying_of  # brings more of the core than a start needs

            progress(0.0, "Making ready to place")
            return laying_of(plan)

        self._question.ask_once(work, self._take)

    def _take(self, laying: "Laying | None") -> None:
        self._laying = laying
        self._show_laid(laying.at(0.0, 0.0) if laying is not None else None)

    def _dragged(self, dx_mm: float, dy_mm: float, finished: bool) -> None:
        if self._laying is not None:
            self._show_laid(self._laying.at(dx_mm, dy_mm))

    def _show_laid(self, laid: "Laid | None") -> None:
        self.laid = laid
        self._view.update()
        self.laid_changed.emit()

    # --- noting flaws --------------------------------------------------------------------------------------------

    @property
    def noting(self) -> FlawKind | None:
        """The kind of flaw that clicks note; None when they do what they always do."""
        return self._kind

    def note(self, kind: FlawKind) -> None:
        """From now on clicks note a flaw of that kind, one after the other."""
        self._kind, self._places = kind, []
        self._view.set_tool(self)
        self._view.setFocus(Qt.FocusReason.OtherFocusReason)
        self._view.update()

    def end_noting(self) -> None:
        """Clicks do again what they always do."""
        if self._kind is not None:
            self._kind, self._places = None, []
            self._view.set_tool(None)
            self._view.update()
            self.noting_ended.emit()

    def clicked(self, face: Face, at: QPointF) -> None:
        """The view: a click on a face, which is a place of the flaw."""
        if self._places and face.name != self._face:
            self._places = []  # seen from the other side: another flaw
        self._face = face.name
        self._places.append(face.to_front(at))
        if self._kind == "point":
            self._finish()
        self._view.update()

    def double_clicked(self, face: Face, at: QPointF) -> None:
        """The view: a double click ends a line or patch; its first click was a place already."""
        self._finish()

    def key(self, key: int) -> bool:
        """The view: a key; returns whether it was meant for noting."""
        if key == Qt.Key.Key_Escape:
            if self._places:
                self._places = []
                self._view.update()
            else:
                self.end_noting()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._finish()
        elif key == Qt.Key.Key_Backspace:
            self._places = self._places[:-1]
            self._view.update()
        else:
            return False
        return True

    def _finish(self) -> None:
        kind = self._kind
        if kind is None or len(self._places) < LEAST_PLACES[kind]:
            return
        face = next(one for one in self._view.state.faces if one.name == self._face)
        points: Points = tuple(face.own(x, y) for x, y in self._places)
        self._places = []
        self.noted.emit(kind, points, self._face)

    # --- painting ------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter, face: Face) -> None:
        """An overlay's part: paint on a face."""
        if self._view.state.mode != "sheet":
            return
        from app.canvas.flaw_marks import paint_course
        from app.canvas.laid_marks import laid_words, paint_hint, paint_laid, paint_soft_place

        colours, palette = theme().canvas, theme().palette
        if self.soft_place is not None and self._kind is None and self._wants_a_place():
            paint_soft_place(painter, face, self.soft_place, colours)
        if self.laid is not None:
            paint_laid(painter, face, self.laid, palette, colours, self._view.devicePixelRatioF())
        if self._kind is not None and self._places and face.name == self._face:
            paint_course(painter, face, self._course(), colours, closed=self._kind == "patch")
        said, kind = laid_words(self.laid, inches=self.inches) if self.laid is not None else ("", "note")
        if self._kind is not None:
            said, kind, hint = f"Noting a {self._kind}", "note", NOTE_HINTS[self._kind]
        else:
            hint = DRAG_HINT
        if face.name == self._hint_face():
            pointed = self._view.state.pointed_mm
            avoid = face.to_px(*pointed) if pointed is not None else None
            density = self._view.devicePixelRatioF()
            paint_hint(painter, face, said, kind, hint, palette, self._view.font(), density, avoid=avoid)

    def _wants_a_place(self) -> bool:
        """Whether where it would go best is worth showing: while it is dragged, or where it can't stay."""
        laid = self.laid
        return laid is not None and (self._view.touch.dragging or not laid.fits or bool(laid.shown))

    def _course(self) -> list[tuple[float, float]]:
        pointed = self._view.state.pointed_mm
        return [*self._places, pointed] if pointed is not None else self._places

    def _hint_face(self) -> FaceName:
        """The face with the pointer; the front without one."""
        return self._view.state.pointed_face or "front"
