"""The outline that a pen leaves along polylines: offset lines, joins and caps, as rings of positive winding.

Every open line is walked there and back, every closed one once each way, with the pen's right side as outline: the sum
of one rectangle a chord and one wedge a join, so each spot that the pen covers is wound round at least once and no
other (SVG 2, 13.5 Strokes and 13.6 Computing the shape of the stroke). Resolve the rings by nonzero.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.geometry.flattening import chord_counts, flatten
from core.geometry.path import ARC, CUBIC, Floats, Path

_SAME_POINT_MM = 1e-6
_SMOOTH_TURN_RAD = 0.01
_MAX_CHORDS_PER_JOIN = 2_000

Bools = NDArray[np.bool_]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chords:
    """Directed chords of subpaths, in order.

    tail, head: (n, 2); into, out: unit directions of travel at tail and head, (n, 2), the curve's own where the chord
    begins or ends one; smooth: the chord goes on from the one before within the same curve; line: subpath of each,
    rising, (n,). closed: (m,) a subpath. dots, dot_along, dot_line: places, directions and subpaths where nothing
    but a cap is drawn, (k, 2), (k, 2), (k,).
    """

    tail: Floats
    head: Floats
    into: Floats
    out: Floats
    smooth: Bools
    line: Indices
    closed: Bools
    dots: Floats
    dot_along: Floats
    dot_line: Indices


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How lines end and turn."""

    cap: Literal["butt", "round", "square"]
    join: Literal["miter", "miter-clip", "round", "bevel"]
    miter_limit: float


def chords_of(path: Path, tolerance_mm: float) -> Chords:
    """The chords of a path, those too short to have a direction dropped."""
    lines = flatten(path, tolerance_mm)
    counts = chord_counts(path, tolerance_mm)
    starts, points = lines.starts, lines.points
    is_tail = np.ones(len(points), bool)
    is_tail[starts[1:] - 1] = False
    tails = np.flatnonzero(is_tail)
    tail, head = points[tails], points[tails + 1]
    line = np.repeat(np.arange(len(lines)), np.diff(starts) - 1)
    segment = np.repeat(np.arange(len(path)), counts)
    first = np.ones(len(tails), bool)
    first[1:] = segment[1:] != segment[:-1]
    last = np.append(first[1:], True)
    along = head - tail
    length = np.hypot(along[:, 0], along[:, 1])
    with np.errstate(invalid="ignore", divide="ignore"):
        direction = along / length[:, None]
    begins, ends = tangents(path)
    into, out = direction.copy(), direction.copy()
    curved = path.kinds[segment] != 0
    into[first & curved] = begins[segment[first & curved]]
    out[last & curved] = ends[segment[last & curved]]
    keep = length > _SAME_POINT_MM
    # where a curve's first or last chord is dropped, the neighbour's own direction is as good
    into = np.where(np.isfinite(into), into, direction)
    out = np.where(np.isfinite(out), out, direction)
    drawn = np.zeros(len(lines), bool)
    drawn[line[keep]] = True
    lone = np.flatnonzero(~drawn)
    return Chords(
        tail=tail[keep],
        head=head[keep],
        into=into[keep],
        out=out[keep],
        smooth=~first[keep],
        line=line[keep],
        closed=lines.closed,
        dots=points[starts[lone]],
        dot_along=np.tile([1.0, 0.0], (len(lone), 1)),
        dot_line=lone,
    )


def tangents(path: Path) -> tuple[Floats, Floats]:
    """Unit directions at the start and the end of each segment, (n, 2) each; nan where a segment has none."""
    begins = np.full((len(path), 2), np.nan)
    ends = begins.copy()
    for which, towards_start, towards_end in (
        (path.kinds == 0, *_line_tangents(path)),
        (path.kinds == CUBIC, *_cubic_tangents(path)),
        (path.kinds == ARC, *_arc_tangents(path)),
    ):
        begins[which], ends[which] = towards_start, towards_end
    return begins, ends


def _unit(vectors: Floats) -> Floats:
    with np.errstate(invalid="ignore", divide="ignore"):
        result: Floats = vectors / np.hypot(vectors[:, 0], vectors[:, 1])[:, None]
    return result


def _line_tangents(path: Path) -> tuple[Floats, Floats]:
    rows = path.segments[path.kinds == 0]
    direction = _unit(rows[:, 2:4] - rows[:, 0:2])
    return direction, direction


