"""Rectangles in a strip: each laid in the lowest gap by best fit, in orders that are changed a little and tried.

Best fit: E. K. Burke, G. Kendall, G. Whitwell, A new placement heuristic for the orthogonal stock-cutting problem,
Operations Research 52, 655 (2004). Orders: simulated annealing, S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, Science
220, 671 (1983), begun again and again.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_SAME_MM = 1e-7
_TRIALS = 8000
"""Orders tried from hot to cold, before it begins again."""
_HOT = 0.015
"""Of the strip's length: what an order may be worse by at first, to be gone on from as often as not."""
_BOTH_FIT = 3

Ways = tuple[tuple[float, float], ...]
"""A rectangle's extents across the strip and along it, for each way it may lie."""


@dataclass(frozen=True, slots=True)
class Stand:
    """A rectangle where it stands: which, which of its ways, and where it begins across the strip and along it."""

    item: int
    way: int
    across_mm: float
    along_mm: float


@dataclass(slots=True)
class _Step:
    """A stretch across the strip, and how far along it is filled."""

    begin: float
    end: float
    level: float


def packed(items: Sequence[Ways], breadth_mm: float) -> Iterator[tuple[float, list[Stand]] | None]:
    """Ever shorter strips: length and where the rectangles stand; None after each trial that found no shorter one.

    Ends when the rectangles fill the strip, or when there is nothing to change. Each has to fit across one way at
    least.
    """
    area_mm2 = sum(math.prod(ways[0]) for ways in items)
    order = sorted(range(len(items)), key=lambda item: -math.prod(items[item][0]))
    now_mm, stands = _stood(order, items, breadth_mm)
    best_mm = now_mm
    yield best_mm, stands
    chance = random.Random(1)
    trial = 0
    while len(items) > 1 and best_mm * breadth_mm > area_mm2 * (1 + _SAME_MM):
        if trial % _TRIALS == 0 and trial:
            chance.shuffle(order)
            now_mm = math.inf
        other = _changed(order, chance)
        length_mm, stands = _stood(other, items, breadth_mm)
        heat = _HOT * (1 - trial % _TRIALS / _TRIALS)
        if length_mm <= now_mm or chance.random() < math.exp((now_mm - length_mm) / (heat * now_mm)):
            order, now_mm = other, length_mm
        trial += 1
        if length_mm < best_mm - _SAME_MM:
            best_mm = length_mm
            yield best_mm, stands
        else:
            yield None


def _changed(order: Sequence[int], chance: random.Random) -> list[int]:
    """Two of the order changed about, or one put elsewhere."""
    result = list(order)
    one, other = chance.sample(range(len(order)), 2)
    if chance.random() < 0.5:
        result[one], result[other] = result[other], result[one]
    else:
        result.insert(other, result.pop(one))
    return result


def _stood(order: Sequence[int], items: Sequence[Ways], breadth_mm: float) -> tuple[float, list[Stand]]:
    """The rectangles laid one after the other, each time the one that fits the lowest gap best, earlier ones first."""
    steps = [_Step(0.0, breadth_mm, 0.0)]
    left, stands, length_mm = list(order), [], 0.0
    while left:
        at = min(range(len(steps)), key=lambda index: (steps[index].level, steps[index].begin))
        step = steps[at]
        before = steps[at - 1].level - step.level if at else math.inf
        behind = steps[at + 1].level - step.level if at + 1 < len(steps) else math.inf
        fits = _best_fit(left, items, step.end - step.begin, before, behind)
        if fits is None:
            _filled(steps, at, step.begin, step.end, step.level + min(before, behind))
            continue
        number, way = fits
        item = left.pop(number)
        breadth, length = items[item][way]
        # beside the neighbour that it ends level with, or else beside the higher one
        first = abs(length - before) < _SAME_MM or (before >= behind and abs(length - behind) >= _SAME_MM)
        begin = step.begin if first else max(step.begin, step.end - breadth)
        stands.append(Stand(item, way, begin, step.level))
        length_mm = max(length_mm, step.level + length)
        _filled(steps, at, begin, begin + breadth, step.level + length)
    return length_mm, stands


def _best_fit(
    left: Sequence[int], items: Sequence[Ways], gap: float, before: float, behind: float
) -> tuple[int, int] | None:
    """Which of those left, and which way: filling the gap counts most, then ending level with a neighbour."""
    best, found = -1, None
    for number, item in enumerate(left):
        for way, (breadth, length) in enumerate(items[item]):
            if breadth > gap + _SAME_MM:
                continue
            fit = 2 if breadth > gap - _SAME_MM else 0
            if abs(length - before) < _SAME_MM or abs(length - behind) < _SAME_MM:
                fit += 1
            if fit > best:
                best, found = fit, (number, way)
        if best == _BOTH_FIT:
            break
    return found


def _filled(steps: list[_Step], at: int, begin: float, end: float, level: float) -> None:
    """Raise the skyline from begin to end, within one step, and put together what is level then."""
    step = steps[at]
    new = [_Step(begin, end, level)]
    if begin > step.begin + _SAME_MM:
        new.insert(0, _Step(step.begin, begin, step.level))
    if end < step.end - _SAME_MM:
        new.append(_Step(end, step.end, step.level))
    steps[at : at + 1] = new
    for index in range(min(at + len(new), len(steps) - 1), max(at, 1) - 1, -1):
        if abs(steps[index].level - steps[index - 1].level) < _SAME_MM:
            steps[index - 1].end = steps[index].end
            del steps[index]
