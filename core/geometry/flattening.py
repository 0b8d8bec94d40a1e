"""Curves to chords, never further from the curve than the tolerance. Also lengths and bounds of paths."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.path import ARC, CUBIC, LINE, Floats, Path, arc_points
from core.geometry.tolerance import DEFAULT_TOLERANCE_MM as DEFAULT_TOLERANCE_MM

MAX_CHORDS_PER_SEGMENT = 20_000


@dataclass(frozen=True, kw_only=True, eq=False)
class Polylines:
    """Flattened subpaths, end to end in one array.

    points: (n, 2); starts: (m + 1,) so that subpath i is ``points[starts[i]:starts[i + 1]]``; closed: (m,).
    A closed subpath repeats its first point as its last, exactly.
    """

    points: Floats
    starts: NDArray[np.intp]
    closed: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.closed)

    def parts(self) -> list[Floats]:
        """Each subpath's points."""
        return [self.points[a:b] for a, b in zip(self.starts[:-1], self.starts[1:], strict=True)]


def chord_counts(path: Path, tolerance_mm: float) -> NDArray[np.intp]:
    """Chords that each segment needs, (n,).

    Cubic: a chord over parameter step h lies within h²/8 · max|B''| of the curve, |B''| <= 6 max(second
    differences) (the usual linear interpolation bound). Arc: the sagitta of the circle of its larger
    half-axis, R (1 - cos(dt/2)), is an upper bound for the ellipse, which is an affine image of the unit circle.
    """
    counts = np.ones(len(path), np.intp)
    cubic = path.kinds == CUBIC
    if cubic.any():
        p = path.segments[cubic].reshape(-1, 4, 2)
        bend = np.maximum(
            np.hypot(*(p[:, 0] - 2 * p[:, 1] + p[:, 2]).T), np.hypot(*(p[:, 1] - 2 * p[:, 2] + p[:, 3]).T)
        )
        counts[cubic] = _whole(np.sqrt(0.75 * bend / tolerance_mm))
    arc = path.kinds == ARC
    if arc.any():
        rows = path.segments[arc]
        radius = major_half_axis(rows)
        step = 2 * np.arccos(np.clip(1 - tolerance_mm / np.maximum(radius, 1e-300), 0.0, 1.0))
        step = np.clip(step, 1e-9, np.pi / 2)
        counts[arc] = _whole(np.abs(rows[:, 7] - rows[:, 6]) / step)
    return counts


def major_half_axis(arcs: Floats) -> Floats:
    """Larger half-axis of ARC rows (n, 8): the larger singular value of [u v]."""
    ux, uy, vx, vy = arcs[:, 2], arcs[:, 3], arcs[:, 4], arcs[:, 5]
    both = (ux * ux + uy * uy + vx * vx + vy * vy) / 2
    det = ux * vy - uy * vx
    result: Floats = np.sqrt(both + np.sqrt(np.maximum(both * both - det * det, 0.0)))
    return result


def flatten(path: Path, tolerance_mm: float = DEFAULT_TOLERANCE_MM) -> Polylines:
    """The path as polylines whose chords stay within the tolerance of the true curve."""
    if not len(path):
        return Polylines(points=np.zeros((0, 2)), starts=np.zeros(1, np.intp), closed=np.zeros(0, bool))
    counts = chord_counts(path, tolerance_mm)
    subpath_count = len(path.starts)
    # every segment gives its points after the first; every subpath gives its start once
    chords_before = np.concatenate([[0], np.cumsum(counts)])
    subpath_of = np.repeat(np.arange(subpath_count), path.stops - path.starts)
    first_slot = chords_before[:-1] + subpath_of + 1
    points = np.empty((int(chords_before[-1]) + subpath_count, 2))
    starts = np.concatenate([chords_before[path.starts] + np.arange(subpath_count), [len(points)]]).astype(np.intp)
    points[starts[:-1]] = path.start_points[path.starts]
    straight = path.kinds == LINE
    points[first_slot[straight]] = path.segments[straight, 2:4]
    for kind, evaluate in ((CUBIC, _cubic_points), (ARC, arc_points)):
        which = np.flatnonzero(path.kinds == kind)
        for count in np.unique(counts[which]):
            some = which[counts[which] == count]
            share = np.arange(1, count + 1) / count
            rows = path.segments[some]
            if kind == ARC:
                t = rows[:, 6, None] + (rows[:, 7] - rows[:, 6])[:, None] * share
            else:
                t = share[None]
            points[first_slot[some][:, None] + np.arange(count)] = evaluate(rows, t)
    ends = starts[1:][path.closed] - 1
    points[ends] = points[starts[:-1][path.closed]]
    return Polylines(points=points, starts=starts, closed=path.closed)


def path_length_mm(path: Path) -> float:
    """Length of all subpaths. Circular arcs exactly, other curves by chords with Richardson's correction."""
    if not len(path):
        return 0.0
    straight = path.kinds == LINE
    total = float(np.hypot(*(path.segments[straight, 2:4] - path.segments[straight, 0:2]).T).sum())
    arcs = path.segments[path.kinds == ARC]
    round_arcs = is_circular(arcs)
    total += float(
        (np.hypot(arcs[round_arcs, 2], arcs[round_arcs, 3]) * np.abs(np.diff(arcs[round_arcs, 6:8])[:, 0])).sum()
    )
    for rows, evaluate in ((arcs[~round_arcs], "arc"), (path.segments[path.kinds == CUBIC], "cubic")):
        if len(rows):
            coarse, fine = (_curve_lengths(rows, evaluate, steps) for steps in (32, 64))
            total += float((fine + (fine - coarse) / 3).sum())
    return total


def is_circular(arcs: Floats) -> NDArray[np.bool_]:
    """Which ARC rows (n, 8) lie on a true circle, (n,)."""
    u, v = arcs[:, 2:4], arcs[:, 4:6]
    uu, vv, uv = (u * u).sum(1), (v * v).sum(1), (u * v).sum(1)
    result: NDArray[np.bool_] = (np.abs(uu - vv) <= 1e-9 * (uu + vv)) & (np.abs(uv) <= 1e-9 * (uu + vv))
    return result


def path_bounds_mm(path: Path, tolerance_mm: float = DEFAULT_TOLERANCE_MM) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) to within the tolerance; (nan, nan, nan, nan) for an empty path."""
    if not len(path):
        return (np.nan,) * 4
    points = flatten(path, tolerance_mm).points
    (x0, y0), (x1, y1) = points.min(0), points.max(0)
    return float(x0), float(y0), float(x1), float(y1)


def _whole(counts: Floats) -> NDArray[np.intp]:
    with np.errstate(invalid="ignore"):
        return np.clip(np.ceil(np.nan_to_num(counts, nan=1.0)), 1, MAX_CHORDS_PER_SEGMENT).astype(np.intp)


def _cubic_points(rows: Floats, t: Floats) -> Floats:
    p = rows.reshape(-1, 4, 1, 2)
    t = t[..., None]
    s = 1 - t
    result: Floats = s * s * (s * p[:, 0] + 3 * t * p[:, 1]) + t * t * (3 * s * p[:, 2] + t * p[:, 3])
    return result


def _curve_lengths(rows: Floats, kind: str, steps: int) -> Floats:
    share = np.linspace(0.0, 1.0, steps + 1)
    if kind == "arc":
        points = arc_points(rows, rows[:, 6, None] + (rows[:, 7] - rows[:, 6])[:, None] * share)
    else:
        points = _cubic_points(rows, share[None])
    leg = np.diff(points, axis=1)
    result: Floats = np.hypot(leg[..., 0], leg[..., 1]).sum(1)
    return result
