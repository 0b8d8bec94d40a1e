"""The parallel of a closed outline of straight lines and circular arcs, kept as lines and arcs."""

import math

import numpy as np

from core.geometry.flattening import flatten, is_circular
from core.geometry.path import ARC, LINE, Floats, Path

_SMOOTH = 1e-6
_TINY_MM = 1e-9


def parallel_outline(path: Path, distance_mm: float) -> Path | None:
    """The outline ``distance_mm`` outwards (inwards below zero), outer corners rounded about their old place.

    None where it can't be told segment by segment: with other curves, where an arc vanishes, or where an arc meets its
    neighbour in a corner that is cut off. Whether distant stretches run into each other is not looked at.
    """
    arcs = path.kinds == ARC
    if not (arcs | (path.kinds == LINE)).all() or not is_circular(path.segments[arcs]).all():
        return None
    rows = [
        (int(kind), row) for kind, row in zip(path.kinds, path.segments, strict=True) if _length(kind, row) > _TINY_MM
    ]
    if len(rows) < 2:
        return None
    points = flatten(path).points
    area = float((points[:-1, 0] * points[1:, 1] - points[1:, 0] * points[:-1, 1]).sum())
    side_mm = distance_mm * math.copysign(1.0, area)
    moved = [_moved(kind, row, side_mm) for kind, row in rows]
    built: list[tuple[int, Floats]] = []
    for number, (kind, row) in enumerate(rows):
        following = (number + 1) % len(rows)
        own, after = moved[number], moved[following]
        if own is None or after is None:
            return None
        joint = _joint((kind, row), rows[following], side_mm)
        if joint == "cut off":
            if kind == ARC or rows[following][0] == ARC:
                return None
            own[2:4] = after[0:2] = _corner(row, rows[following][1], side_mm)
        built.append((kind, own))
        if joint == "rounded":
            built.append((ARC, _round(row, kind, rows[following], side_mm)))
    if not all(_keeps_direction(kind, own, row) for (kind, row), own in zip(rows, moved, strict=True)):
        return None
    return Path(
        kinds=np.array([kind for kind, _ in built], np.uint8),
        segments=np.array([row for _, row in built]),
        starts=np.zeros(1, np.intp),
        closed=np.ones(1, bool),
    )


def _moved(kind: int, row: Floats, side_mm: float) -> Floats | None:
    """One segment moved to its right by that much (to its left below zero); None for an arc that vanishes."""
    moved = row.copy()
    if kind == LINE:
        shift = side_mm * _right(_direction(kind, row, first=True))
        moved[0:2] += shift
        moved[2:4] += shift
        return moved
    radius = float(np.hypot(row[2], row[3]))
    outwards = (row[2:4] * math.cos(row[6]) + row[4:6] * math.sin(row[6])) / radius
    grown = radius + side_mm * float(outwards @ _right(_direction(kind, row, first=True)))
    if grown <= _TINY_MM:
        return None
    moved[2:6] *= grown / radius
    return moved


def _joint(one: tuple[int, Floats], other: tuple[int, Floats], side_mm: float) -> str:
    """How two moved neighbours meet: "smooth", "rounded" where they part, "cut off" where they cross."""
    before, after = _direction(*one, first=False), _direction(*other, first=True)
    turn = float(before[0] * after[1] - before[1] * after[0])
    if abs(turn) < _SMOOTH and before @ after > 0:
        return "smooth"
    return "rounded" if turn * side_mm > 0 else "cut off"


def _corner(one: Floats, other: Floats, side_mm: float) -> Floats:
    """Where two moved lines cross."""
    a, b = (_right(_direction(LINE, row, first=True)) for row in (one, other))
    crossing: Floats = one[2:4] + side_mm * (a + b) / max(1 + float(a @ b), _SMOOTH)
    return crossing


def _round(row: Floats, kind: int, following: tuple[int, Floats], side_mm: float) -> Floats:
    """The arc about a corner that joins two moved neighbours."""
    before, after = _direction(kind, row, first=False), _direction(*following, first=True)
    turn = math.atan2(float(before[0] * after[1] - before[1] * after[0]), float(before @ after))
    u = side_mm * _right(before)
    v = np.array([-u[1], u[0]]) * math.copysign(1.0, turn)
    return np.array([*_start(*following), *u, *v, 0.0, abs(turn)])


def _keeps_direction(kind: int, moved: Floats | None, row: Floats) -> bool:
    """Whether a line is not used up by the corners at its ends."""
    if kind == ARC or moved is None:
        return moved is not None
    return bool((moved[2:4] - moved[0:2]) @ (row[2:4] - row[0:2]) > 0)


def _direction(kind: int, row: Floats, *, first: bool) -> Floats:
    """Unit tangent at a segment's start or end, the way it is walked."""
    if kind == LINE:
        along = row[2:4] - row[0:2]
    else:
        t = row[6] if first else row[7]
        along = (row[4:6] * math.cos(t) - row[2:4] * math.sin(t)) * math.copysign(1.0, row[7] - row[6])
    unit: Floats = along / np.hypot(*along)
    return unit


def _right(direction: Floats) -> Floats:
    return np.array([direction[1], -direction[0]])


def _start(kind: int, row: Floats) -> Floats:
    return row[0:2] if kind == LINE else row[0:2] + row[2:4] * math.cos(row[6]) + row[4:6] * math.sin(row[6])


def _length(kind: int, row: Floats) -> float:
    if kind == LINE:
        return float(np.hypot(row[2] - row[0], row[3] - row[1]))
    return float(np.hypot(row[2], row[3]) * abs(row[7] - row[6]))
