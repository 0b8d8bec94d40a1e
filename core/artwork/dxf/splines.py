"""B-splines to cubic Béziers: exact up to degree 3 without weights, else within the tolerance.

Each knot span's Bézier points are values of the curve's polar form (blossom) at the span's ends, for instance
f(a, a, a), f(a, a, b), f(a, b, b), f(b, b, b) for a cubic on [a, b] (L. Ramshaw, Blossoms are polar forms, 1989).
All spans of all splines of one degree are worked at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.path import CUBIC, LINE, Floats

MAX_PIECES_PER_SPAN = 256


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BSpline:
    """control: (n, 2); knots: (n + degree + 1,), never falling; weights: (n,) or None."""

    degree: int
    control: Floats
    knots: Floats
    weights: Floats | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SplineRows:
    """Segment rows of one spline: kind (LINE or CUBIC) and (k, 8) rows, end to start."""

    kind: int
    rows: Floats


def fault(spline: BSpline) -> str:
    """What is wrong with the spline, in words, or an empty string."""
    count, order = len(spline.control), spline.degree + 1
    if not 1 <= spline.degree <= 25:
        return f"its degree is {spline.degree}"
    if count < order:
        return f"it has {count} control points where degree {spline.degree} needs {order}"
    if len(spline.knots) != count + order:
        return f"it has {len(spline.knots)} knots where {count + order} belong"
    if not np.isfinite(spline.knots).all() or not np.isfinite(spline.control).all():
        return "it holds a number that is not finite"
    if (np.diff(spline.knots) < 0).any():
        return "its knots fall"
    if not spline.knots[count] > spline.knots[spline.degree]:
        return "its knots span nothing"
    if spline.weights is not None and not (len(spline.weights) == count and (spline.weights > 0).all()):
        return "its weights are not all above zero"
    return ""


def spline_rows(splines: Sequence[BSpline], tolerance: float) -> list[SplineRows]:
    """Rows of each spline, none of which has a ``fault``. The tolerance is in the splines' own units."""
    result: list[SplineRows | None] = [None] * len(splines)
    plain: dict[int, list[int]] = {}
    for index, spline in enumerate(splines):
        weights = spline.weights
        if spline.degree <= 3 and (weights is None or np.ptp(weights) <= 1e-12 * weights.max()):
            plain.setdefault(spline.degree, []).append(index)
        else:
            result[index] = SplineRows(kind=CUBIC, rows=_approximated(spline, tolerance))
    for degree, which in plain.items():
        points, counts = _bezier_points([splines[i] for i in which], [splines[i].control for i in which])
        kind, rows = _exact_rows(degree, points)
        for index, part in zip(which, np.split(rows, np.cumsum(counts)[:-1]), strict=True):
            result[index] = SplineRows(kind=kind, rows=part)
    return [rows for rows in result if rows is not None]


def _exact_rows(degree: int, points: Floats) -> tuple[int, Floats]:
    """Bézier points (k, degree + 1, 2) of degree 1 to 3 as rows."""
    rows = np.zeros((len(points), 8))
    if degree == 1:
        rows[:, :4] = points.reshape(-1, 4)
        return LINE, rows
    if degree == 2:
        start, middle, end = points[:, 0], points[:, 1], points[:, 2]
        points = np.stack([start, start + 2 / 3 * (middle - start), end + 2 / 3 * (middle - end), end], axis=1)
    return CUBIC, points.reshape(-1, 8)


