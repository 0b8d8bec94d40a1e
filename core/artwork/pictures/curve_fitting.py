"""Cubic Bézier curves and straight lines through closed contours, all pieces of all contours fitted at once.

Least squares with given ends and end directions (P. J. Schneider, An algorithm for automatically fitting digitized
curves, Graphics Gems, 1990), with one improvement of the parameters; a piece that stays further off than the tolerance
is split where it is furthest. Pieces join smoothly but at corners.
"""

import numpy as np
from numpy.typing import NDArray

from core.artwork.pictures.corners import Sampled
from core.geometry.path import CUBIC, LINE, Floats, Path
from core.geometry.rings import Indices

_LEAST_POINTS = 7
_MOST_ROUNDS = 14


def fitted_path(rings: Sampled, *, tolerance_px: float) -> Path:
    """A closed subpath a ring, in pixels."""
    begin, end, ring = _first_pieces(rings)
    done_at: list[Indices] = []
    done_rows: list[Floats] = []
    done_kinds: list[NDArray[np.uint8]] = []
    for round_ in range(_MOST_ROUNDS + 1):
        if not len(begin):
            break
        rows, kinds, error, worst = _fitted(rings, begin, end, ring, tolerance_px)
        ok = (error <= tolerance_px) | (end - begin <= _LEAST_POINTS) | (round_ == _MOST_ROUNDS)
        done_at.append(begin[ok])
        done_rows.append(rows[ok])
        done_kinds.append(kinds[ok])
        cut, low, high, of = worst[~ok], begin[~ok], end[~ok], ring[~ok]
        cut = np.clip(cut, low + 3, high - 3)
        begin, end = np.concatenate([low, cut]), np.concatenate([cut, high])
        ring = np.concatenate([of, of])
    at = np.concatenate(done_at)
    order = np.argsort(at, kind="stable")
    rows, kinds = np.concatenate(done_rows)[order], np.concatenate(done_kinds)[order]
    of = _ring_of(rings, at[order])
    starts = np.searchsorted(of, np.arange(len(rings.starts) - 1)).astype(np.intp)
    return Path(kinds=kinds, segments=rows, starts=starts, closed=np.ones(len(starts), bool))


def _ring_of(rings: Sampled, at: Indices) -> Indices:
    """The ring of places on the doubled number line of ``_first_pieces``."""
    return (np.searchsorted(2 * rings.starts, at, side="right") - 1).astype(np.intp)


def _first_pieces(rings: Sampled) -> tuple[Indices, Indices, Indices]:
    """Pieces (begin, end, ring) between corners; rings without corners in four.

    Places count on a line on which each ring has twice its length, so that a piece may run past the ring's last point.
    """
    lengths = np.diff(rings.starts)
    ring_of_point = np.repeat(np.arange(len(lengths)), lengths)
    cuts = rings.corner.copy()
    bare = np.bincount(ring_of_point[cuts], minlength=len(lengths)) == 0
    for quarter in range(4):
        cuts[rings.starts[:-1][bare] + quarter * lengths[bare] // 4] = True
    at = np.flatnonzero(cuts)
    ring = ring_of_point[at]
    begin = at + rings.starts[ring]
    last = np.append(ring[1:] != ring[:-1], True)
    end = np.append(begin[1:], 0)
    firsts = np.searchsorted(ring, np.arange(len(lengths)))
    end[last] = begin[firsts] + lengths
    return begin.astype(np.intp), end.astype(np.intp), ring.astype(np.intp)


def _fitted(
    rings: Sampled, begin: Indices, end: Indices, ring: Indices, tolerance_px: float
) -> tuple[Floats, NDArray[np.uint8], Floats, Indices]:
    """Rows, kinds, greatest distance and where that is, of each piece."""
    counts = end - begin + 1
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)
    piece = np.repeat(np.arange(len(begin)), counts)
    place = np.arange(len(piece)) - starts[piece] + begin[piece]
    lengths = np.diff(rings.starts)
    base = rings.starts[ring]
    index = base[piece] + (place - 2 * base[piece]) % lengths[ring][piece]
    points = rings.points[index]
    first, last = points[starts], points[starts + counts - 1]
    chord = last - first
    length = np.hypot(chord[:, 0], chord[:, 1])
    off = points - first[piece]
    safe = np.where(length > 0, length, 1.0)
    across = np.abs(off[:, 0] * chord[piece, 1] - off[:, 1] * chord[piece, 0]) / safe[piece]
    across = np.where(length[piece] > 0, across, np.hypot(off[:, 0], off[:, 1]))
    straight = np.maximum.reduceat(across, starts) <= 0.8 * tolerance_px
    rows = np.zeros((len(begin), 8))
    rows[:, 0:2], rows[:, 2:4] = first, last
    kinds = np.full(len(begin), LINE, np.uint8)
    error, worst = np.zeros(len(begin)), begin.copy()
    curved = np.flatnonzero(~straight)
    if len(curved):
        some = ~straight[piece]
        sub = np.concatenate([[0], np.cumsum(counts[curved])[:-1]]).astype(np.intp)
        number = np.repeat(np.arange(len(curved)), counts[curved])
        way0, way1 = _end_directions(rings, index[starts[curved]], index[starts[curved] + counts[curved] - 1])
        control, far, at = _cubics(points[some], sub, number, way0, way1)
        rows[curved], kinds[curved] = control.reshape(-1, 8), CUBIC
        error[curved], worst[curved] = far, begin[curved] + at - sub
    return rows, kinds, error, worst


