"""The pen of a stroke: round in its own space, which a matrix takes to mm."""

from dataclasses import dataclass

import numpy as np

from core.geometry.affine import Affine
from core.geometry.path import Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnSpace:
    """The space in which a pen is round, scaled so that areas are those in mm.

    scale: from the stroke's units to this space. into, back: linear maps for row vectors from mm and to mm, (2, 2),
    both None where the matrix is a similarity, as there the pen is round in mm too. stretch: greatest of the way back.
    """

    scale: float
    into: Floats | None
    back: Floats | None
    stretch: float


def own_space(matrix: Affine) -> OwnSpace | None:
    """The pen's own space; None where the matrix squashes it to a line or is not finite."""
    linear = np.array([[matrix[0], matrix[1]], [matrix[2], matrix[3]]], float)
    if not np.isfinite(linear).all():
        return None
    det = abs(float(np.linalg.det(linear)))
    values = np.linalg.svd(linear, compute_uv=False)
    if det == 0 or values[1] < 1e-9 * values[0]:
        return None
    scale = det**0.5
    if values[0] - values[1] <= 1e-9 * values[0]:
        return OwnSpace(scale=scale, into=None, back=None, stretch=1.0)
    back = linear / scale
    return OwnSpace(scale=scale, into=np.linalg.inv(back), back=back, stretch=float(values[0] / scale))
