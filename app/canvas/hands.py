"""What pointer and keys may do to the faces; what is there to see they read from the state."""

from collections.abc import Collection
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QPoint, QPointF, Qt, SignalInstance

if TYPE_CHECKING:
    from app.canvas.outlines import Box
    from app.canvas.placing import Snapped
    from app.canvas.state import FacesState
    from app.canvas.zooming import Zooming


class Hands(Protocol):
    """The faces, as far as pointer and keys reach. Signals and calls are those of ``Touch``."""

    @property
    def state(self) -> "FacesState":
        """What is shown, to be read only."""

    @property
    def zooming(self) -> "Zooming":
        """Which part is seen."""

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

    def set_band(self, band: "Box | None") -> None:
        """Show the rubber band, a front box."""

    def show_drag(self, shift: "Snapped | None") -> None:
        """Show the artwork moved from where the plan has it."""

    def give_up(self) -> bool:
        """Take back what the pointer is about; returns whether it was about anything."""

    def show_cursor(self, shape: Qt.CursorShape | None) -> None:
        """Show this pointer; None: the usual one."""

    def refresh(self) -> None:
        """Paint again."""

    def global_pos(self, point: QPointF) -> QPoint:
        """A pixel of the view on the screen."""