def _bezier_points(splines: Sequence[BSpline], controls: Sequence[Floats]) -> tuple[Floats, NDArray[np.intp]]:
    """Bézier points (k, degree + 1, dimension) of all spans of splines of one degree, and the spans of each."""
    degree = splines[0].degree
    control = np.concatenate(controls)
    knots = np.concatenate([spline.knots for spline in splines])
    sizes = np.array([len(c) for c in controls], np.intp)
    control_offset = np.cumsum(sizes) - sizes
    # span i of a spline of n control points runs from knot i to i + 1, degree <= i < n
    span_counts = sizes - degree
    owner = np.repeat(np.arange(len(splines)), span_counts)
    span = np.arange(len(owner)) - np.repeat(np.cumsum(span_counts) - span_counts, span_counts) + degree
    first_control = control_offset[owner] + span - degree
    first_knot = control_offset[owner] + owner * (degree + 1) + span - degree + 1
    local = knots[first_knot[:, None] + np.arange(2 * degree)]
    width = knots[-1] - knots[0] if len(splines) == 1 else np.array([np.ptp(s.knots) for s in splines])[owner]
    real = local[:, degree] - local[:, degree - 1] > 1e-12 * width
    local, first_control, owner = local[real], first_control[real], owner[real]
    points = control[first_control[:, None] + np.arange(degree + 1)]
    start, end = local[:, degree - 1], local[:, degree]
    bezier = np.stack([_polar(points, local, [start] * (degree - m) + [end] * m) for m in range(degree + 1)], axis=1)
    return bezier, np.bincount(owner, minlength=len(splines)).astype(np.intp)


def _polar(points: Floats, local: Floats, arguments: list[Floats]) -> Floats:
    """The polar form of each span at the arguments, by de Boor's recursion with a new argument on each level."""
    degree = points.shape[1] - 1
    for level, u in enumerate(arguments):
        low, high = local[:, level:degree], local[:, degree : 2 * degree - level]
        share = ((u[:, None] - low) / (high - low))[..., None]
        points = (1 - share) * points[:, :-1] + share * points[:, 1:]
    return points[:, 0]


def _approximated(spline: BSpline, tolerance: float) -> Floats:
    """Cubic rows (k, 8) that meet the spline in point and direction, halved until they lie within the tolerance."""
    weights = spline.weights if spline.weights is not None else np.ones(len(spline.control))
    lifted = np.column_stack([spline.control * weights[:, None], weights])
    points, _ = _bezier_points([spline], [lifted])
    pieces = 1
    while True:
        share = np.linspace(0.0, 1.0, pieces + 1)
        place, slope = _rational(points, share)
        start, end = place[:, :-1], place[:, 1:]
        rows = np.stack([start, start + slope[:, :-1] / (3 * pieces), end - slope[:, 1:] / (3 * pieces), end], axis=2)
        if pieces >= MAX_PIECES_PER_SPAN or _strays(points, rows, pieces) <= tolerance:
            result: Floats = rows.reshape(-1, 8)
            return result
        pieces *= 2


def _strays(points: Floats, rows: Floats, pieces: int) -> float:
    """Largest distance between curve and cubics at the same parameter, looked up at three places a piece."""
    inside = np.array([0.25, 0.5, 0.75])
    share = ((np.arange(pieces)[:, None] + inside) / pieces).ravel()
    true, _ = _rational(points, share)
    t, s = inside, 1 - inside
    weights = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=1)
    ours = np.einsum("im,npmd->npid", weights, rows).reshape(true.shape)
    return float(np.hypot(*(true - ours).reshape(-1, 2).T).max())


def _rational(points: Floats, share: Floats) -> tuple[Floats, Floats]:
    """Points and derivatives (k, len(share), 2) of rational Béziers (k, degree + 1, 3) by de Casteljau's steps."""
    level = np.broadcast_to(points[:, None], (len(points), len(share), *points.shape[1:]))
    t = share[None, :, None, None]
    degree = points.shape[1] - 1
    for _ in range(degree - 1):
        level = (1 - t) * level[:, :, :-1] + t * level[:, :, 1:]
    lifted = (1 - t[..., 0]) * level[:, :, 0] + t[..., 0] * level[:, :, 1]
    rate = degree * (level[:, :, 1] - level[:, :, 0])
    place = lifted[..., :2] / lifted[..., 2:]
    return place, (rate[..., :2] - place * rate[..., 2:]) / lifted[..., 2:]
