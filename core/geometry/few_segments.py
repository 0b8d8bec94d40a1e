"""Outlines of many chords told in few lines and arcs, as a knife or a beam should follow them.

Greedy: from each end reached, the line or the circular arc that follows most of the outline to within the tolerance.
Ends of segments are corners of the outline, so that neighbours meet, and sharp corners stay where they are.
"""

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from core.geometry.path import ARC, LINE, Floats, Path

_MOST_SWEEP = 5.5
"""Rad; an arc that goes nearly all round is told badly by its ends."""
_LEAST_ARC_CORNERS = 4
"""Fewer chords are as well told as lines."""


def in_few_segments(ring: Floats, tolerance_mm: float) -> Path:
    """A closed outline (n, 2), its first corner not repeated, as lines and arcs within ``tolerance_mm`` of it."""
    whole = _circle(ring, tolerance_mm)
    if whole is not None:
        return whole
    points = np.roll(ring, -_sharpest(ring), axis=0)
    points = np.vstack([points, points[:1]])
    kinds: list[int] = []
    rows: list[list[float]] = []
    at, last = 0, len(points) - 1
    while at < last:
        line_end = _farthest(at, last, partial(_line_to, points, at, tolerance_mm))
        arc_end = _farthest(at, last, partial(_arc_to, points, at, tolerance_mm))
        arc = _arc(points[at : arc_end + 1], tolerance_mm) if arc_end > line_end else None
        if arc is not None and arc_end - at >= _LEAST_ARC_CORNERS:
            kinds.append(ARC)
            rows.append(arc)
            at = arc_end
        else:
            kinds.append(LINE)
            rows.append([*points[at].tolist(), *points[line_end].tolist(), 0.0, 0.0, 0.0, 0.0])
            at = line_end
    return Path(
        kinds=np.array(kinds, np.uint8),
        segments=np.array(rows),
        starts=np.zeros(1, np.intp),
        closed=np.ones(1, bool),
    )


def _circle(ring: Floats, tolerance_mm: float) -> Path | None:
    """The full circle that a ring follows, if it follows one."""
    if len(ring) < 12:
        return None
    centre = (ring.min(0) + ring.max(0)) / 2
    radii = np.hypot(*(ring - centre).T)
    radius = float(radii.mean())
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    away = max(np.abs(radii - radius).max(), np.abs(np.hypot(*(middles - centre).T) - radius).max())
    if away > tolerance_mm:
        return None
    row = [*centre.tolist(), radius, 0.0, 0.0, radius, 0.0, math.tau]
    return Path(
        kinds=np.array([ARC], np.uint8),
        segments=np.array([row]),
        starts=np.zeros(1, np.intp),
        closed=np.ones(1, bool),
    )


def _sharpest(ring: Floats) -> int:
    """The corner with the largest bend: a good place to begin."""
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    bend = np.abs(np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1)))
    return int(np.argmax(bend.round(6)))


def _farthest(start: int, last: int, fits: Callable[[int], bool]) -> int:
    """The farthest end for which ``fits(end)`` still holds, by doubling and halving; one step on at least."""
    step, good = 1, start + 1
    while good < last and fits(min(good + step, last)):
        good = min(good + step, last)
        step *= 2
    low, high = good, min(good + step, last)
    while high - low > 1:
        middle = (low + high) // 2
        if fits(middle):
            low = middle
        else:
            high = middle
    return low


def _line_to(points: Floats, start: int, tolerance_mm: float, end: int) -> bool:
    return _is_line(points[start : end + 1], tolerance_mm)


def _arc_to(points: Floats, start: int, tolerance_mm: float, end: int) -> bool:
    return _arc(points[start : end + 1], tolerance_mm) is not None


def _is_line(points: Floats, tolerance_mm: float) -> bool:
    """Whether the chord from first to last follows all points, and none turns back."""
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length == 0.0:
        return False
    away = points - points[0]
    across = np.abs(chord[0] * away[:, 1] - chord[1] * away[:, 0]) / length
    along = away @ chord / length
    return bool(across.max() <= tolerance_mm and along.min() >= -tolerance_mm and along.max() <= length + tolerance_mm)


def _arc(points: Floats, tolerance_mm: float) -> list[float] | None:
    """The ARC row from the first to the last point that follows all between, None where there is none."""
    if len(points) < 3:
        return None
    first, last = points[0], points[-1]
    chord = last - first
    length = float(np.hypot(*chord))
    if length < 1e-9:
        return None
    across = (chord[0] * (points[:, 1] - first[1]) - chord[1] * (points[:, 0] - first[0])) / length
    top = int(np.argmax(np.abs(across)))
    centre = _centre(first, points[top], last)
    if centre is None:
        return None
    radius = float(np.hypot(*(first - centre)))
    spokes = points - centre
    angles = np.unwrap(np.arctan2(spokes[:, 1], spokes[:, 0]))
    steps = np.diff(angles)
    if not ((steps > 0).all() or (steps < 0).all()) or abs(angles[-1] - angles[0]) > _MOST_SWEEP:
        return None
    middles = (points[1:] + points[:-1]) / 2 - centre
    away = max(np.abs(np.hypot(*spokes.T) - radius).max(), np.abs(np.hypot(*middles.T) - radius).max())
    if away > tolerance_mm:
        return None
    return [*centre.tolist(), radius, 0.0, 0.0, radius, float(angles[0]), float(angles[-1])]


def _centre(a: Floats, b: Floats, c: Floats) -> Floats | None:
    """The centre of the circle through three points; None where they lie on a line."""
    u, v = b - a, c - a
    doubled = 2 * (u[0] * v[1] - u[1] * v[0])
    if abs(doubled) < 1e-12:
        return None
    uu, vv = float(u @ u), float(v @ v)
    centre: Floats = a + np.array([v[1] * uu - u[1] * vv, u[0] * vv - v[0] * uu]) / doubled
    return centre
