"""How far the artwork is moved over the sheet by pointer and keys. No Qt."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.canvas.outlines import Box

NUDGE_MM = 1.0
FINE_NUDGE_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapped:
    """A shift of the artwork and the lines it was caught by: x of upright ones, y of level ones, mm (front).

    slanted: the edge it was caught by where that runs neither way, (x0, y0, x1, y1).
    """

    dx_mm: float
    dy_mm: float
    x_lines_mm: tuple[float, ...] = ()
    y_lines_mm: tuple[float, ...] = ()
    slanted: "Box | None" = None


def along_one_axis(dx_mm: float, dy_mm: float) -> tuple[float, float]:
    """The shift with its lesser part taken away."""
    return (dx_mm, 0.0) if abs(dx_mm) >= abs(dy_mm) else (0.0, dy_mm)
