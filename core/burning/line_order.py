"""The order in which cut and score lines are burned: inner before outer, then short jumps.

What lies inside a closed outline is burned right before the outline, which then falls free. Outlines that lie side by
side, and lines inside one outline, are each put in a short order: nearest neighbour first, then 2-opt and or-opt
between neighbours of the Delaunay graph (S. Lin, Bell Syst. Tech. J. 44, 2245 (1965); I. Or, thesis, Northwestern
University 1976; as described in G. Reinelt, The Traveling Salesman, 1994).
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.burning.nesting import parents_of
from core.geometry.path import Path, joined
from core.progress import Progress, part, silent

Point = tuple[float, float]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MAX_ROUNDS = 40
MAX_REVERSED = 5000
LONGEST_MOVED = 3
FEW = 3
ON_ONE_LINE_MM = 1e-3
_GAIN_MM = 1e-9


def ordered_paths(
    paths: Sequence[Path], *, start_mm: tuple[float, float] = (0.0, 0.0), progress: Progress = silent
) -> tuple[Path, ...]:
    """The subpaths of all paths in burn order, one path each; open ones may be reversed.

    The beam-off jumps from ``start_mm`` on are never longer in sum than in the given order (with inner lines put
    before outer ones). Closed outlines keep their start point.
    """
    lines = [line for path in paths for line in path.subpaths() if len(line)]
    if not lines:
        return ()
    progress(0.0, "which lines lie inside")
    ends = _end_points(lines)
    children = _children(parents_of(lines))
    order = _short_order(ends, children, start_mm, part(progress, 0.1, 1.0))
    given = _given_order(children, len(lines))
    if _jumps_mm(ends, order, start_mm) > _jumps_mm(ends, given, start_mm):
        order = given
    return tuple(lines[line].reversed() if flipped else lines[line] for line, flipped in order)


def jumps_mm(paths: Sequence[Path], start_mm: tuple[float, float]) -> float:
    """Length of all beam-off moves between subpaths, and from the start to the first."""
    here, total = start_mm, 0.0
    for path in paths:
        for begin, end in zip(path.start_points[path.starts], path.end_points[path.stops - 1], strict=True):
            total += math.dist(here, begin)
            here = (float(end[0]), float(end[1]))
    return total


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ends:
    """Where each line begins and ends; the same point for closed ones, which are never reversed."""

    begins: list[Point]
    ends: list[Point]
    closed: list[bool]


Order = list[tuple[int, bool]]
"""Lines, each with whether it is walked backwards."""


def _end_points(lines: list[Path]) -> _Ends:
    path = joined(lines)
    begins, ends = path.start_points[path.starts], path.end_points[path.stops - 1]
    ends = np.where(path.closed[:, None], begins, ends)
    return _Ends(
        begins=[(x, y) for x, y in begins.tolist()],
        ends=[(x, y) for x, y in ends.tolist()],
        closed=path.closed.tolist(),
    )


def _children(parents: list[int]) -> dict[int, list[int]]:
    """What lies directly in each outline; under -1 what lies in none."""
    children: dict[int, list[int]] = {-1: []}
    for line, parent in enumerate(parents):
        children.setdefault(parent, []).append(line)
    return children


def _jumps_mm(ends: _Ends, order: Order, start: Point) -> float:
    here, total = start, 0.0
    for line, flipped in order:
        begin, end = ends.begins[line], ends.ends[line]
        total += math.dist(here, end if flipped else begin)
        here = begin if flipped else end
    return total


def _given_order(children: dict[int, list[int]], count: int) -> Order:
    """The given order, but that what lies inside an outline comes right before it where it came later."""
    order: Order = []
    done = [False] * count
    for wanted in range(count):
        stack = [wanted]
        while stack:
            line = stack[-1]
            missing = [child for child in children.get(line, ()) if not done[child]]
            if missing:
                stack += reversed(missing)
                continue
            stack.pop()
            if not done[line]:
                done[line] = True
                order.append((line, False))
    return order


def _short_order(ends: _Ends, children: dict[int, list[int]], start: Point, progress: Progress) -> Order:
    """Siblings in a short order, each right after what lies inside it."""
    order: Order = []
    count = len(ends.begins)
    waiting: list[tuple[int, bool] | list[int]] = [children[-1]]
    here = start
    while waiting:
        item = waiting.pop()
        if isinstance(item, tuple):
            line, flipped = item
            order.append(item)
            here = ends.begins[line] if flipped else ends.ends[line]
            continue
        share = part(progress, len(order) / count, (len(order) + len(item)) / count)
        for line, flipped in reversed(_siblings_in_order(ends, item, here, share)):
            waiting.append((line, flipped))
            if line in children:
                waiting.append(children[line])
    return order


def _siblings_in_order(ends: _Ends, lines: list[int], start: Point, progress: Progress) -> Order:
    progress(0.0, "shortening jumps")
    if len(lines) <= FEW:
        every = (_from_nearer_ends(ends, sequence, start) for sequence in itertools.permutations(lines))
        return min(every, key=lambda order: _jumps_mm(ends, order, start))
    neighbours = _neighbours([ends.begins[line] for line in lines], [ends.ends[line] for line in lines])
    nearest = _nearest_first(ends, lines, neighbours, start, part(progress, 0.0, 0.4))
    tour = _Tour(ends, lines, start, nearest)
    tour.improve(neighbours, part(progress, 0.4, 1.0))
    return tour.order()


def _from_nearer_ends(ends: _Ends, sequence: Sequence[int], start: Point) -> Order:
    """The lines in this sequence, open ones from whichever end is nearer to where the one before ended."""
    here, order = start, []
    for line in sequence:
        begin, end = ends.begins[line], ends.ends[line]
        flipped = not ends.closed[line] and math.dist(here, end) < math.dist(here, begin)
        order.append((line, flipped))
        here = begin if flipped else end
    return order


class _Tour:
    """A sequence of lines with, for each, whether it is walked backwards.

    Lines are numbered by their place in ``lines``; ``begins[i]`` and ``ends[i]`` are end points as walked.
    """

    def __init__(self, ends: _Ends, lines: list[int], start: Point, order: Order) -> None:
        self.start = start
        self.lines = lines
        number = {line: i for i, line in enumerate(lines)}
        self.sequence = [number[line] for line, _ in order]
        self.flipped = [False] * len(lines)
        self.begins, self.ends = [ends.begins[line] for line in lines], [ends.ends[line] for line in lines]
        self.closed = [ends.closed[line] for line in lines]
        for line, flipped in order:
            if flipped:
                self.flip(number[line])
        self.place = [0] * len(lines)
        self.renumber(0, len(lines))

    def order(self) -> Order:
        return [(self.lines[i], self.flipped[i]) for i in self.sequence]

    def flip(self, i: int) -> None:
        if not self.closed[i]:
            self.flipped[i] = not self.flipped[i]
            self.begins[i], self.ends[i] = self.ends[i], self.begins[i]

    def renumber(self, first: int, stop: int) -> None:
        place, sequence = self.place, self.sequence
        for at in range(first, stop):
            place[sequence[at]] = at

    def end_before(self, at: int) -> Point:
        return self.ends[self.sequence[at - 1]] if at else self.start

    def jump(self, at: int) -> float:
        """Length of the jump to the line at this place; 0 past the last."""
        return math.dist(self.end_before(at), self.begins[self.sequence[at]]) if at < len(self.sequence) else 0.0

    def improve(self, neighbours: list[list[int]], progress: Progress) -> None:
        """2-opt and or-opt until a round brings nothing, or ``MAX_ROUNDS``.

        A round looks at all pairs of neighbours at once, then tries what promised to be shorter, best first.
        """
        line = np.repeat(np.arange(len(neighbours)), [len(others) for others in neighbours])
        other = np.array([i for others in neighbours for i in others], np.intp)
        changed = np.ones(len(neighbours), bool)
        for round_number in range(MAX_ROUNDS):
            progress(round_number / MAX_ROUNDS, "shortening jumps")
            fresh = changed[line] | changed[other]
            changed[:] = False
            for step, (i, j, move) in enumerate(self._promising(line[fresh], other[fresh])):
                if step % 1000 == 0:
                    progress(round_number / MAX_ROUNDS, "shortening jumps")
                if self._try(i, j, move):
                    changed[[i, j, *self._around(i), *self._around(j)]] = True
            if not changed.any():
                break

    def _around(self, line: int) -> list[int]:
        at = self.place[line]
        return self.sequence[max(0, at - LONGEST_MOVED) : at + LONGEST_MOVED + 1]

    def _try(self, line: int, other: int, move: tuple[int, int]) -> bool:
        count, after = move
        first, to = self.place[line], self.place[other] + after
        if count:
            return self._move_if_shorter(first, count, to)
        # walk backwards what lies from line to other: all after line with other, or line and all before other
        return self._reverse_if_shorter(first + 1, to - 1) if after else self._reverse_if_shorter(first, to - 1)

    def _promising(self, line: Ints, other: Ints) -> list[tuple[int, int, tuple[int, int]]]:
        """Moves that would be shorter if made now, best first: line, other, and (how many to move, where to).

        A count of 0 reverses what lies between instead of moving. What may not be done is found out when tried.
        """
        count = len(self.sequence)
        place = np.array(self.place)
        begins = np.array([self.begins[i] for i in self.sequence] + [(np.nan, np.nan)] * (LONGEST_MOVED + 1))
        ends = np.array([self.start] + [self.ends[i] for i in self.sequence])
        jumps = _apart(ends, begins[: count + 1])

        def between(before: Ints, at: Ints) -> Floats:
            return _apart(ends[before], begins[at])

        p, q = place[line], place[other]
        found: list[tuple[Floats, Ints, tuple[int, int]]] = []
        for after in (0, 1):
            a, b = p + after, q + after  # jumps to a and to b are replaced
            ahead = np.flatnonzero(a < b)
            a, b = a[ahead], b[ahead]
            gain = jumps[a] + jumps[b] - _apart(ends[a], ends[b]) - _apart(begins[a], begins[b])
            found.append((gain, ahead, (0, after)))
            for size in range(1, LONGEST_MOVED + 1):
                to, stop = q + after, p + size
                some = np.flatnonzero((stop <= count) & ((to < p) | (to > stop)))
                first, stop, to = p[some], stop[some], to[some]
                ahead_mm = between(to, first) + _apart(ends[stop], begins[to])
                back_mm = _apart(ends[to], ends[stop]) + _apart(begins[first], begins[to])
                saved = jumps[first] + jumps[stop] - between(first, stop) + jumps[to]
                found.append((saved - np.minimum(ahead_mm, back_mm), some, (size, after)))
        gains = np.concatenate([gain for gain, _, _ in found])
        pairs = np.concatenate([which for _, which, _ in found])
        moves = np.repeat(np.arange(len(found)), [len(gain) for gain, _, _ in found])
        better = np.flatnonzero(gains > _GAIN_MM)
        better = better[np.argsort(-gains[better], kind="stable")]
        return [(int(line[pairs[k]]), int(other[pairs[k]]), found[moves[k]][2]) for k in better.tolist()]

    def _reverse_if_shorter(self, first: int, last: int) -> bool:
        if last <= first - 1 or last - first > MAX_REVERSED:
            return False
        sequence = self.sequence
        before, after = self.end_before(first), last + 1
        now = self.jump(first) + self.jump(after)
        then = math.dist(before, self.ends[sequence[last]])
        if after < len(sequence):
            then += math.dist(self.begins[sequence[first]], self.begins[sequence[after]])
        if then >= now - _GAIN_MM:
            return False
        sequence[first : last + 1] = sequence[first : last + 1][::-1]
        for at in range(first, last + 1):
            self.flip(sequence[at])
        self.renumber(first, last + 1)
        return True

    def _move_if_shorter(self, first: int, count: int, to: int) -> bool:
        """Move ``count`` lines to before place ``to``, either way round, if that is shorter."""
        sequence, stop = self.sequence, first + count
        if stop > len(sequence) or first <= to <= stop or abs(to - first) > MAX_REVERSED:
            return False
        begin, end = self.begins[sequence[first]], self.ends[sequence[stop - 1]]
        left, right = self.end_before(to), self.begins[sequence[to]] if to < len(sequence) else None
        closing = math.dist(self.end_before(first), self.begins[sequence[stop]]) if stop < len(sequence) else 0.0
        saved = self.jump(first) + self.jump(stop) - closing + self.jump(to)
        ahead = math.dist(left, begin) + (math.dist(end, right) if right else 0.0)
        back = math.dist(left, end) + (math.dist(begin, right) if right else 0.0)
        if min(ahead, back) >= saved - _GAIN_MM:
            return False
        moved = sequence[first:stop]
        if back < ahead:
            moved.reverse()
            for line in moved:
                self.flip(line)
        if to < first:
            sequence[to:stop] = moved + sequence[to:first]
            self.renumber(to, stop)
        else:
            sequence[first:to] = sequence[stop:to] + moved
            self.renumber(first, to)
        return True


def _apart(a: Floats, b: Floats) -> Floats:
    """Distances of points; 0 to the place past the last line, which is no jump."""
    result: Floats = np.nan_to_num(np.hypot(*(b - a).T))
    return result


def _nearest_first(
    ends: _Ends, lines: list[int], neighbours: list[list[int]], start: Point, progress: Progress
) -> Order:
    """Always the nearest line, from whichever of its ends is nearer if it is open.

    Looked for among the neighbours of the line before; among all when these are done.
    """
    begins, stops = [ends.begins[line] for line in lines], [ends.ends[line] for line in lines]
    all_begins, all_stops = np.array(begins), np.array(stops)
    free, done_mm = [True] * len(lines), np.zeros(len(lines))
    here, near = start, list[int]()
    order: Order = []

    def reach(i: int) -> float:
        return min(math.dist(here, begins[i]), math.dist(here, stops[i]))

    while len(order) < len(lines):
        if len(order) % 500 == 0:
            progress(len(order) / len(lines), "nearest lines first")
        choices = [i for i in near if free[i]]
        if choices:
            chosen = min(choices, key=reach)
        else:
            gaps = np.minimum(np.hypot(*(all_begins - here).T), np.hypot(*(all_stops - here).T))
            chosen = int(np.argmin(gaps + done_mm))
        flipped = not ends.closed[lines[chosen]] and math.dist(here, stops[chosen]) < math.dist(here, begins[chosen])
        order.append((lines[chosen], flipped))
        free[chosen], done_mm[chosen] = False, np.inf
        here = begins[chosen] if flipped else stops[chosen]
        near = neighbours[chosen]
    return order


def _neighbours(begins: list[Point], ends: list[Point]) -> list[list[int]]:
    """For each line the lines with an end point next to one of its own in the Delaunay graph of all end points.

    Lines that share an end point are neighbours, too. Points on one straight line have no Delaunay triangles: there
    each has the one before and the one after.
    """
    count = len(begins)
    points, node = np.unique(np.array(begins + ends).round(6), axis=0, return_inverse=True)
    lines_at: list[list[int]] = [[] for _ in points]
    for i, at in enumerate(node.reshape(-1).tolist()):
        lines_at[at].append(i % count)
    found: list[set[int]] = [set() for _ in range(count)]
    for a, b in _delaunay_edges(points):
        for line in lines_at[a]:
            found[line].update(lines_at[b][:8])
        for line in lines_at[b]:
            found[line].update(lines_at[a][:8])
    for together in lines_at:
        for i, line in enumerate(together):
            found[line].update(together[max(0, i - 4) : i + 5])
    return [sorted(others - {line}) for line, others in enumerate(found)]


def _delaunay_edges(points: Floats) -> list[tuple[int, int]]:
    """Pairs of neighbouring points (sorted by x, then y)."""
    off_line_mm = np.linalg.svd(points - points.mean(0), compute_uv=False)[-1] if len(points) > 3 else 0.0
    if off_line_mm < ON_ONE_LINE_MM:
        return list(itertools.pairwise(range(len(points))))
    edges = shapely.delaunay_triangles(shapely.multipoints(points), only_edges=True)
    ends = shapely.get_coordinates(shapely.get_parts(edges))
    _, node = np.unique(np.vstack([points, ends]), axis=0, return_inverse=True)
    index = np.empty(int(node.max()) + 1, np.intp)
    index[node[: len(points)]] = np.arange(len(points))
    return [(a, b) for a, b in index[node[len(points) :]].reshape(-1, 2).tolist()]