def _cubic_tangents(path: Path) -> tuple[Floats, Floats]:
    p = path.segments[path.kinds == CUBIC].reshape(-1, 4, 2)
    begin, end = p[:, 3] - p[:, 0], p[:, 3] - p[:, 0]
    for near, far in ((2, 1), (1, 2)):  # the nearest control point that is apart decides
        leaving, arriving = p[:, near] - p[:, 0], p[:, 3] - p[:, far]
        apart = np.abs(leaving).max(axis=1, initial=0.0) > _SAME_POINT_MM
        begin[apart] = leaving[apart]
        apart = np.abs(arriving).max(axis=1, initial=0.0) > _SAME_POINT_MM
        end[apart] = arriving[apart]
    return _unit(begin), _unit(end)


def _arc_tangents(path: Path) -> tuple[Floats, Floats]:
    rows = path.segments[path.kinds == ARC]
    sense = np.sign(rows[:, 7] - rows[:, 6])[:, None]
    both = []
    for t in (rows[:, 6, None], rows[:, 7, None]):
        both.append(_unit(sense * (rows[:, 4:6] * np.cos(t) - rows[:, 2:4] * np.sin(t))))
    return both[0], both[1]


def mapped(chords: Chords, linear: Floats) -> Chords:
    """The chords through a linear map (2, 2), for row vectors."""
    return Chords(
        tail=chords.tail @ linear,
        head=chords.head @ linear,
        into=_unit(chords.into @ linear),
        out=_unit(chords.out @ linear),
        smooth=chords.smooth,
        line=chords.line,
        closed=chords.closed,
        dots=chords.dots @ linear,
        dot_along=_unit(chords.dot_along @ linear),
        dot_line=chords.dot_line,
    )


def outlines(chords: Chords, half_width: Floats, pen: Pen, tolerance: Floats) -> tuple[Floats, Indices, Indices]:
    """Rings that a round pen leaves: points (n, 2), starts (r + 1,), subpath of each ring (r,).

    half_width, tolerance: (m,) a subpath, in the chords' own unit. Rings wind positively (x towards y).
    """
    loop = _walk(chords)
    h = half_width[loop.line]
    tol = tolerance[loop.line]
    points, owner = _loop_points(loop, h, pen, tol)
    lengths = np.bincount(owner, minlength=loop.count)
    dot_points, dot_lengths = _dot_rings(chords, half_width, pen, tolerance)
    lengths = np.concatenate([lengths, dot_lengths])
    lines = np.zeros(loop.count, np.intp)
    lines[loop.loop] = loop.line
    drawn_dots = chords.dot_line if len(dot_lengths) else chords.dot_line[:0]
    return (
        np.concatenate([points, dot_points]),
        np.concatenate([[0], np.cumsum(lengths)]).astype(np.intp),
        np.concatenate([lines, drawn_dots]),
    )


@dataclass(slots=True, kw_only=True, eq=False)
class _Loop:
    """Chords in walking order, each loop closed; ``after[i]`` is the chord that follows i, the vertex its head.

    into and out as in ``Chords``; chord: direction of the chord itself; smooth: the vertex after lies within a curve;
    cap: the vertex after is an open end.
    """

    vertex: Floats
    chord: Floats
    length: Floats
    into: Floats
    out: Floats
    after: Indices
    smooth: Bools
    cap: Bools
    line: Indices
    loop: Indices
    count: int


def _walk(chords: Chords) -> _Loop:
    total = len(chords.tail)
    if not total:
        none = np.zeros(0, np.intp)
        return _Loop(
            vertex=np.zeros((0, 2)), chord=np.zeros((0, 2)), length=np.zeros(0), into=np.zeros((0, 2)),
            out=np.zeros((0, 2)), after=none, smooth=np.zeros(0, bool), cap=np.zeros(0, bool), line=none, loop=none,
            count=0,
        )  # fmt: skip
    new = np.ones(total, bool)
    new[1:] = chords.line[1:] != chords.line[:-1]
    start = np.flatnonzero(new)
    stop = np.append(start[1:], total)
    number = np.cumsum(new) - 1
    closed = chords.closed[chords.line[start]]
    # there: chords as they are; back: reversed. Forward chord i of run r sits at 2 start + (i - start), its way back
    # at the mirrored place, so that an open run is one loop and a closed one two
    index = np.arange(total)
    there = start[number] + index
    back = 2 * stop[number] + start[number] - 1 - (index - start[number]) - start[number]
    size = 2 * total
    vertex, chord, into, out = (np.empty((size, 2)) for _ in range(4))
    smooth, line = np.zeros(size, bool), np.empty(size, np.intp)
    vertex[there], vertex[back] = chords.head, chords.tail
    direction = _unit(chords.head - chords.tail)
    chord[there], chord[back] = direction, -direction
    into[there], into[back] = chords.into, -chords.out
    out[there], out[back] = chords.out, -chords.into
    line[there] = line[back] = chords.line
    smooth[there] = np.append(chords.smooth[1:], False)
    smooth[back] = chords.smooth
    length = np.empty(size)
    length[there] = length[back] = np.hypot(*(chords.head - chords.tail).T)
    after = np.arange(1, size + 1)
    begin, middle, end = 2 * start, start + stop, 2 * stop
    cap = np.zeros(size, bool)
    after[end - 1] = np.where(closed, middle, begin)
    after[middle - 1] = np.where(closed, begin, middle)
    cap[end[~closed] - 1] = cap[middle[~closed] - 1] = True
    smooth[end - 1] = smooth[middle - 1] = False
    is_first = np.zeros(size, bool)
    is_first[begin] = True
    is_first[middle[closed]] = True
    return _Loop(
        vertex=vertex, chord=chord, length=length, into=into, out=out, after=after, smooth=smooth, cap=cap, line=line,
        loop=np.cumsum(is_first) - 1, count=int(is_first.sum()),
    )  # fmt: skip


