"""Which part of the sheet is seen, and how large: panned, zoomed and fitted, held within reach."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPointF, QRectF, Signal

from app.canvas import faces_layout
from app.canvas.faces_layout import Face, View

if TYPE_CHECKING:
    from app.canvas.state import FacesState, FitTarget


class Zooming(QObject):
    """Moves the view of a state. moved: another part is seen. zoomed(px_per_mm): the scale changed."""

    moved = Signal()
    zoomed = Signal(float)

    def __init__(self, state: "FacesState", parent: QObject) -> None:
        super().__init__(parent)
        self._state = state

    def show_view(self, view: View) -> None:
        """Show another middle and zoom, held within reach."""
        state = self._state
        if state.plan is None:
            return
        held = faces_layout.within_reach(view, state.faces[0], state.reach())
        if held == state.view:
            return
        zoomed, state.view, state.is_fitted = held.px_per_mm != state.view.px_per_mm, held, False
        self.moved.emit()
        if zoomed:
            self.zoomed.emit(held.px_per_mm)

    def zoom_to(self, x_mm: float, y_mm: float, span_mm: float) -> None:
        """Put a front point in the middle with ``span_mm`` across the shorter side of a face."""
        if self._state.plan is not None:
            area = self._state.faces[0].area
            scale = min(area.width(), area.height()) / max(span_mm, 1e-6)
            self.show_view(View(x_mm=x_mm, y_mm=y_mm, px_per_mm=scale))

    def fit(self, target: "FitTarget | None" = None) -> None:
        """Show all of the artwork, of the selection or of the sheet, as large as the faces allow; None: as last."""
        state = self._state
        if state.plan is None or (target == "selection" and state.box_of("selection") is None):
            return
        state.fit_target = target or state.fit_target
        front, box = state.faces[0], state.box_of(state.fit_target)
        self.show_view(faces_layout.fitted(front) if box is None else faces_layout.fitted_box(front, box))
        state.is_fitted = True

    def fit_again(self) -> None:
        """Size, artwork or sheet changed: what was fitted stays so."""
        if self._state.is_fitted:
            self.fit()

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a pixel of a face, or about the middle."""
        state = self._state
        if state.plan is None:
            return
        face = state.face_at(at) if at is not None else None
        wanted = replace(state.view, px_per_mm=state.view.px_per_mm * factor)
        held = faces_layout.within_reach(wanted, state.faces[0], state.reach())
        if face is None or at is None:
            self.show_view(held)
        else:
            self.show_view(faces_layout.zoomed_at(face, at, held.px_per_mm / state.view.px_per_mm))

    def pan_by(self, face: Face, dx_px: float, dy_px: float) -> None:
        """Move the picture of one face; the other follows."""
        self.show_view(faces_layout.panned(replace(face, view=self._state.view), dx_px, dy_px))

    def bring_into_view(self, shape_id: str) -> None:
        """Pan until the shape's middle is seen."""
        state, box = self._state, self._state.shape_box(shape_id)
        if box is not None and not QRectF(state.faces[0].area).contains(state.shape_middle(shape_id)):
            self.show_view(replace(state.view, x_mm=(box[0] + box[2]) / 2, y_mm=(box[1] + box[3]) / 2))
