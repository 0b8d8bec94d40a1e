"""The order of colours against brute force."""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import Cancelled
from core.finishing.order import EXACT_UP_TO, best_order, order_cost, step_costs, swap_costs


def random_costs(seed: int):
    """Any cost at all for each colour and set of colours done, without rhyme or reason."""

    def cost(colour: int, done: frozenset[int]) -> float:
        return hash((seed, colour, tuple(sorted(done)))) % 1000 / 10

    return cost


@settings(max_examples=80)
@given(st.integers(0, 6), st.integers(0, 10**9))
def test_no_order_is_cheaper(count: int, seed: int) -> None:
    cost = random_costs(seed)
    order, total = best_order(count, cost)
    assert sorted(order) == list(range(count))
    assert total == pytest.approx(order_cost(order, cost))
    assert total == pytest.approx(min(order_cost(other, cost) for other in permutations(range(count))))


def test_seven_colours_against_all_5040_orders() -> None:
    cost = random_costs(7)
    _, total = best_order(7, cost)
    assert total == pytest.approx(min(order_cost(other, cost) for other in permutations(range(7))))


def test_each_step_is_asked_for_once() -> None:
    asked = []

    def cost(colour: int, done: frozenset[int]) -> float:
        asked.append((colour, done))
        return 1.0

    best_order(EXACT_UP_TO, cost)
    assert len(asked) == len(set(asked)) == EXACT_UP_TO * 2 ** (EXACT_UP_TO - 1)


def test_equal_orders_keep_the_given_order() -> None:
    assert best_order(5, lambda colour, done: 1.0) == ((0, 1, 2, 3, 4), 5.0)


@given(st.integers(0, 10**6))
@settings(max_examples=10)
def test_many_colours_come_out_no_worse_than_any_single_move(seed: int) -> None:
    count = EXACT_UP_TO + 3
    weights = [[hash((seed, a, b)) % 50 for b in range(count)] for a in range(count)]

    def cost(colour: int, done: frozenset[int]) -> float:
        return float(sum(weights[colour][other] for other in range(count) if other != colour and other not in done))

    order, total = best_order(count, cost)
    assert sorted(order) == list(range(count))
    for place in range(count):
        rest = order[:place] + order[place + 1 :]
        for to in range(count):
            assert total <= order_cost((*rest[:to], order[place], *rest[to:]), cost) + 1e-9


def test_swapping_neighbours_tells_what_it_costs() -> None:
    cost = random_costs(3)
    order, total = best_order(5, cost)
    assert sum(step_costs(order, cost)) == pytest.approx(total)
    swaps = swap_costs(order, cost)
    assert len(swaps) == 4
    assert min(swaps) >= -1e-9
    swapped = (order[1], order[0], *order[2:])
    assert swaps[0] == pytest.approx(order_cost(swapped, cost) - total)


def test_it_can_be_stopped() -> None:
    def stop(share: float, doing: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        best_order(4, random_costs(1), progress=stop)
