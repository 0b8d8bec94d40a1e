"""Contours of a field of values at a level, to parts of a pixel, as closed rings with what lies within to one side.

contourpy (marching squares, linear between pixel centres) does the work. The field is continued past the picture's
edge so that what reaches the edge ends exactly on it.
"""

from dataclasses import dataclass
from typing import Any

import contourpy
import numpy as np
from numpy.typing import NDArray

from core.geometry.path import Floats
from core.geometry.rings import Indices

Field = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contours:
    """Closed rings end to end, px from the picture's top left corner: points (n, 2), the first not repeated; ``starts``
    (r + 1,); outer (r,): which ring is the outline of a part; part (r,): the part that the ring belongs to."""

    points: Floats
    starts: Indices
    is_outer: NDArray[np.bool_]
    part: Indices

    def __len__(self) -> int:
        return len(self.part)


def contours_below(field: Field, level: float) -> Contours:
    """Where the field (h, w) lies below the level; its values lie at the pixels' centres."""
    padded = _continued(field, level)
    height, width = padded.shape
    x, y = np.arange(width, dtype=float) - 0.5, np.arange(height, dtype=float) - 0.5
    generator = contourpy.contour_generator(
        x, y, padded, name="serial", fill_type=contourpy.FillType.ChunkCombinedOffsetOffset
    )
    found: Any = generator.filled(-np.inf, level)
    (points,), (offsets,), (outer_offsets,) = found
    if points is None:
        none = np.zeros(0, np.intp)
        return Contours(points=np.zeros((0, 2)), starts=np.zeros(1, np.intp), is_outer=np.zeros(0, bool), part=none)
    starts, outer_at = offsets.astype(np.intp), outer_offsets.astype(np.intp)
    is_outer = np.zeros(len(starts) - 1, bool)
    is_outer[outer_at[:-1]] = True
    keep = np.ones(len(points), bool)
    keep[starts[1:] - 1] = False  # contourpy closes rings by their first point again
    return Contours(
        points=points[keep],
        starts=starts - np.arange(len(starts)),
        is_outer=is_outer,
        part=(np.cumsum(is_outer) - 1).astype(np.intp),
    )


def _continued(field: Field, level: float) -> NDArray[np.float64]:
    """One pixel more on each side, mirrored about the level: what is filled there ends half way, on the edge."""
    padded = np.pad(field.astype(np.float64), 1, mode="edge")
    for part in (np.s_[0, :], np.s_[-1, :], np.s_[:, 0], np.s_[:, -1]):
        padded[part] = np.maximum(2 * level - padded[part], padded[part])
    return padded
