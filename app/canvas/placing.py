"""Dragging the artwork over the sheet: snapping to the sheet's edges and middle. No Qt here."""

from dataclasses import dataclass

from app.canvas.outlines import Box
from core.sheet.placement import Sheet

NUDGE_MM = 1.0
FINE_NUDGE_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapped:
    """A shift of the artwork and the lines it was caught by: x of upright ones, y of level ones, mm (front)."""

    dx_mm: float
    dy_mm: float
    x_lines_mm: tuple[float, ...] = ()
    y_lines_mm: tuple[float, ...] = ()


def snapped(bounds: Box, sheet: Sheet, dx_mm: float, dy_mm: float, *, reach_mm: float) -> Snapped:
    """The shift, drawn to where an edge or the middle of the artwork meets that of the sheet, within reach."""
    dx, x_lines = _caught(bounds[0], bounds[2], sheet.width_mm, dx_mm, reach_mm)
    dy, y_lines = _caught(bounds[1], bounds[3], sheet.height_mm, dy_mm, reach_mm)
    return Snapped(dx_mm=dx, dy_mm=dy, x_lines_mm=x_lines, y_lines_mm=y_lines)


def along_one_axis(dx_mm: float, dy_mm: float) -> tuple[float, float]:
    """The shift with its lesser part taken away."""
    return (dx_mm, 0.0) if abs(dx_mm) >= abs(dy_mm) else (0.0, dy_mm)


def _caught(low: float, high: float, size: float, shift: float, reach: float) -> tuple[float, tuple[float, ...]]:
    catches = ((0.0 - low, 0.0), (size - high, size), (size / 2 - (low + high) / 2, size / 2))
    best = min(abs(target - shift) for target, _ in catches)
    if best > reach:
        return shift, ()
    caught = next(target for target, _ in catches if abs(target - shift) == best)
    return caught, tuple(line for target, line in catches if abs(target - caught) < 1e-9)
