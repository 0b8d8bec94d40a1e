"""Parts of several sizes laid strictly in list order: left to right, row by row, each row as high as its highest part.

A part that no longer fits ends the piece, so that numbers run on from piece to piece; one that the bare piece could not
hold either waits for the next.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import Affine
from core.progress import Progress, silent
from core.sheet.copies import Copy
from core.sheet.placement import placement_matrix

_DOWN_MM = 1.0
"""How far down the next row is looked for where a row has no room for its first part."""
_SHIFTS = 8
"""In so many steps a part moves by its own width past a place that is not accepted."""
_TOUCHING_MM = 1e-6

Box = tuple[float, float, float, float]
Accepts = Callable[[int, Affine], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class InOrder:
    """Copies named by their parts; those the piece can't hold; how far down the piece is taken."""

    copies: tuple[Copy, ...]
    too_large: tuple[int, ...]
    bottom_mm: float

    @property
    def rank(self) -> tuple[int, float]:
        """Smaller is better."""
        return (-len(self.copies), self.bottom_mm)


def laid_in_order(
    room: BaseGeometry,
    boxes: Sequence[tuple[int, Box]],
    *,
    angle_deg: float,
    spacing_mm: float,
    accepts: Accepts,
    progress: Progress = silent,
) -> InOrder:
    """These parts (number, box about its own origin, turned already by the angle) on the room, in this order.

    accepts: whether a part may lie so, with the matrix from its own frame to the front. Raises Cancelled when the
    progress callback does.
    """
    rows = _Rows(room, angle_deg, accepts)
    copies: list[Copy] = []
    too_large: list[int] = []
    x_mm, y_mm, high_mm, bottom_mm = rows.left_mm, rows.top_mm, 0.0, rows.top_mm
    for at, (number, box) in enumerate(boxes):
        progress(at / len(boxes), "laying parts in list order")
        place = rows.place(number, box, x_mm, y_mm)
        if place is None and rows.is_too_large(number, box):
            too_large.append(number)
            continue
        if place is None:
            y_mm += high_mm + spacing_mm if high_mm else 0.0
            high_mm = 0.0
            place = rows.lower(number, box, y_mm)
            if place is None:
                break
        x_mm, y_mm = place[0] + box[2] - box[0] + spacing_mm, place[1]
        high_mm = max(high_mm, box[3] - box[1])
        bottom_mm = max(bottom_mm, y_mm + high_mm)
        copies.append(Copy(name=str(number), x_mm=place[0] - box[0], y_mm=place[1] - box[1], rotation_deg=angle_deg))
    return InOrder(copies=tuple(copies), too_large=tuple(too_large), bottom_mm=bottom_mm)


class _Rows:
    """Where rows of a room are free."""

    def __init__(self, room: BaseGeometry, angle_deg: float, accepts: Accepts) -> None:
        self._room, self._angle_deg, self._accepts = room, angle_deg, accepts
        self.left_mm, self.top_mm, self._right_mm, self._bottom_mm = room.bounds
        self._free: dict[tuple[float, float], list[tuple[float, float]]] = {}
        self._too_large: list[tuple[float, float]] = []
        self._held: list[tuple[float, float]] = []

    def place(self, number: int, box: Box, from_mm: float, y_mm: float) -> tuple[float, float] | None:
        """The leftmost place (of the box's top left corner) in this row, no farther left than this."""
        width_mm = box[2] - box[0]
        for low, high in self._free_of_row(y_mm, box[3] - box[1]):
            x_mm = max(low, from_mm)
            while x_mm + width_mm <= high + _TOUCHING_MM:
                if self._accepts(number, placement_matrix(x_mm - box[0], y_mm - box[1], self._angle_deg)):
                    return x_mm, y_mm
                x_mm += max(width_mm / _SHIFTS, _TOUCHING_MM)
        return None

    def lower(self, number: int, box: Box, y_mm: float) -> tuple[float, float] | None:
        """The first place in a row that begins here or farther down."""
        while y_mm + box[3] - box[1] <= self._bottom_mm + _TOUCHING_MM:
            place = self.place(number, box, self.left_mm, y_mm)
            if place is not None:
                return place
            y_mm += _DOWN_MM
        return None

    def is_too_large(self, number: int, box: Box) -> bool:
        """Whether the bare piece has no room for a part; of what is as large as that, or no larger, it is known."""
        width_mm, height_mm = box[2] - box[0], box[3] - box[1]
        if any(width_mm <= one[0] and height_mm <= one[1] for one in self._held):
            return False
        if any(width_mm >= one[0] and height_mm >= one[1] for one in self._too_large):
            return True
        held = self.lower(number, box, self.top_mm) is not None
        (self._held if held else self._too_large).append((width_mm, height_mm))
        return not held

    def _free_of_row(self, y_mm: float, height_mm: float) -> list[tuple[float, float]]:
        """(from, to) of what is free across the room all along this height, from the left."""
        key = (round(y_mm, 6), round(height_mm, 6))
        if key not in self._free:
            strip = shapely.box(self.left_mm, y_mm + _TOUCHING_MM, self._right_mm, y_mm + height_mm - _TOUCHING_MM)
            blocked = shapely.bounds(shapely.get_parts(shapely.difference(strip, self._room)))
            blocked = blocked[~np.isnan(blocked[:, 0])]  # nothing at all has no bounds
            blocked = blocked[np.argsort(blocked[:, 0])]
            ends = np.maximum.accumulate(np.concatenate([[self.left_mm], blocked[:, 2]]))
            starts = np.concatenate([blocked[:, 0], [self._right_mm]])
            self._free[key] = [
                (low, high) for low, high in zip(ends.tolist(), starts.tolist(), strict=True) if high > low
            ]
        return self._free[key]
