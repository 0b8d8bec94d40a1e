"""Motion under limits of speed, acceleration and, where given, jerk: profiles, corners, curves, look-ahead.

Sources: L. Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots, Springer 2008, sections 3.2
(trapezoidal velocity) and 3.4 (double S velocity); the corner rule takes an arc tangent to both legs that stays within
a given deviation of the corner, and holds the speed at which the arc's centripetal acceleration reaches the limit.
"""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.geometry.flattening import DEFAULT_TOLERANCE_MM, chord_counts, is_circular
from core.geometry.path import ARC, CUBIC, LINE, Path

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

NO_LIMIT_MM_S = 1e9
_SHORTEST_MM = 1e-9
_HALVINGS = 50


def ramp_time_s(change_mm_s: ArrayLike, *, acceleration_mm_s2: float, jerk_mm_s3: float = 0.0) -> Floats:
    """Least time in which the speed changes so much, without acceleration before and after; jerk 0 is no limit.

    The way it takes is the mean of both speeds times this.
    """
    change = np.abs(np.asarray(change_mm_s, float))
    if not jerk_mm_s3:
        return np.asarray(change / acceleration_mm_s2, float)
    reached = change >= acceleration_mm_s2**2 / jerk_mm_s3
    result: Floats = np.where(
        reached, change / acceleration_mm_s2 + acceleration_mm_s2 / jerk_mm_s3, 2 * np.sqrt(change / jerk_mm_s3)
    )
    return result


def move_time_s(
    length_mm: ArrayLike,
    *,
    speed_mm_s: ArrayLike,
    acceleration_mm_s2: float,
    start_speed_mm_s: ArrayLike = 0.0,
    end_speed_mm_s: ArrayLike = 0.0,
    jerk_mm_s3: float = 0.0,
) -> Floats:
    """Least time of straight moves from one speed to another that never exceed ``speed_mm_s``; arrays broadcast.

    Up to the speed where the move is long enough, else to what there is room for. The end speeds must be within reach
    of each other over the length, and at most the speed. A jerk of 0 is no limit; with one, acceleration is 0 at both
    ends.
    """
    h, v, a = np.asarray(length_mm, float), np.asarray(speed_mm_s, float), acceleration_mm_s2
    v0, v1 = np.asarray(start_speed_mm_s, float), np.asarray(end_speed_mm_s, float)
    if jerk_mm_s3:
        h, v, v0, v1 = np.broadcast_arrays(h, v, v0, v1)
        return _double_s_time_s(h, v, v0, v1, a, jerk_mm_s3)
    ramps = (2 * v * v - v0 * v0 - v1 * v1) / (2 * a)
    peak = np.sqrt(np.maximum((2 * a * h + v0 * v0 + v1 * v1) / 2, 0.0))
    result: Floats = np.where(ramps <= h, (2 * v - v0 - v1) / a + (h - ramps) / v, (2 * peak - v0 - v1) / a)
    return result


def _double_s_time_s(h: Floats, v: Floats, v0: Floats, v1: Floats, acceleration: float, jerk: float) -> Floats:
    """The peak speed is found by halving: the way of both ramps grows with it."""

    def ramps(peak: Floats) -> tuple[Floats, Floats]:
        up, down = (ramp_time_s(peak - v, acceleration_mm_s2=acceleration, jerk_mm_s3=jerk) for v in (v0, v1))
        return up + down, (up * (v0 + peak) + down * (v1 + peak)) / 2

    low, high = np.maximum(v0, v1).astype(float), v.astype(float)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        fits = ramps(middle)[1] <= h
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    time, way = ramps(v)
    result: Floats = np.where(way <= h, time + (h - way) / v, ramps(low)[0])
    return result


def corner_speed_mm_s(turn_rad: ArrayLike, *, deviation_mm: float, acceleration_mm_s2: float) -> Floats:
    """Speed through a corner where the direction turns by ``turn_rad`` (0 straight on, π back): √(a R).

    R = e s / (1 - s) with s the sine of half the interior angle: the radius of the arc that touches both legs and
    passes the corner at the deviation e. No limit straight on, 0 for a reversal.
    """
    half_sine = np.cos(np.clip(np.asarray(turn_rad, float), 0.0, np.pi) / 2)
    radius = deviation_mm * half_sine / np.maximum(1 - half_sine, 1e-300)
    result: Floats = np.minimum(np.sqrt(acceleration_mm_s2 * radius), NO_LIMIT_MM_S)
    return result


