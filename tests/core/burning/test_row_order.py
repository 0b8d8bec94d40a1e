"""Places on rows in their order, held against numpy's own sorting by two keys."""

import numpy as np
import pytest

from core.burning.row_order import by_row_and_place


@pytest.mark.parametrize("rows", [1, 40, 70_000])
@pytest.mark.parametrize("count", [0, 1, 300, 20_000])
def test_places_come_by_row_then_along_it_and_like_ones_as_they_were(rows, count):
    random = np.random.default_rng(count + rows)
    row = random.integers(-5, rows - 5, count)
    places = {
        "scattered": random.uniform(-300, 300, count),
        "a nanometre apart": 7.0 + 1e-6 * random.integers(0, 50, count),
        "one far off": np.append(random.uniform(0, 1e-3, max(count - 1, 0)), 1e4)[:count],
        "all in one": np.full(count, 3.0),
    }
    for x in places.values():
        order = by_row_and_place(row, x)
        by_two_keys = np.lexsort((x, row))
        assert np.array_equal(row[order], row[by_two_keys])
        assert x[order] == pytest.approx(x[by_two_keys], abs=1e-7)
        assert np.array_equal(np.sort(order), np.arange(count))
    assert np.array_equal(order, np.argsort(row, kind="stable"))
