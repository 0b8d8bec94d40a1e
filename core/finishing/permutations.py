"""In how many orders things of a few kinds can be done, and each of them."""

import math
from collections.abc import Iterator, Sequence


def number_of_orders(counts: Sequence[tuple[int, int]]) -> float:
    """How many orders of units there are, pieces of one chain being alike."""
    units = sum(count * pieces for count, pieces in counts)
    if units > 14:
        return math.inf
    alike: float = math.prod(math.factorial(count) ** pieces * math.factorial(pieces) for count, pieces in counts)
    return math.factorial(units) / alike


def orders(counts: Sequence[tuple[int, int]]) -> Iterator[tuple[int, ...]]:
    """All orders of the units of all pieces; pieces of one chain begin in their own order, since they are alike."""
    left = [count for count, pieces in counts for _ in range(pieces)]
    follows = [place > 0 for _, pieces in counts for place in range(pieces)]
    whole, order = sum(left), list[int]()
    begun = [False] * len(left)

    def further() -> Iterator[tuple[int, ...]]:
        if len(order) == whole:
            yield tuple(order)
            return
        for number, more in enumerate(left):
            if not more or (follows[number] and not begun[number - 1]):
                continue
            first, begun[number] = not begun[number], True
            left[number] -= 1
            order.append(number)
            yield from further()
            order.pop()
            left[number] += 1
            begun[number] = not first

    return further()