def _right(directions: Floats) -> Floats:
    return np.column_stack([directions[:, 1], -directions[:, 0]])


def _turn(a: Floats, b: Floats) -> Floats:
    result: Floats = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1])
    result[result <= -np.pi + 1e-12] = np.pi
    return result


_POINT, _PIVOT, _BEVEL, _TIP, _ROUND, _SQUARE, _CLIPPED = range(7)


def _loop_points(loop: _Loop, h: Floats, pen: Pen, tol: Floats) -> tuple[Floats, Indices]:
    """Points of all loops in order, and the loop of each."""
    chord_in, chord_out = loop.chord, loop.chord[loop.after]
    true_in, true_out = loop.out, loop.into[loop.after]
    true_turn = _turn(true_in, true_out)
    chord_turn = _turn(chord_in, chord_out)
    corner = ~loop.smooth & (np.abs(true_turn) > _SMOOTH_TURN_RAD)
    corner &= (true_turn > 0) | (chord_turn < 0)  # a small hollow corner in a strong bend: the bend's own arc covers it
    corner |= loop.cap
    turn = np.where(corner, true_turn, chord_turn)
    turn[loop.cap] = np.pi
    inner = turn < 0
    curved = corner & ~inner
    a_dir = np.where(curved[:, None], true_in, chord_in)
    b_dir = np.where(curved[:, None], true_out, chord_out)
    # a curve that bends away from the outline needs its chord's own corner beside the true one
    lead, tail = _turn(chord_in, true_in), _turn(true_out, chord_out)
    before, behind = curved & (lead > 1e-9), curved & (tail > 1e-9)
    arc = np.where(loop.cap, pen.cap == "round", pen.join == "round")
    swept_before, swept_behind = before & arc, behind & arc  # a round one goes from chord to chord itself
    a_dir[swept_before], b_dir[swept_behind] = chord_in[swept_before], chord_out[swept_behind]
    turn += np.where(swept_before, lead, 0.0) + np.where(swept_behind, tail, 0.0)
    before, behind = before & ~arc, behind & ~arc
    kind, chords = _join_kinds(loop, h, pen, tol, corner, np.where(inner, chord_turn, turn), inner)
    counts = np.array([1, 3, 2, 1, 0, 2, 2])[kind]
    counts[kind == _ROUND] = chords[kind == _ROUND] + 1
    slots = np.cumsum(counts + before + behind) - (counts + before + behind)
    points = np.empty((int((counts + before + behind).sum()), 2))
    owner = np.repeat(loop.loop, counts + before + behind)
    v, hh = loop.vertex, h[:, None]
    points[slots[before]] = (v + hh * _right(chord_in))[before]
    slots = slots + before
    points[(slots + counts)[behind]] = (v + hh * _right(chord_out))[behind]
    a, b = v + hh * _right(a_dir), v + hh * _right(b_dir)
    tip = v + hh * _tips(a_dir, b_dir)
    on = hh * _clipped_miter_length(turn, pen)[:, None]
    for which, columns in (
        (_POINT, (a,)),
        (_PIVOT, (a, v, b)),
        (_BEVEL, (a, b)),
        (_TIP, (tip,)),
        (_SQUARE, (a + hh * a_dir, b + hh * a_dir)),
        (_CLIPPED, (a + on * a_dir, b - on * b_dir)),
    ):
        some = kind == which
        for offset, column in enumerate(columns):
            points[slots[some] + offset] = column[some]
    rounds = np.flatnonzero(kind == _ROUND)
    for count in np.unique(chords[rounds]):
        some = rounds[chords[rounds] == count]
        angle = turn[some, None] * (np.arange(count + 1) / count)
        r = _right(a_dir[some])
        cos, sin = np.cos(angle), np.sin(angle)
        x = r[:, 0, None] * cos - r[:, 1, None] * sin
        y = r[:, 0, None] * sin + r[:, 1, None] * cos
        points[slots[some][:, None] + np.arange(count + 1)] = v[some][:, None] + h[some][:, None, None] * np.stack(
            [x, y], -1
        )
    return points, owner