def _end_directions(rings: Sampled, first: Indices, last: Indices) -> tuple[Floats, Floats]:
    """Unit directions into a piece at its two ends."""
    way0 = np.where(rings.corner[first, None], rings.after[first], rings.direction[first])
    way1 = -np.where(rings.corner[last, None], rings.before[last], rings.direction[last])
    return way0, way1


def _cubics(
    points: Floats, starts: Indices, piece: Indices, way0: Floats, way1: Floats
) -> tuple[Floats, Floats, Indices]:
    """Control points (m, 4, 2), greatest distance (m,) and the index of the point it is at."""
    leg = np.hypot(*np.diff(points, axis=0, prepend=points[:1]).T)
    leg[starts] = 0.0
    along = np.cumsum(leg)
    along -= along[starts][piece]
    ends = np.append(starts[1:], len(points)) - 1
    whole = np.where(along[ends] > 0, along[ends], 1.0)
    t = along / whole[piece]
    control = _solved(points, t, starts, ends, piece, way0, way1, whole)
    t = _improved(points, t, control, piece)
    control = _solved(points, t, starts, ends, piece, way0, way1, whole)
    t = _improved(points, t, control, piece)
    off = _at(control, t, piece) - points
    distance = np.hypot(off[:, 0], off[:, 1])
    far = np.maximum.reduceat(distance, starts)
    hit = np.flatnonzero(distance == far[piece])
    _, one = np.unique(piece[hit], return_index=True)
    return control, far, hit[one]


def _solved(
    points: Floats,
    t: Floats,
    starts: Indices,
    ends: Indices,
    piece: Indices,
    way0: Floats,
    way1: Floats,
    whole: Floats,
) -> Floats:
    s = 1 - t
    b0, b1, b2, b3 = s**3, 3 * t * s**2, 3 * t**2 * s, t**3
    first, last = points[starts], points[ends]
    rest = points - (b0 + b1)[:, None] * first[piece] - (b2 + b3)[:, None] * last[piece]
    a0, a1 = b1[:, None] * way0[piece], b2[:, None] * way1[piece]

    def summed(values: Floats) -> Floats:
        result: Floats = np.add.reduceat(values, starts)
        return result

    c00, c01, c11 = summed((a0 * a0).sum(1)), summed((a0 * a1).sum(1)), summed((a1 * a1).sum(1))
    x0, x1 = summed((a0 * rest).sum(1)), summed((a1 * rest).sum(1))
    det = c00 * c11 - c01 * c01
    sound = np.abs(det) > 1e-9 * np.maximum(c00 * c11, 1e-300)
    safe = np.where(sound, det, 1.0)
    alpha, beta = (x0 * c11 - x1 * c01) / safe, (c00 * x1 - c01 * x0) / safe
    third = whole / 3
    good = sound & (alpha > 0.05 * third) & (beta > 0.05 * third) & (alpha < 3 * whole) & (beta < 3 * whole)
    alpha, beta = np.where(good, alpha, third), np.where(good, beta, third)
    return np.stack([first, first + alpha[:, None] * way0, last + beta[:, None] * way1, last], axis=1)


def _at(control: Floats, t: Floats, piece: Indices) -> Floats:
    s = 1 - t
    p = control[piece]
    result: Floats = (
        (s**3)[:, None] * p[:, 0]
        + (3 * t * s**2)[:, None] * p[:, 1]
        + (3 * t**2 * s)[:, None] * p[:, 2]
        + (t**3)[:, None] * p[:, 3]
    )
    return result


def _improved(points: Floats, t: Floats, control: Floats, piece: Indices) -> Floats:
    """One step of Newton's towards the nearest parameter of each point."""
    p = control[piece]
    s = 1 - t
    off = _at(control, t, piece) - points
    d1 = 3 * (
        (s**2)[:, None] * (p[:, 1] - p[:, 0])
        + (2 * s * t)[:, None] * (p[:, 2] - p[:, 1])
        + (t**2)[:, None] * (p[:, 3] - p[:, 2])
    )
    d2 = 6 * (s[:, None] * (p[:, 2] - 2 * p[:, 1] + p[:, 0]) + t[:, None] * (p[:, 3] - 2 * p[:, 2] + p[:, 1]))
    slope = (d1 * d1).sum(1) + (off * d2).sum(1)
    step = (off * d1).sum(1) / np.where(np.abs(slope) > 1e-12, slope, np.inf)
    result: Floats = np.clip(t - step, 0.0, 1.0)
    return result
