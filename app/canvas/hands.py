"""What pointer and keys may do to the view; what is there to see they read from its state."""

from collections.abc import Collection
from typing import Protocol

from PySide6.QtCore import QPoint, QPointF, Qt, SignalInstance

from app.canvas.faces_layout import Face
from app.canvas.outlines import Box
from app.canvas.placing import Snapped
from app.canvas.state import FacesState, FitTarget


class Hands(Protocol):
    """The view, as far as its pointer and keys reach. Signals and calls are those of ``FacesView``."""

    @property
    def state(self) -> FacesState:
        """What is shown, to be read only."""

    @property
    def placement_dragged(self) -> SignalInstance:
        """(dx_mm, dy_mm, finished)."""

    @property
    def shape_activated(self) -> SignalInstance:
        """(id, global_pos)."""

    @property
    def context_requested(self) -> SignalInstance:
        """(ids, global_pos)."""

    @property
    def finding_activated(self) -> SignalInstance:
        """(index)."""

    @property
    def flaw_picked(self) -> SignalInstance:
        """(number)."""

    def select(self, shape_ids: Collection[str]) -> None:
        """The user selected these shapes."""

    def set_hovered(self, shape_id: str | None) -> None:
        """Show which shape is pointed at."""

    def set_pointed(self, point: tuple[float, float] | None, face_name: str = "") -> None:
        """Show a front point as pointed at on that face."""

    def set_band(self, band: Box | None) -> None:
        """Show the rubber band, a front box."""

    def show_drag(self, shift: Snapped | None) -> None:
        """Show the artwork moved from where the plan has it."""

    def pan_by(self, face: Face, dx_px: float, dy_px: float) -> None:
        """Move the picture of one face."""

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a pixel, or about the middle."""

    def fit(self, target: FitTarget | None = None) -> None:
        """Show all of the artwork, of the selection or of the sheet; None: as last."""

    def zoom_to(self, x_mm: float, y_mm: float, span_mm: float) -> None:
        """Put a front point in the middle with so much across."""

    def bring_into_view(self, shape_id: str) -> None:
        """Pan until the shape's middle is seen."""

    def give_up(self) -> bool:
        """Take back what the pointer is about; returns whether it was about anything."""

    def show_cursor(self, shape: Qt.CursorShape | None) -> None:
        """Show this pointer; None: the usual one."""

    def refresh(self) -> None:
        """Paint again."""

    def global_pos(self, point: QPointF) -> QPoint:
        """A pixel of the view on the screen."""
