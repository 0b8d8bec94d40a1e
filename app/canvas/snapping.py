"""Dragging the artwork over the sheet: snapping to the piece's edges, corners and middle, else to whole mm. No Qt."""

from typing import TYPE_CHECKING

import numpy as np

from app.canvas.placing import Snapped
from core.sheet.placement import Sheet

if TYPE_CHECKING:
    from app.canvas.outlines import Box, Floats

GRID_MM = 1.0
MOST_CORNERS = 60
"""A ring with more corners than this is a curve: its corners are none to snap to."""
_STRAIGHT = 1e-6


def snapped(
    bounds: "Box", sheet: Sheet, dx_mm: float, dy_mm: float, *, reach_mm: float, hull: "Floats | None" = None
) -> Snapped:
    """The shift, drawn to where an edge or the middle of the artwork meets one of the sheet, within reach.

    Corners of the sheet's outline count as edges do; ``hull`` (n, 2), the artwork's convex hull, is laid against
    slanted edges. What nothing catches goes to whole millimetres of the artwork's left and top edge.
    """
    corners = _corners(sheet)
    dx, x_lines = _caught(bounds[0], bounds[2], sheet.width_mm, corners[:, 0], dx_mm, reach_mm)
    dy, y_lines = _caught(bounds[1], bounds[3], sheet.height_mm, corners[:, 1], dy_mm, reach_mm)
    if hull is not None and len(hull) and not (x_lines or y_lines):
        laid = _against_slanted(sheet, hull + np.array([dx_mm, dy_mm]), reach_mm)
        if laid is not None:
            (more_x, more_y), edge = laid
            return Snapped(dx_mm=dx_mm + more_x, dy_mm=dy_mm + more_y, slanted=edge)
    return Snapped(
        dx_mm=dx if x_lines else _on_grid(bounds[0], dx),
        dy_mm=dy if y_lines else _on_grid(bounds[1], dy),
        x_lines_mm=x_lines,
        y_lines_mm=y_lines,
    )


def _on_grid(low: float, shift: float) -> float:
    return round((low + shift) / GRID_MM) * GRID_MM - low


def _corners(sheet: Sheet) -> "Floats":
    rings = [np.array(ring, float) for ring in sheet.outline if len(ring) <= MOST_CORNERS]
    return np.vstack(rings) if rings else np.zeros((0, 2))


def _caught(
    low: float, high: float, size: float, corners: "Floats", shift: float, reach: float
) -> tuple[float, tuple[float, ...]]:
    lines = np.unique(np.concatenate([[0.0, size], corners]))
    targets = np.concatenate([lines - low, lines - high, [size / 2 - (low + high) / 2]])
    at = np.concatenate([lines, lines, [size / 2]])
    away = np.abs(targets - shift)
    if away.min() > reach:
        return shift, ()
    caught = float(targets[away.argmin()])
    return caught, tuple(float(line) for line in np.unique(at[np.abs(targets - caught) < 1e-9]))


def _against_slanted(sheet: Sheet, hull: "Floats", reach: float) -> tuple[tuple[float, float], "Box"] | None:
    """The least move that lays the hull against a slanted edge beside it; None where none is within reach."""
    best: tuple[float, tuple[float, float], Box] | None = None
    for ring in sheet.outline:
        if len(ring) > MOST_CORNERS:
            continue
        points = np.array(ring, float)
        for start, end in zip(points, np.roll(points, -1, axis=0), strict=True):
            along = end - start
            length = float(np.hypot(*along))
            if length < reach or min(abs(along)) < _STRAIGHT * length:
                continue
            along = along / length
            normal = np.array([-along[1], along[0]])
            across = (hull - start) @ normal
            for height, touching in ((across.min(), across.argmin()), (across.max(), across.argmax())):
                place = float((hull[touching] - start) @ along)
                if abs(height) <= reach and 0 <= place <= length and (best is None or abs(height) < best[0]):
                    move = -height * normal
                    edge = (float(start[0]), float(start[1]), float(end[0]), float(end[1]))
                    best = (abs(float(height)), (float(move[0]), float(move[1])), edge)
    return None if best is None else best[1:]
