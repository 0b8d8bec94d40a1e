"""What is expected of all where some were drawn: by simulation, as the truth is known then."""

import numpy as np
import pytest

from core.burning.drawing_lots import expected_by


def _told(seed: int, *, with_help: bool) -> tuple[float, float]:
    """The sum of 4,000 areas told by one in ten of them, and the truth."""
    random = np.random.default_rng(seed)
    size = random.gamma(2.0, size=4_000)
    areas = (3 * size + random.normal(0, 0.3, size.shape))[None]
    weight = np.zeros(len(size))
    weight[np.arange(0, len(size), 10) + random.integers(0, 10, 400)] = 10
    goes_with = np.array([np.ones(len(size)), size]) if with_help else np.zeros((0, len(size)))
    expected = expected_by(goes_with, np.where(weight > 0, areas, 0.0), weight, np.ones(len(size), bool))
    return float((expected + weight * (areas - expected)).sum()), float(areas.sum())


def test_what_areas_go_with_makes_the_sum_surer():
    off = {helped: [] for helped in (False, True)}
    for seed in range(60):
        for helped, found in off.items():
            told, truth = _told(seed, with_help=helped)
            found.append(told / truth - 1)
    assert np.std(off[True]) < 0.2 * np.std(off[False])
    assert np.mean(off[True]) == pytest.approx(0.0, abs=4 * np.std(off[True]) / np.sqrt(60))


def test_few_that_were_drawn_tell_nothing_of_the_rest():
    goes_with, areas, weight = np.ones((1, 50)), np.ones((1, 50)), np.zeros(50)
    weight[:5] = 10
    known = np.full((1, 50), 0.5)
    assert (expected_by(goes_with, areas, weight, np.ones(50, bool), known) == known).all()
    assert (expected_by(goes_with, areas, weight, np.ones(50, bool)) == 0).all()


def test_what_never_varies_is_no_trouble():
    size = np.arange(1.0, 201.0)
    goes_with = np.array([size, 2 * size, np.zeros(200)])
    weight = np.where(np.arange(200) % 4 == 1, 4.0, 0.0)
    expected = expected_by(goes_with, np.where(weight > 0, size, 0.0)[None], weight, np.ones(200, bool))
    assert expected[0] == pytest.approx(size)