def path_time_s(
    path: Path, *, speed_mm_s: float, acceleration_mm_s2: float, deviation_mm: float, jerk_mm_s3: float = 0.0
) -> float:
    """Time along all subpaths of a path, each from rest to rest; moves between them are not counted.

    Speed is held down on curves to √(a R), R no less than the deviation; at corners to ``corner_speed_mm_s``; and
    everywhere to what can still be braked for what comes (look-ahead over the whole subpath). With a jerk limit the
    acceleration is 0 wherever a corner or curve holds the speed down: never quicker than such a machine could be.
    """
    length, curvature, first, last, subpath = _steps(path)
    if not len(length):
        return 0.0
    curve_limit = np.sqrt(acceleration_mm_s2 / np.clip(curvature, 1e-12, 1 / max(deviation_mm, 1e-6)))
    limit = np.minimum(curve_limit, speed_mm_s)
    node_limit = np.zeros(len(length) + 1)
    turn = np.arccos(np.clip((last[:-1] * first[1:]).sum(1), -1.0, 1.0))
    corner = corner_speed_mm_s(turn, deviation_mm=deviation_mm, acceleration_mm_s2=acceleration_mm_s2)
    node_limit[1:-1] = np.minimum(corner, np.minimum(limit[:-1], limit[1:]))
    node_limit[1:-1][subpath[1:] != subpath[:-1]] = 0.0
    speed = lookahead_speeds_mm_s(length, node_limit, acceleration_mm_s2=acceleration_mm_s2)
    if jerk_mm_s3:
        length, limit, node_limit = _stretches(length, limit, speed, node_limit, acceleration_mm_s2)
        speed = _jerk_lookahead_mm_s(length, node_limit, acceleration_mm_s2, jerk_mm_s3)
    times = move_time_s(
        length,
        speed_mm_s=limit,
        acceleration_mm_s2=acceleration_mm_s2,
        start_speed_mm_s=speed[:-1],
        end_speed_mm_s=speed[1:],
        jerk_mm_s3=jerk_mm_s3,
    )
    return float(times.sum())


def lookahead_speeds_mm_s(length_mm: Floats, node_limit_mm_s: Floats, *, acceleration_mm_s2: float) -> Floats:
    """Greatest speeds at the nodes between steps, (n + 1,), that acceleration and braking allow.

    length_mm (n,), node_limit_mm_s (n + 1,). Forward, v² may grow by 2 a h a step: with S the running sum of 2 a h,
    v² - S is a running minimum of limit² - S. Backward likewise.
    """
    gain = np.concatenate([[0.0], np.cumsum(2 * acceleration_mm_s2 * length_mm)])
    forward = np.minimum.accumulate(node_limit_mm_s**2 - gain) + gain
    both = np.minimum.accumulate((forward + gain)[::-1])[::-1] - gain
    result: Floats = np.sqrt(np.maximum(both, 0.0))
    return result


def _stretches(
    length: Floats, limit: Floats, speed: Floats, node_limit: Floats, acceleration: float
) -> tuple[Floats, Floats, Floats]:
    """Steps put together where the node between them holds nothing down: lengths, greatest speeds, node limits.

    A node holds the speed down where the trapezoid profile reaches the node's limit, unless the steps on both sides
    have that very limit. The greatest speed is that of the step in which the profile has its peak.
    """
    along = (node_limit[1:-1] >= limit[:-1] * (1 - 1e-9)) & (np.abs(np.diff(limit)) <= 1e-9 * limit[1:])
    holds = np.concatenate([[True], (speed[1:-1] >= node_limit[1:-1] * (1 - 1e-9) - 1e-6) & ~along, [True]])
    firsts = np.flatnonzero(holds)[:-1]
    peak = np.minimum(limit, np.sqrt(acceleration * length + (speed[:-1] ** 2 + speed[1:] ** 2) / 2))
    highest = np.repeat(np.maximum.reduceat(peak, firsts), np.diff(np.append(firsts, len(length))))
    greatest = np.maximum.reduceat(np.where(peak >= highest, limit, 0.0), firsts)
    return np.add.reduceat(length, firsts), greatest, node_limit[holds]


def _jerk_lookahead_mm_s(length: Floats, node_limit: Floats, acceleration: float, jerk: float) -> Floats:
    """As ``lookahead_speeds_mm_s`` with a jerk limit and no acceleration at the nodes."""
    speeds: list[float] = node_limit.tolist()
    lengths = length.tolist()
    for i, way in enumerate(lengths):
        speeds[i + 1] = _reached_mm_s(speeds[i], speeds[i + 1], way, acceleration, jerk)
    for i in range(len(lengths) - 1, -1, -1):
        speeds[i] = _reached_mm_s(speeds[i + 1], speeds[i], lengths[i], acceleration, jerk)
    return np.array(speeds)


