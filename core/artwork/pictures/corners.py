"""Corners of closed contours: where the direction jumps, not where a curve merely bends.

From each point the contour is followed both ways. On each side the stretch a little off the point, which the
pixels' own rounding does not reach, is fitted with a parabola whose direction at the point is compared with that of
the other side: on a smooth curve, however small, the two agree; at a corner they do not. The corner itself is where
the two sides meet.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.artwork.pictures.contouring import Contours
from core.geometry.path import Floats
from core.geometry.rings import Indices

At = Callable[[int], Indices]
STEP_PX = 0.5
_NEAR, _FAR = 3, 11  # samples of an arm: 1.5 px to 5.5 px off the point
CORNER_DEG = 32.0
_REACH_PX = 4.0
_TIP_DEG = 100.0
_APART = 7
_SMOOTH = 6
_STRAIGHT_PX = 0.15
_WINDOW = 4
_SAVITZKY_GOLAY = np.array([-21, 14, 39, 54, 59, 54, 39, 14, -21]) / 231
"""Quadratic smoothing over nine samples (A. Savitzky, M. J. E. Golay, Analytical Chemistry 36, 1627 (1964); from
memory, and re-derived by least squares in the tests)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sampled:
    """Rings resampled evenly, about ``STEP_PX`` apart: points (n, 2), starts (r + 1,); corner (n,): which are corners.

    Corners are moved to where their two sides meet. direction (n, 2): the smooth unit direction at each point.
    before, after (n, 2): the unit directions on either side of each corner.
    """

    points: Floats
    starts: Indices
    corner: NDArray[np.bool_]
    direction: Floats
    before: Floats
    after: Floats


