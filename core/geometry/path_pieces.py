"""Parts of paths whose curves stay curves: stretches taken out or kept, by share of each segment."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.flattening import chord_counts, flatten
from core.geometry.path import ARC, CUBIC, EMPTY, Floats, Path, joined

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Steps:
    """Chords of a path in order: ends (n, 2, 2), segment and subpath of each (n,), its shares of the segment (n, 2)."""

    ends: Floats
    segment: Indices
    line: Indices
    t: Floats


def steps_of(path: Path, flatness_mm: float) -> Steps:
    """The chords of a path, each with its place on the curve."""
    lines, counts = flatten(path, flatness_mm), chord_counts(path, flatness_mm)
    is_tail = np.ones(len(lines.points), bool)
    is_tail[lines.starts[1:] - 1] = False
    tails = np.flatnonzero(is_tail)
    segment = np.repeat(np.arange(len(path)), counts)
    nth = np.arange(len(segment)) - np.repeat(np.cumsum(counts) - counts, counts)
    count = counts[segment]
    return Steps(
        ends=np.stack([lines.points[tails], lines.points[tails + 1]], axis=1),
        segment=segment,
        line=np.repeat(np.arange(len(lines)), np.diff(lines.starts) - 1),
        t=np.column_stack([nth / count, (nth + 1) / count]),
    )


def point_at(path: Path, segment: int, t: float) -> Floats:
    """The point of one segment at a share of its parameter, (2,)."""
    row, kind = path.segments[segment], path.kinds[segment]
    if kind == ARC:
        angle = row[6] + (row[7] - row[6]) * t
        result: Floats = row[0:2] + row[2:4] * np.cos(angle) + row[4:6] * np.sin(angle)
        return result
    if kind == CUBIC:
        s = 1 - t
        weights = np.array([s**3, 3 * s * s * t, 3 * s * t * t, t**3])
        return np.asarray(weights @ row.reshape(4, 2))
    return np.asarray(row[0:2] + (row[2:4] - row[0:2]) * t)


def segment_between(kind: int, row: Floats, t0: float, t1: float) -> Floats:
    """The part of one segment from share t0 to share t1, a row of the same kind, (8,)."""
    result = row.copy()
    if kind == ARC:
        result[6], result[7] = row[6] + (row[7] - row[6]) * t0, row[6] + (row[7] - row[6]) * t1
    elif kind == CUBIC:
        points = row.reshape(4, 2)
        if t0 > 0:
            points = _from_on(points, t0)
        if t1 < 1:
            points = _from_on(points[::-1], 1 - (t1 - t0) / (1 - t0))[::-1]
        result = points.reshape(8).copy()
    else:
        result[0:2], result[2:4] = row[0:2] + (row[2:4] - row[0:2]) * t0, row[0:2] + (row[2:4] - row[0:2]) * t1
    return result


def _from_on(points: Floats, t: float) -> Floats:
    """Control points of a cubic from parameter t on (de Casteljau)."""
    a, b, c, d = points
    ab, bc, cd = a + (b - a) * t, b + (c - b) * t, c + (d - c) * t
    abc, bcd = ab + (bc - ab) * t, bc + (cd - bc) * t
    return np.array([abc + (bcd - abc) * t, bcd, cd, d])


def taken_out(path: Path, segment: Indices, t0: Floats, t1: Floats) -> Path:
    """The path without these stretches; stretches of one segment must not overlap.

    A closed subpath that loses a stretch becomes open, its lines beginning after a gap.
    """
    gone: dict[int, list[tuple[float, float]]] = {}
    for index, a, b in zip(segment.tolist(), t0.tolist(), t1.tolist(), strict=True):
        gone.setdefault(index, []).append((a, b))
    keep = {index: _complement(sorted(spans)) for index, spans in gone.items()}
    return _kept(path, keep)


def kept(path: Path, spans: dict[int, list[tuple[float, float]]]) -> Path:
    """The path with only these shares of the segments named; segments not named stay whole."""
    return _kept(path, spans)


def _complement(gone: list[tuple[float, float]]) -> list[tuple[float, float]]:
    left, at = [], 0.0
    for a, b in gone:
        if a > at + 1e-9:
            left.append((at, a))
        at = max(at, b)
    if at < 1 - 1e-9:
        left.append((at, 1.0))
    return left


def _kept(path: Path, spans: dict[int, list[tuple[float, float]]]) -> Path:
    touched = np.zeros(len(path), bool)
    touched[list(spans)] = True
    pieces: list[Path] = []
    for number, (start, stop) in enumerate(zip(path.starts.tolist(), path.stops.tolist(), strict=True)):
        if not touched[start:stop].any():
            pieces.append(path.subpath(number))
        else:
            pieces.extend(_subpath_pieces(path, start, stop, bool(path.closed[number]), spans))
    return joined(pieces) if pieces else EMPTY


def _subpath_pieces(
    path: Path, start: int, stop: int, closed: bool, spans: dict[int, list[tuple[float, float]]]
) -> list[Path]:
    runs: list[list[tuple[int, Floats]]] = []
    going = False
    for index in range(start, stop):
        kind, row = int(path.kinds[index]), path.segments[index]
        for a, b in spans.get(index, [(0.0, 1.0)]):
            if not going or a > 0.0:
                runs.append([])
            runs[-1].append((kind, row if (a, b) == (0.0, 1.0) else segment_between(kind, row, a, b)))
            going = b >= 1.0
        if index in spans and not spans[index]:
            going = False
    starts_at_seam = spans.get(start, [(0.0, 1.0)])[:1]
    if closed and len(runs) > 1 and going and starts_at_seam and starts_at_seam[0][0] == 0.0:
        runs[0] = runs.pop() + runs[0]
    return [
        Path(
            kinds=np.array([kind for kind, _ in run], np.uint8),
            segments=np.array([row for _, row in run]),
            starts=np.zeros(1, np.intp),
            closed=np.zeros(1, bool),
        )
        for run in runs
        if run
    ]
