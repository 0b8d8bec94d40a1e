"""A way through lines is never made longer, loses none of them, and is the shortest where all can be tried."""

import itertools
import math
import random

import pytest

from core.burning.shorter_tour import ShorterTour

START = (0.0, 0.0)


def lines(count, seed):
    chance = random.Random(seed)
    begins = [(chance.uniform(0, 100), chance.uniform(0, 60)) for _ in range(count)]
    return begins, [(x + chance.uniform(-9, 9), y + chance.uniform(-9, 9)) for x, y in begins]


def way_mm(begins, ends, order):
    at, total = START, 0.0
    for line, back in order:
        first, last = (ends[line], begins[line]) if back else (begins[line], ends[line])
        total, at = total + math.dist(at, first), last
    return total


def improved(begins, ends, *, kicks=0, seed=1):
    nodes = [point for pair in zip(begins, ends, strict=True) for point in pair]
    near = [sorted((o for o in range(len(nodes)) if o != n), key=lambda o, p=p: math.dist(p, nodes[o]))[:10]
            for n, p in enumerate(nodes)]  # fmt: skip
    order = [(number, False) for number in range(len(begins))]
    tour = ShorterTour(begins, ends, START, order, near)
    tour.improve(kicks=kicks, seed=seed)
    return order, tour.order()


@pytest.mark.parametrize("seed", range(4))
def test_it_gets_shorter_loses_no_line_and_goes_by_its_seed(seed):
    begins, ends = lines(60, seed)
    before, after = improved(begins, ends, kicks=200)
    assert sorted(line for line, _ in after) == list(range(60))
    assert way_mm(begins, ends, after) < 0.4 * way_mm(begins, ends, before)  # from no order at all
    assert improved(begins, ends, kicks=200)[1] == after


@pytest.mark.parametrize("seed", range(6))
def test_few_lines_come_out_as_short_as_any_order_makes_them(seed):
    begins, ends = lines(5, seed)
    best = min(
        way_mm(begins, ends, list(zip(order, backs, strict=True)))
        for order in itertools.permutations(range(5))
        for backs in itertools.product((False, True), repeat=5)
    )
    _, after = improved(begins, ends, kicks=100)
    assert way_mm(begins, ends, after) == pytest.approx(best, rel=0.03)