def with_corners(contours: Contours) -> Sampled:
    """The contours, evenly sampled, with their corners found and sharpened."""
    points, starts = _resampled(contours.points, contours.starts)
    lengths = np.diff(starts)
    ring = np.repeat(np.arange(len(lengths)), lengths)
    first, count = starts[:-1][ring], lengths[ring]
    index = np.arange(len(points)) - first

    def at(shift: int) -> Indices:
        return first + (index + shift) % count

    # an arm never reaches half way round its ring, so that small rings have short ones
    ahead_from, ahead = _arm(points, at, +1)
    back_from, back = _arm(points, at, -1)
    turn = np.abs(np.arctan2(ahead[:, 0] * -back[:, 1] + ahead[:, 1] * back[:, 0], -(ahead * back).sum(1)))
    turn[count < 4 * _FAR // 2 + 4] = 0.0
    sharp = turn > np.radians(CORNER_DEG)
    highest = sharp.copy()
    for shift in range(1, _APART + 1):
        highest &= (turn >= turn[at(-shift)]) & (turn > turn[at(shift)])
    is_tip = highest & (turn > np.radians(_TIP_DEG))
    if is_tip.any():
        tips = np.flatnonzero(is_tip)

        def at_tips(shift: int) -> Indices:
            return at(shift)[tips]

        ahead_from[tips], ahead[tips] = _arm_of_tip(points, at_tips, +1, ahead_from[tips], ahead[tips])
        back_from[tips], back[tips] = _arm_of_tip(points, at_tips, -1, back_from[tips], back[tips])
    met, place = _meeting(ahead_from, ahead, back_from, back, points)
    corner = highest & met
    points = np.where(corner[:, None], place, points)
    before, after = _unit(-back), _unit(ahead)
    direction = np.zeros_like(points)
    for shift in range(1, _SMOOTH + 1):  # a straight line by least squares; on a circle it is the tangent
        direction += shift * (points[at(shift)] - points[at(-shift)])
    clear = ~corner
    for shift in range(1, _WINDOW + 1):
        clear &= ~corner[at(shift)] & ~corner[at(-shift)]
    clear &= count > 4 * _WINDOW
    soft = _SAVITZKY_GOLAY[_WINDOW] * points
    for shift in range(1, _WINDOW + 1):
        soft = soft + _SAVITZKY_GOLAY[_WINDOW + shift] * (points[at(shift)] + points[at(-shift)])
    points = np.where(clear[:, None], soft, points)
    # what lies between a corner and its arms is the pixels' rounding of it
    rounded = np.zeros(len(points), bool)
    for shift in range(1, _NEAR):
        rounded |= corner[at(shift)] | corner[at(-shift)]
    keep = ~rounded | corner
    kept = np.bincount(ring[keep], minlength=len(lengths))
    few = kept < 6
    keep |= few[ring]
    kept = np.where(few, lengths, kept)
    return Sampled(
        points=points[keep],
        starts=np.concatenate([[0], np.cumsum(kept)]).astype(np.intp),
        corner=corner[keep],
        direction=_unit(direction)[keep],
        before=before[keep],
        after=after[keep],
    )


def _arm(points: Floats, at: At, sign: int) -> tuple[Floats, Floats]:
    """Where an arm begins, (n, 2), and its direction there, (n, 2): by a straight line, unless the arm is bent by more
    than pixels explain, then by a parabola."""
    (start, way, bent), (line, line_way, _) = _fits(points, at, sign, _NEAR, _FAR)
    curved = (bent > _STRAIGHT_PX)[:, None]
    return np.where(curved, start, line), np.where(curved, way, line_way)


def _arm_of_tip(points: Floats, at: At, sign: int, begin: Floats, way: Floats) -> tuple[Floats, Floats]:
    """The same for sharp tips, whose rounding reaches further: where the arm is straight further out, that counts."""
    _, (far_line, far_way, far_bent) = _fits(points, at, sign, _NEAR + 3, _FAR + 3)
    bent = _fits(points, at, sign, _NEAR, _FAR)[0][2]
    tip = ((bent > _STRAIGHT_PX / 3) & (far_bent < _STRAIGHT_PX))[:, None]
    return np.where(tip, far_line, begin), np.where(tip, far_way, way)


_Fit = tuple[Floats, Floats, Floats]


def _fits(points: Floats, at: At, sign: int, near: int, far: int) -> tuple[_Fit, _Fit]:
    """An arm's beginning, direction and bend (px) by a parabola, and by a straight line."""
    s = np.arange(near, far + 1) * STEP_PX
    weights = np.linalg.pinv(np.stack([np.ones_like(s), s, s * s], axis=1))
    straight = np.linalg.pinv(np.stack([np.ones_like(s), s], axis=1))
    sums = np.zeros((5, len(at(0)), 2))
    rows = (*weights, *straight)
    for k, shift in enumerate(range(near, far + 1)):
        there = points[at(sign * shift)]
        for total, row in zip(sums, rows, strict=True):
            total += row[k] * there
    bent = np.hypot(sums[2, :, 0], sums[2, :, 1]) * ((s[-1] - s[0]) / 2) ** 2
    return (sums[0], sums[1], bent), (sums[3], sums[4], bent)


def _meeting(a: Floats, u: Floats, b: Floats, v: Floats, around: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """Where lines a + s u and b + t v meet, and whether that is near enough to the contour to be its corner."""
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = ((b - a)[:, 0] * v[:, 1] - (b - a)[:, 1] * v[:, 0]) / cross
        place = a + s[:, None] * u
        near = np.hypot(*(place - around).T) <= _REACH_PX
    return near & np.isfinite(place).all(axis=1), np.nan_to_num(place)


def _unit(vectors: Floats) -> Floats:
    length = np.hypot(vectors[:, 0], vectors[:, 1])
    result: Floats = vectors / np.where(length > 0, length, 1.0)[:, None]
    return result


def _resampled(points: Floats, starts: Indices) -> tuple[Floats, Indices]:
    """The rings with points about ``STEP_PX`` apart along them, at least eight a ring."""
    lengths = np.diff(starts)
    following = np.arange(1, len(points) + 1)
    following[starts[1:] - 1] = starts[:-1]
    leg = np.hypot(*(points[following] - points).T)
    around = np.add.reduceat(leg, starts[:-1])
    counts = np.maximum(np.round(around / STEP_PX).astype(np.intp), 8)
    new_starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
    # one number line for all rings: each ring's points, then its first one again
    ring = np.repeat(np.arange(len(lengths)), lengths + 1)
    order = np.arange(len(ring)) - ring
    closing = starts[1:] + np.arange(len(lengths))
    order[closing] = starts[:-1]
    step = np.zeros(len(ring))
    own = np.ones(len(ring), bool)
    own[closing] = False
    begins = starts[:-1] + np.arange(len(lengths))
    along = np.concatenate([[0.0], np.cumsum(leg)])
    step[own] = along[:-1]
    step[closing] = along[starts[1:]]
    gap = np.arange(len(lengths)) * 1.0  # rings apart on the number line
    step += gap[ring]
    share = (np.arange(new_starts[-1]) - np.repeat(new_starts[:-1], counts)) / np.repeat(counts, counts)
    wanted = np.repeat(step[begins], counts) + share * np.repeat(around, counts)
    x = np.interp(wanted, step, points[order, 0])
    y = np.interp(wanted, step, points[order, 1])
    return np.stack([x, y], axis=1), new_starts