def _tips(a_dir: Floats, b_dir: Floats) -> Floats:
    """Where the lines offset by one meet, from the vertex; far away for a turn back."""
    dot = (a_dir * b_dir).sum(axis=1)
    result: Floats = _right(a_dir + b_dir) / np.maximum(1 + dot, 1e-12)[:, None]
    return result


def _clipped_miter_length(turn: Floats, pen: Pen) -> Floats:
    """How far a miter's sides go on before the line that clips it at its limit, in half widths (SVG 2, 13.5.5)."""
    half = np.abs(turn) / 2
    result: Floats = (pen.miter_limit - np.cos(half)) / np.maximum(np.sin(half), 1e-12)
    return result


def _join_kinds(
    loop: _Loop, h: Floats, pen: Pen, tol: Floats, corner: Bools, turn: Floats, inner: Bools
) -> tuple[NDArray[np.int8], Indices]:
    """What stands at each vertex, and how many chords its arc has where it is round."""
    step = 2 * np.arccos(np.clip(1 - tol / np.maximum(h, 1e-300), 0.0, 1.0))
    chords = np.clip(np.ceil(np.abs(turn) / np.clip(step, 1e-9, np.pi / 2)), 1, _MAX_CHORDS_PER_JOIN).astype(np.intp)
    kind = np.full(len(turn), _ROUND, np.int8)
    half = np.abs(turn) / 2
    with np.errstate(divide="ignore", over="ignore"):
        reach = 1 / np.maximum(np.cos(half), 1e-12)
    if pen.join != "round":
        sharp = (reach <= pen.miter_limit * (1 + 1e-9)) if pen.join != "bevel" else np.zeros(len(turn), bool)
        kind[corner] = np.where(sharp, _TIP, _CLIPPED if pen.join == "miter-clip" else _BEVEL)[corner]
    # within a curve a single tip is as true as an arc while it stays within the tolerance
    kind[~corner & (h * (reach - 1) <= tol / 2)] = _TIP
    kind[loop.cap] = {"butt": _BEVEL, "round": _ROUND, "square": _SQUARE}[pen.cap]
    kind[inner] = np.where(_has_room(loop, h, turn, inner), _TIP, _PIVOT)[inner]
    kind[np.abs(turn) < 1e-12] = _POINT
    return kind, chords


def _has_room(loop: _Loop, h: Floats, turn: Floats, inner: Bools) -> Bools:
    """Inner vertices whose offset lines meet before they end; elsewhere the outline goes by the vertex itself."""
    used = np.where(inner, h * np.tan(np.minimum(np.abs(turn) / 2, np.pi / 2 - 1e-9)), 0.0)
    used_at_tail = np.empty(len(used))
    used_at_tail[loop.after] = used
    fits = used + used_at_tail <= loop.length
    result: Bools = fits & fits[loop.after]
    return result


def _dot_rings(chords: Chords, half_width: Floats, pen: Pen, tolerance: Floats) -> tuple[Floats, Indices]:
    """Points and lengths of the rings around dots."""
    if pen.cap == "butt" or not len(chords.dots):
        return np.zeros((0, 2)), np.zeros(0, np.intp)
    h, along = half_width[chords.dot_line], chords.dot_along
    if pen.cap == "square":
        across = _right(along)
        corners = np.stack([along + across, along - across, -along - across, -along + across], axis=1)
        squares = chords.dots[:, None] + h[:, None, None] * corners
        return squares.reshape(-1, 2), np.full(len(h), 4, np.intp)
    tol = tolerance[chords.dot_line]
    step = 2 * np.arccos(np.clip(1 - tol / np.maximum(h, 1e-300), 0.0, 1.0))
    counts = np.clip(np.ceil(2 * np.pi / np.clip(step, 1e-9, np.pi / 2)), 8, _MAX_CHORDS_PER_JOIN).astype(np.intp)
    rings = []
    for dot, radius, count in zip(chords.dots, h, counts, strict=True):
        t = np.arange(count) * (2 * np.pi / count)
        rings.append(dot + radius * np.column_stack([np.cos(t), np.sin(t)]))
    return np.concatenate(rings), counts