def _reached_mm_s(start: float, wanted: float, way: float, acceleration: float, jerk: float) -> float:
    """The wanted speed, or what can be reached of it over the way."""

    def needed(end: float) -> float:
        change = end - start
        full = acceleration * acceleration / jerk
        time = change / acceleration + acceleration / jerk if change >= full else 2 * math.sqrt(change / jerk)
        return (start + end) / 2 * time

    if wanted <= start or needed(wanted) <= way:
        return wanted
    low, high = start, wanted
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if needed(middle) <= way else (low, middle)
    return low


def _steps(path: Path) -> tuple[Floats, Floats, Floats, Floats, Ints]:
    """The path as steps: length, curvature, direction at start and end (n, 2), subpath.

    Lines and circular arcs are one step, other curves as many as their chords.
    """
    counts = chord_counts(path, DEFAULT_TOLERANCE_MM)
    counts[path.kinds == ARC] = np.where(is_circular(path.segments[path.kinds == ARC]), 1, counts[path.kinds == ARC])
    segment = np.repeat(np.arange(len(path)), counts)
    index = np.arange(len(segment)) - np.repeat(np.cumsum(counts) - counts, counts)
    s0, s1 = index / counts[segment], (index + 1) / counts[segment]
    kinds, rows = path.kinds[segment], path.segments[segment]
    length, curvature = np.zeros(len(segment)), np.zeros(len(segment))
    first, last = np.zeros((len(segment), 2)), np.zeros((len(segment), 2))
    for kind, derivatives in ((LINE, _line_derivatives), (ARC, _arc_derivatives), (CUBIC, _cubic_derivatives)):
        some = np.flatnonzero(kinds == kind)
        if not len(some):
            continue
        start, middle, end = (derivatives(rows[some], s) for s in (s0[some], (s0[some] + s1[some]) / 2, s1[some]))
        rates = [np.hypot(*velocity.T) for velocity, _ in (start, middle, end)]
        length[some] = (s1 - s0)[some] * (rates[0] + 4 * rates[1] + rates[2]) / 6
        (dx, dy), (ddx, ddy) = middle[0].T, middle[1].T
        curvature[some] = np.abs(dx * ddy - dy * ddx) / np.maximum(rates[1], 1e-90) ** 3
        first[some], last[some] = (_direction(velocity, middle[0]) for velocity, _ in (start, end))
    subpath = np.repeat(np.arange(len(path.starts)), path.stops - path.starts)[segment]
    real = length > _SHORTEST_MM
    return length[real], curvature[real], first[real], last[real], subpath[real]


def _direction(velocity: Floats, otherwise: Floats) -> Floats:
    """Unit vectors; where a velocity vanishes (a control point on the end) that of the step's middle."""
    rate = np.hypot(*velocity.T)
    chosen = np.where((rate > 1e-12)[:, None], velocity, otherwise)
    result: Floats = chosen / np.maximum(np.hypot(*chosen.T), 1e-300)[:, None]
    return result


def _line_derivatives(rows: Floats, s: Floats) -> tuple[Floats, Floats]:
    velocity = rows[:, 2:4] - rows[:, 0:2]
    return velocity, np.zeros_like(velocity)


def _arc_derivatives(rows: Floats, s: Floats) -> tuple[Floats, Floats]:
    span = rows[:, 7] - rows[:, 6]
    t = rows[:, 6] + span * s
    u, v, cos, sin = rows[:, 2:4], rows[:, 4:6], np.cos(t)[:, None], np.sin(t)[:, None]
    return (v * cos - u * sin) * span[:, None], -(u * cos + v * sin) * (span * span)[:, None]


def _cubic_derivatives(rows: Floats, s: Floats) -> tuple[Floats, Floats]:
    p = rows.reshape(-1, 4, 2)
    a, b, c = (p[:, i + 1] - p[:, i] for i in range(3))
    t = s[:, None]
    velocity = 3 * ((1 - t) ** 2 * a + 2 * (1 - t) * t * b + t * t * c)
    return velocity, 6 * ((1 - t) * (b - a) + t * (c - b))


def distance_mm(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Straight distance."""
    return math.hypot(b[0] - a[0], b[1] - a[1])
