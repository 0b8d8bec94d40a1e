"""A sheet turned over: about its vertical edge (sideways, x mirrored) or its horizontal edge (endways, y mirrored)."""

from typing import Literal

from core.geometry.affine import Affine

Turn = Literal["sideways", "endways"]


def turned_over(turn: Turn, width_mm: float, height_mm: float) -> Affine:
    """Where what lies on one face of a sheet of that size is seen on the other; its own inverse."""
    if turn == "sideways":
        return (-1.0, 0.0, 0.0, 1.0, width_mm, 0.0)
    return (1.0, 0.0, 0.0, -1.0, 0.0, height_mm)
