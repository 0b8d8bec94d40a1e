"""Groups by pairs, against scipy's connected components."""

import numpy as np
import pytest
import scipy

from core.geometry.connected import connected


@pytest.mark.parametrize(("count", "pairs"), [(1, 0), (50, 20), (400, 390), (2000, 1500), (300, 3000)])
def test_groups_are_those_of_the_graph(count, pairs):
    one, other = np.random.default_rng(count).integers(0, count, (2, pairs))
    graph = scipy.sparse.coo_array((np.ones(pairs, bool), (one, other)), shape=(count, count))
    there = scipy.sparse.csgraph.connected_components(graph, directed=False)[1]
    here = connected(count, one, other)
    first = np.unique(there, return_index=True)[1]
    assert here.max() + 1 == len(first)
    assert np.array_equal(here, here[first][there])


def test_a_long_chain_in_any_order_is_one_group():
    order = np.random.default_rng(2).permutation(5000)
    assert not connected(5000, order[:-1], order[1:]).any()
