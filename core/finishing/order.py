"""The order of colours that costs least.

A step's cost depends on its colour and on which colours are done before it, not on their order. So the best order is
a shortest way through the subsets of colours (M. Held, R. M. Karp, "A dynamic programming approach to sequencing
problems", J. SIAM 10 (1962) 196-210): exact in n 2^(n-1) steps instead of n!.
"""

from collections.abc import Callable
from itertools import pairwise

from core.progress import Progress, silent

EXACT_UP_TO = 9
_BEAM = 24

StepCost = Callable[[int, frozenset[int]], float]
"""Cost of painting colour i when these colours are done already."""
Order = tuple[int, ...]


def best_order(count: int, step_cost: StepCost, *, progress: Progress = silent) -> tuple[Order, float]:
    """(order, its cost): exact up to ``EXACT_UP_TO`` colours, beyond that good but not proven best.

    Of equal orders the one that comes first by numbers wins, so that the same job always gets the same order.
    """
    cost = _remembered(step_cost)
    order = _cheapest_way(count, cost, None if count <= EXACT_UP_TO else _BEAM, progress=progress)
    if count > EXACT_UP_TO:
        order = _improved(order, cost, progress=progress)
    return order, order_cost(order, cost)


def order_cost(order: Order, step_cost: StepCost) -> float:
    """Cost of painting in this order."""
    return sum(step_costs(order, step_cost))


def step_costs(order: Order, step_cost: StepCost) -> tuple[float, ...]:
    """Cost of each step of this order."""
    return tuple(step_cost(colour, frozenset(order[:place])) for place, colour in enumerate(order))


def swap_costs(order: Order, step_cost: StepCost) -> tuple[float, ...]:
    """What it costs more to swap each two neighbours of the order: n - 1 differences."""
    total = order_cost(order, step_cost)
    result = []
    for place, (first, second) in enumerate(pairwise(order)):
        swapped = (*order[:place], second, first, *order[place + 2 :])
        result.append(order_cost(swapped, step_cost) - total)
    return tuple(result)


def _remembered(step_cost: StepCost) -> StepCost:
    known: dict[tuple[int, frozenset[int]], float] = {}

    def cost(colour: int, done: frozenset[int]) -> float:
        key = (colour, done)
        if key not in known:
            known[key] = step_cost(colour, done)
        return known[key]

    return cost


def _cheapest_way(count: int, cost: StepCost, keep: int | None, *, progress: Progress) -> Order:
    """Subset by subset, smallest first; ``keep`` limits how many subsets of one size are carried on (None: all)."""
    ways: dict[frozenset[int], tuple[float, Order]] = {frozenset(): (0.0, ())}
    for size in range(count):
        longer: dict[frozenset[int], tuple[float, Order]] = {}
        for number, (done, (so_far, order)) in enumerate(ways.items()):
            progress((size + number / len(ways)) / count, "comparing orders")
            for colour in range(count):
                if colour in done:
                    continue
                way = (so_far + cost(colour, done), (*order, colour))
                key = done | {colour}
                if key not in longer or way < longer[key]:
                    longer[key] = way
        kept = sorted(longer.items(), key=lambda item: item[1])
        ways = dict(kept[:keep])
    return next(iter(ways.values()))[1] if count else ()


def _improved(order: Order, cost: StepCost, *, progress: Progress) -> Order:
    """One colour at a time put to another place, as long as that is cheaper."""
    total, better = order_cost(order, cost), True
    while better:
        better = False
        for place in range(len(order)):
            progress(1.0, "comparing orders")
            rest = (*order[:place], *order[place + 1 :])
            for to in range(len(order)):
                tried = (*rest[:to], order[place], *rest[to:])
                tried_cost = order_cost(tried, cost)
                if tried_cost < total - 1e-9:
                    order, total, better = tried, tried_cost, True
                    break
    return order
