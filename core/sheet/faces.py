"""Front and bed: the one turn between them.

The job is kept as seen from the front. The bed view is derived: the sheet lies front down, turned over about its
vertical edge (sideways, x mirrored) or its horizontal edge (endways, y mirrored). Both turns are their own inverse.
"""

from typing import Literal

from core.geometry.affine import Affine
from core.geometry.turning import Turn, turned_over
from core.sheet.placement import Sheet

Corner = Literal["top left", "top right", "bottom left", "bottom right"]

TURNS: tuple[Turn, ...] = ("sideways", "endways")


def turn_matrix(turn: Turn, sheet: Sheet) -> Affine:
    """Front frame to bed frame, or back: ``bed = turn(front)``, ``front = turn(bed)``."""
    return turned_over(turn, sheet.width_mm, sheet.height_mm)


def turned_corner(corner: Corner, turn: Turn) -> Corner:
    """Where a corner of one face is found on the other."""
    swaps = {"left": "right", "right": "left"} if turn == "sideways" else {"top": "bottom", "bottom": "top"}
    vertical, horizontal = corner.split()
    return f"{swaps.get(vertical, vertical)} {swaps.get(horizontal, horizontal)}"  # type: ignore[return-value]
