"""Affine maps as SVG writes them: ``(a, b, c, d, e, f)`` takes (x, y) to (ax + cy + e, bx + dy + f)."""

import math
from typing import TYPE_CHECKING

from core.errors import UnreadableError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

Affine = tuple[float, float, float, float, float, float]

IDENTITY: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def translation(dx: float, dy: float) -> Affine:
    """The map that shifts by (dx, dy)."""
    return (1.0, 0.0, 0.0, 1.0, dx, dy)


def scaling(sx: float, sy: float) -> Affine:
    """The map that scales about the origin."""
    return (sx, 0.0, 0.0, sy, 0.0, 0.0)


def rotation(angle_deg: float) -> Affine:
    """The turn about the origin that takes +x towards +y (clockwise to the eye, as y runs down)."""
    quarter, rest = divmod(angle_deg, 90.0)
    if rest == 0.0:  # exact, so that a quarter turn leaves no 1e-17 behind
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return (cos, sin, -sin, cos, 0.0, 0.0)


def compose(outer: Affine, inner: Affine) -> Affine:
    """The map that does ``inner`` first, then ``outer`` (matrix product outer · inner)."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def determinant(matrix: Affine) -> float:
    """Signed area factor; negative when the map mirrors."""
    return matrix[0] * matrix[3] - matrix[1] * matrix[2]


def inverse(matrix: Affine) -> Affine:
    """The map back. Raises UnreadableError when the map squashes the plane to a line."""
    a, b, c, d, e, f = matrix
    det = determinant(matrix)
    if det == 0.0 or not math.isfinite(det):
        raise UnreadableError("A transform squashes its shapes to nothing and has no way back.")
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def apply(matrix: Affine, points: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Points of shape (..., 2) through the map; shape kept."""
    import numpy as np  # a job holds maps, and the window starts without arrays

    a, b, c, d, e, f = matrix
    # not @: for so narrow a product the linear algebra library starts threads that cost more than they bring
    turned = np.einsum("...i,ij->...j", np.asarray(points), np.array([[a, b], [c, d]]))
    result: NDArray[np.float64] = turned + np.array([e, f])
    return result


def apply_to_box(matrix: Affine, box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """The box (x0, y0, x1, y1) round a box through the map."""
    a, b, c, d, e, f = matrix
    x0, y0, x1, y1 = box
    corners = [(a * x + c * y + e, b * x + d * y + f) for x in (x0, x1) for y in (y0, y1)]
    xs, ys = zip(*corners, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def apply_to_region(matrix: Affine, region: "BaseGeometry") -> "BaseGeometry":
    """A shapely geometry through the map."""
    import shapely

    result: BaseGeometry = shapely.transform(region, lambda points: apply(matrix, points))
    return result


def mean_scale(matrix: Affine) -> float:
    """Square root of the area factor: the one length factor of a map that does not squash."""
    return math.sqrt(abs(determinant(matrix)))
