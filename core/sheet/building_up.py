"""Layouts built up one shape after the other, each at the cheapest place of a grid that is free, in several orders."""

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress

import numpy as np
from numpy.typing import NDArray

from core.progress import Progress
from core.sheet.meetings import FEW_FIELDS, Field, Meeting, Meetings
from core.sheet.settling import Spot

_BUILDING_SHARE, _MANY_FIELDS_SHARE = 0.2, 0.05
"""Of the time, for layouts built up one shape after the other, before the best of them is made tighter.

The second for more than ``FEW_FIELDS`` shapes and angles, of which each layout takes long and the first does as well.
"""
_WAYS = ((1.0, 1e-3), (1e-3, 1.0), (1.0, 1.0), (1.0, 0.4), (0.4, 1.0))
"""How much a place costs for each mm that the shape's far side lies from the left edge and the top edge."""


class _OutOfTimeError(Exception):
    """The time for building is over, and there is a layout."""


def built_up(
    meetings: Meetings, by_size: list[int], orders: int, going: Callable[[float], bool], progress: Progress
) -> Iterator[list[Spot]]:
    """Layouts built up one shape after the other, in several ways and orders.

    by_size: the numbers of the shapes wanted, the largest first, each as often as it is. going: whether so much of the
    time is left.
    """
    trials = [(by_size, way) for way in _WAYS]
    if len(set(by_size)) > 1:
        random = np.random.default_rng(len(by_size))
        trials += [(_shuffled(by_size, random), _WAYS[number % len(_WAYS)]) for number in range(orders)]
    building = _BUILDING_SHARE if len(meetings.fields) <= FEW_FIELDS else _MANY_FIELDS_SHARE
    for number, (order, way) in enumerate(trials):

        def share(done: float, doing: str, start: float = number / len(trials)) -> None:
            if not going(building):
                raise _OutOfTimeError
            progress(0.1 + 0.5 * (start + done / len(trials)), doing)

        with suppress(_OutOfTimeError):
            yield _laid_out(meetings, order, way, share)
        if not going(building):
            return


def _shuffled(order: list[int], random: np.random.Generator) -> list[int]:
    """Nearly by size: each shape a few places up or down."""
    shift = random.uniform(0.0, max(3.0, len(order) / 3), len(order))
    return [order[at] for at in np.argsort(np.arange(len(order)) + shift, kind="stable").tolist()]


def _laid_out(
    meetings: Meetings,
    order: Sequence[int],
    way: tuple[float, float],
    progress: Progress,
) -> list[Spot]:
    """The shapes laid one after the other, each at its cheapest place."""
    fields = meetings.fields
    costs = [_costs(field, *way) for field in fields]
    lost: set[int] = set()
    laid: list[Spot] = []
    for done, of in enumerate(order):
        progress(done / len(order), "nesting")
        if of in lost:
            continue
        cheapest = [(field.number, int(costs[field.number].argmin())) for field in fields if field.wanted == of]
        places = [(float(costs[number].flat[at]), number, at) for number, at in cheapest]
        cost, number, at = min(places, default=(math.inf, 0, 0))
        if not math.isfinite(cost):
            lost.add(of)
            continue
        row, column = divmod(at, fields[number].grid.columns)
        grid = fields[number].grid
        laid.append((number, grid.x_mm + column * grid.cell_mm, grid.y_mm + row * grid.cell_mm))
        for field in fields:
            progress(done / len(order), "nesting")
            _take_out(costs[field.number], meetings.of(number, field.number), column, row)
    return laid


def _costs(field: Field, across: float, down: float) -> NDArray[np.float32]:
    """What each place costs; infinite where the shape can't lie."""
    _, _, u1, v1 = field.outline.bounds
    cost = down * (field.grid.ys_mm + v1)[:, None] + across * (field.grid.xs_mm + u1)[None, :]
    return np.where(field.free, cost, np.inf).astype(np.float32)


def _take_out(costs: NDArray[np.float32], pair: Meeting, column: int, row: int) -> None:
    """Make all places infinite at which a shape would meet the one laid at (column, row)."""
    left, top = pair.column + column, pair.row + row
    x0, y0 = max(left, 0), max(top, 0)
    x1, y1 = min(left + pair.meets.shape[1], costs.shape[1]), min(top + pair.meets.shape[0], costs.shape[0])
    if x1 > x0 and y1 > y0:
        costs[y0:y1, x0:x1][pair.meets[y0 - top : y1 - top, x0 - left : x1 - left]] = np.inf
