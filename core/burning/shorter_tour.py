"""A short way through lines: 2-opt chains of some depth (Lin-Kernighan), or-opt, and small kicks to get on.

Every line is a pair of nodes, its ends, joined by an edge that stays; what may change are the free edges between lines,
one at every node. The start point is paired with a node that lies nowhere, at no distance from any: so the way may
end at any line, and is a round trip on paper.

Sources: S. Lin, B. W. Kernighan, Oper. Res. 21, 498 (1973); I. Or, thesis, Northwestern University 1976;
D. S. Johnson, L. A. McGeoch, The traveling salesman problem: a case study in local optimization, in Local Search in
Combinatorial Optimization, Wiley 1997 (neighbour lists, don't-look bits, segment-local kicks).
"""

import math
import random
from collections import deque
from collections.abc import Sequence

from core.progress import Progress, silent

Point = tuple[float, float]
Order = list[tuple[int, bool]]
"""Lines, each with whether it is walked backwards."""

NEIGHBOURS = 8
DEPTH = 3
"""Most 2-opt steps in one chain."""
BREADTH = (3,)
"""How many neighbours are tried at the first steps of a chain, one at the others."""
LONGEST_MOVED = 3
"""Most lines that or-opt moves at once."""
KICK_LINES = 12
"""Most lines in each of the two stretches that a kick swaps."""
FEWEST_KICKED = 5
_GAIN_MM = 1e-7


