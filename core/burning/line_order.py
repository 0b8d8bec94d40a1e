"""The order in which cut and score lines are burned: inner before outer, then short jumps.

What lies inside a closed outline is burned right before the outline, which then falls free. Outlines that lie side by
side, and lines inside one outline, are each put in a short order: nearest first, then made shorter
(``core.burning.shorter_tour``). Where outlines cross, one that holds a line of its neighbour's waits for it, too.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.burning.near_points import nearest_points
from core.burning.nesting import Held, held_lines
from core.burning.shorter_tour import NEIGHBOURS, Order, Point, ShorterTour
from core.geometry.path import Path, joined
from core.progress import Progress, part, silent

FEW = 3
KICKS_A_LINE = 12
MOST_KICKS = 2500
"""Kicks in all; each group of lines that lie side by side has its share."""


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
    ends, held = _end_points(lines), held_lines(lines)
    order = _short_order(ends, _children(held.parents), start_mm, part(progress, 0.1, 1.0))
    order = _inner_first(order, held)
    given = _inner_first([(line, False) for line in range(len(lines))], held)
    if _jumps_mm(ends, order, start_mm) > _jumps_mm(ends, given, start_mm):
        order = given
    return tuple(lines[line].reversed() if flipped else lines[line] for line, flipped in order)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ends:
    """Where each line begins and ends; the same point for closed ones, which are never reversed."""

    begins: list[Point]
    ends: list[Point]
    closed: list[bool]


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


def _inner_first(order: Order, held: Held) -> Order:
    """The same order, but that all that an outline holds comes right before it where it came later."""
    flipped = dict(order)
    done = [False] * len(order)
    result: Order = []
    for wanted, _ in order:
        stack = [wanted]
        while stack:
            line = stack[-1]
            missing = [inner for inner in held.inside(line) if not done[inner]]
            if missing:
                stack += reversed(missing)
                continue
            stack.pop()
            if not done[line]:
                done[line] = True
                result.append((line, flipped[line]))
    return result


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
        ways = itertools.product(itertools.permutations(lines), itertools.product((False, True), repeat=len(lines)))
        every = [
            [(line, flipped and not ends.closed[line]) for line, flipped in zip(sequence, turns, strict=True)]
            for sequence, turns in ways
        ]
        return min(every, key=lambda order: _jumps_mm(ends, order, start))
    begins, stops = [ends.begins[line] for line in lines], [ends.ends[line] for line in lines]
    near = nearest_points(np.array([point for pair in zip(begins, stops, strict=True) for point in pair]), NEIGHBOURS)
    nearest = _nearest_first(ends, lines, near, start, part(progress, 0.0, 0.2))
    tour = ShorterTour(begins, stops, start, nearest, near)
    kicks = min(KICKS_A_LINE * len(lines), MOST_KICKS * len(lines) // len(ends.begins))
    tour.improve(kicks=kicks, progress=part(progress, 0.2, 1.0))
    return [(lines[place], flipped and not ends.closed[lines[place]]) for place, flipped in tour.order()]


def _nearest_first(ends: _Ends, lines: list[int], near: list[list[int]], start: Point, progress: Progress) -> Order:
    """Places in ``lines``: always the nearest line, from whichever of its ends is nearer if it is open.

    Looked for among what is near the end of the line before; among all when these are done.
    """
    begins, stops = [ends.begins[line] for line in lines], [ends.ends[line] for line in lines]
    points = np.array([begins, stops])
    free, done_mm = [True] * len(lines), np.zeros(len(lines))
    here, choices = start, list[int]()
    order: Order = []

    def reach(node: int) -> float:
        return math.dist(here, stops[node >> 1] if node & 1 else begins[node >> 1])

    while len(order) < len(lines):
        if len(order) % 500 == 0:
            progress(len(order) / len(lines), "nearest lines first")
        nodes = [node for node in choices if free[node >> 1]]
        if nodes:
            node = min(nodes, key=reach)
        else:
            apart = np.hypot(points[:, :, 0] - here[0], points[:, :, 1] - here[1]) + done_mm
            back, place = divmod(int(np.argmin(apart)), len(lines))
            node = 2 * place + back
        place, flipped = node >> 1, bool(node & 1)
        order.append((place, flipped))
        free[place], done_mm[place] = False, np.inf
        here = begins[place] if flipped else stops[place]
        choices = near[2 * place + (not flipped)]
    return order
