"""The two faces of the sheet, linked: *Front, as seen* and *Bed, back up*.

The work in progress of this module: signals and slots stand, the drawing comes next.
"""

from collections.abc import Collection, Sequence
from typing import Literal

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from core.artwork.drawing import Finding
from core.job.plan import Plan

CanvasMode = Literal["artwork", "layers", "sheet", "burn", "coverage", "paint", "hand over"]
Arrangement = Literal["by width", "side by side", "stacked"]


class FacesView(QWidget):
    """Both faces of the sheet.

    selection_changed(ids: tuple[str, ...]): the user selected other shapes (not emitted by ``set_selection``).
    pointed(point): (x_mm, y_mm) in the front frame under the pointer, whichever face it is over, or None.
    placement_dragged(dx_mm, dy_mm, finished): the artwork is dragged by so much from where the plan has it, front
    frame; finished False while under way, True once at the end ((0, 0, True) when it was given up).
    shape_activated(id, global_pos: QPoint): double click or Enter. context_requested(ids: tuple, global_pos: QPoint).
    finding_activated(index): a finding's mark was clicked; index into what ``set_finding_marks`` got.
    zoomed(px_per_mm): the scale changed. file_dropped is the window's: this widget takes no drops.
    """

    selection_changed = Signal(tuple)
    pointed = Signal(object)
    placement_dragged = Signal(float, float, bool)
    shape_activated = Signal(str, object)
    context_requested = Signal(tuple, object)
    finding_activated = Signal(int)
    zoomed = Signal(float)

    def set_plan(self, plan: Plan | None) -> None:
        """Show this plan; None shows the empty state. Keeps zoom and place unless it is another drawing or sheet."""

    def set_mode(self, mode: CanvasMode) -> None:
        """What is drawn: the stage's key."""

    def set_selection(self, shape_ids: Collection[str]) -> None:
        """Select these shapes; no signal comes back."""

    def set_highlight(self, shape_ids: Collection[str]) -> None:
        """Mark these shapes without selecting them, as for a hovered row of a list; () takes the mark away."""

    def set_finding_marks(self, findings: Sequence[Finding]) -> None:
        """Mark the places of findings (front frame); those without a place are left out."""

    def set_inches(self, inches: bool) -> None:
        """Rulers and lengths in inches, or in mm."""

    def set_arrangement(self, arrangement: Arrangement) -> None:
        """How the faces lie: by the room there is, or as told."""

    def set_empty_text(self, title: str, hint: str = "") -> None:
        """What an empty view invites to."""

    def zoom_to(self, x_mm: float, y_mm: float, span_mm: float) -> None:
        """Put a front point in the middle with ``span_mm`` across the shorter side of a face."""

    def fit(self) -> None:
        """Show the whole sheet."""

    def zoom_by(self, factor: float) -> None:
        """Zoom about the middle."""

    def shutdown(self) -> None:
        """Stop the drawing thread and wait for it; the view shows nothing new afterwards."""