class ShorterTour:
    """A way through lines from a start point, and how to make it shorter.

    ``begins``, ``ends``: points of the n lines; ``order``: all lines, with whether each is walked backwards. Nodes 2k
    and 2k + 1 are the ends of line k, 2n the start, 2n + 1 the free end. ``near``: for each of the 2n ends others near.
    """

    def __init__(
        self, begins: Sequence[Point], ends: Sequence[Point], start: Point, order: Order, near: Sequence[list[int]]
    ) -> None:
        count = len(begins)
        self._start, self._nowhere = 2 * count, 2 * count + 1
        points = [point for pair in zip(begins, ends, strict=True) for point in pair]
        self._at = [complex(*point) for point in [*points, start, start]]
        self._tour = [node for line, back in order for node in (2 * line + back, 2 * line + (not back))]
        self._tour += [self._nowhere, self._start]
        self._place = [0] * len(self._tour)
        for at, node in enumerate(self._tour):
            self._place[node] = at
        by_start = sorted(range(2 * count), key=lambda node: math.dist(points[node], start))[:NEIGHBOURS]
        self._near = [[other for other in row if other != node ^ 1] for node, row in enumerate(near)]
        self._near += [by_start, []]
        self._done: list[tuple[int, int, int, int]] = []

    def order(self) -> Order:
        """The lines as now walked, each with whether backwards."""
        size, tour = len(self._tour), self._tour
        begin = self._place[self._start]
        step = 1 if self._tour[(begin + 1) % size] != self._nowhere else -1
        nodes = [tour[(begin + step * k) % size] for k in range(1, size - 1, 2)]
        return [(node >> 1, bool(node & 1)) for node in nodes]

    def improve(self, *, kicks: int, seed: int = 1, progress: Progress = silent) -> None:
        """Shorten until no move helps, then kick and mend so often. The same seed gives the same way."""
        progress(0.0, "shortening jumps")
        self._settle(list(self._tour), progress)
        self._done.clear()
        chance = random.Random(seed)
        size = len(self._tour)
        if size < 2 * FEWEST_KICKED:
            return
        for number in range(kicks):
            if number % 100 == 0:
                progress(number / kicks, "shortening jumps")
            touched, lost = self._kick(chance)
            gained = self._settle(touched)
            if gained < lost - _GAIN_MM:
                self._undo(0)
            self._done.clear()

    def _apart(self, a: int, b: int) -> float:
        if a == self._nowhere or b == self._nowhere:
            return 0.0
        return abs(self._at[a] - self._at[b])

    def _partner(self, node: int) -> int:
        """The node at the other end of this node's free edge."""
        tour, at = self._tour, self._place[node]
        before = tour[at - 1]
        if before != node ^ 1:
            return before
        at += 1
        return tour[at] if at < len(tour) else tour[0]

    def _swap(self, a: int, b: int, c: int, d: int) -> None:
        """Replace edges a-b and c-d by a-c and b-d; b follows a as d follows c, in one direction or the other."""
        tour, place, size = self._tour, self._place, len(self._tour)
        first, last = (place[b], place[c]) if tour[(place[a] + 1) % size] == b else (place[a], place[d])
        length = (last - first) % size + 1
        if 2 * length > size:
            first, last, length = (last + 1) % size, (first - 1) % size, size - length
        if first <= last:
            turned = tour[first : last + 1]
            turned.reverse()
            tour[first : last + 1] = turned
            for node in turned:
                place[node] = first
                first += 1
        else:
            for _ in range(length // 2):
                one, other = tour[first], tour[last]
                tour[first], tour[last] = other, one
                place[other], place[one] = first, last
                first = first + 1 if first + 1 < size else 0
                last = last - 1 if last else size - 1
        self._done.append((a, b, c, d))

    def _undo(self, to: int) -> None:
        while len(self._done) > to:
            a, b, c, d = self._done.pop()
            self._swap(a, c, b, d)
            self._done.pop()

    def _settle(self, nodes: list[int], progress: Progress = silent) -> float:
        """Shorten around these nodes until nothing helps; what it brought, mm."""
        waiting, queued = deque(nodes), set(nodes)
        gained, looked = 0.0, 0
        while waiting:
            node = waiting.popleft()
            queued.discard(node)
            looked += 1
            if looked % 2000 == 0:
                progress(0.0, "shortening jumps")
            while True:
                before = len(self._done)
                gain = self._chain(node) or self._move(node)
                if gain <= 0.0:
                    break
                gained += gain
                for move in self._done[before:]:
                    for touched in move:
                        if touched not in queued:
                            queued.add(touched)
                            waiting.append(touched)
        return gained

    def _chain(self, t1: int) -> float:
        """A chain of 2-opt steps from the free edge at ``t1``; made if it shortens the way, and what it brought."""
        t2 = self._partner(t1)
        removed = self._apart(t1, t2)
        if removed <= _GAIN_MM:
            return 0.0
        return self._deeper(t1, t2, removed, 0)

    def _deeper(self, t1: int, t2: int, balance: float, depth: int) -> float:
        """``balance``: removed less added so far, the edge t1-t2 that would close the way counted as removed."""
        tour, place, size, at, nowhere = self._tour, self._place, len(self._tour), self._at, self._nowhere
        follows = place[t1] + 1
        forward = tour[follows if follows < size else 0] == t2
        here, close = at[t2], at[t1]
        choices = []
        for t3 in self._near[t2]:
            left = balance - abs(here - at[t3])
            if left <= _GAIN_MM:
                break
            if forward:
                t4 = tour[place[t3] - 1]
            else:
                follows = place[t3] + 1
                t4 = tour[follows if follows < size else 0]
            if t3 == t1 or t4 == t3 ^ 1 or t4 == t2:
                continue
            total = left if t4 == nowhere else left + abs(at[t3] - at[t4])
            gain = total if t4 == nowhere or t1 == nowhere else total - abs(at[t4] - close)
            if gain > _GAIN_MM:
                self._swap(t1, t2, t4, t3)
                return gain
            choices.append((total, t3, t4))
        if depth + 1 == DEPTH or not choices:
            return 0.0
        choices.sort(reverse=True)
        made = len(self._done)
        for total, t3, t4 in choices[: BREADTH[depth] if depth < len(BREADTH) else 1]:
            self._swap(t1, t2, t4, t3)
            gain = self._deeper(t1, t4, total, depth + 1)
            if gain > 0.0:
                return gain
            self._undo(made)
        return 0.0

    def _move(self, t2: int) -> float:
        """Or-opt: one to three lines from ``t2`` on, put next to a neighbour of ``t2``; what it brought."""
        tour, place, size, apart = self._tour, self._place, len(self._tour), self._apart
        t1 = self._partner(t2)
        first = apart(t1, t2)
        step = 1 if tour[(place[t2] + 1) % size] == t2 ^ 1 else -1
        inside = set[int]()
        end = t2
        for count in range(LONGEST_MOVED):
            if count:
                end = self._partner(end)
            inside.update((end, end ^ 1))
            if self._nowhere in inside:
                return 0.0
            end ^= 1
            after = self._partner(end)
            if after == t1 or after in inside:
                return 0.0
            saved = first + apart(end, after) - apart(t1, after)
            if saved <= _GAIN_MM:
                continue
            for beside in self._near[t2]:
                added = apart(t2, beside)
                if added >= saved:
                    break
                other = self._partner(beside)
                if beside in inside or other in inside:
                    continue
                gain = saved - added - apart(end, other) + apart(beside, other)
                if gain > _GAIN_MM:
                    self._put(t1, t2, end, after, beside, other, step)
                    return gain
        return 0.0

    def _put(self, t1: int, t2: int, end: int, after: int, beside: int, other: int, step: int) -> None:
        """Move the stretch t2..end from between t1 and after to between beside and other, t2 next to beside."""
        tour, place, size = self._tour, self._place, len(self._tour)
        if tour[(place[beside] + step) % size] == other:  # t1 [t2..end] after ... beside other: the same way round
            self._swap(t1, t2, beside, other)
            if after != beside or t1 != beside:
                self._swap(t1, beside, after, end)
            self._swap(beside, end, t2, other)
        else:
            self._swap(t1, t2, other, beside)
            self._swap(t1, other, after, end)

    def _kick(self, chance: random.Random) -> tuple[list[int], float]:
        """Swap two neighbouring stretches of lines (the double bridge, kept local): nodes touched and length added."""
        tour, size = self._tour, len(self._tour)
        lines = size // 2
        most = min(KICK_LINES, (lines - 1) // 2)
        at = 2 * chance.randrange(lines)
        if tour[at] ^ 1 != tour[at + 1 if at + 1 < size else 0]:
            at += 1
        one, two = 2 * chance.randint(1, most), 2 * chance.randint(1, most)
        t1, t2 = tour[(at - 1) % size], tour[at % size]
        end, after = tour[(at + one - 1) % size], tour[(at + one) % size]
        beside, other = tour[(at + one + two - 1) % size], tour[(at + one + two) % size]
        apart = self._apart
        lost = apart(beside, t2) + apart(end, other) + apart(t1, after)
        lost -= apart(t1, t2) + apart(end, after) + apart(beside, other)
        self._swap(t1, t2, beside, other)
        self._swap(t1, beside, after, end)
        self._swap(beside, end, t2, other)
        return [t1, t2, end, after, beside, other], lost
