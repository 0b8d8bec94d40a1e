"""What scraps teach, checked by simulation: do 95 % intervals hold the truth 95 times in 100, are ranks even?

S. Talts, M. Betancourt, D. Simpson, A. Vehtari, A. Gelman, Validating Bayesian inference algorithms with
simulation-based calibration (2018), arXiv 1804.06788. Few scraps here; ``python -m tests.benchmarks learning`` does a
thousand for each number of readings.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy import stats

from core.burning.learning import learn
from core.burning.machines import CO2_FLATBED
from tests.core.burning.calibrating import PRIOR, RECIPES, calibrated
from tests.core.burning.simulated import simulated

SIMULATIONS = 60


@cache
def checked(kind, readings):
    return calibrated(kind, readings, SIMULATIONS, seed=4)


@pytest.mark.parametrize(("kind", "readings"), [("widths", 2), ("widths", 5), ("looks", 3), ("looks", 12)])
def test_intervals_hold_and_ranks_are_even(kind, readings):
    found = checked(kind, readings)
    # all five figures together: 300 intervals, 95 % of them to hold; within what chance allows at 1 in 1000
    held = round(found.covered.sum() * SIMULATIONS)
    assert stats.binomtest(held, 5 * SIMULATIONS, 0.95).pvalue > 1e-3
    for column in found.ranks.T:
        assert stats.kstest(column, "uniform").pvalue > 1e-3


def test_the_check_tells_beliefs_that_are_too_sure():
    """A third of the errors: the same check on the same ranks would fail."""
    found = checked("looks", 3)
    normal = stats.norm.ppf(np.clip(found.ranks[:, 1], 1e-3, 1 - 1e-3))
    assert stats.kstest(stats.norm.cdf(3 * normal), "uniform").pvalue < 1e-3


def scraps(count):
    random = np.random.default_rng(5)
    asked = [(recipe, "widths") for recipe in RECIPES["widths"]]
    for _ in range(count):
        truth, seen = simulated(PRIOR, CO2_FLATBED, asked, random)
        yield truth, seen


def test_an_outlier_hardly_moves_the_dose_and_is_told():
    moved, told = [], []
    for _truth, seen in scraps(12):
        plain = learn(PRIOR, CO2_FLATBED, seen)
        at = max(range(len(seen)), key=lambda k: seen[k].width_mm)
        spoilt = [replace(one, width_mm=2 * one.width_mm) if k == at else one for k, one in enumerate(seen)]
        found = learn(PRIOR, CO2_FLATBED, spoilt)
        moved.append(abs(found.beliefs().means[1] - plain.beliefs().means[1]))
        told.append(found.wrong[at] > 0.5)
    assert np.median(moved) < 0.05 and np.mean(told) >= 0.7


def test_an_error_that_all_widths_share_is_allowed_for():
    """Six micrometres, twice what is usual: the dose stays in its interval nearly as often."""
    held, moved = [], []
    for truth, seen in scraps(12):
        wide = [replace(one, width_mm=one.width_mm + 0.006) if one.width_mm else one for one in seen]
        found = learn(PRIOR, CO2_FLATBED, wide)
        low, high = found.quantiles(1, (0.025, 0.975))
        held.append(low <= truth[1] <= high)
        moved.append(found.beliefs().means[1] - learn(PRIOR, CO2_FLATBED, seen).beliefs().means[1])
    assert np.mean(held) >= 0.75
    assert abs(np.median(moved)) < 0.15


def test_the_same_readings_give_the_same_answer():
    _, seen = next(scraps(1))
    one, other = (learn(PRIOR, CO2_FLATBED, seen).beliefs() for _ in range(2))
    assert (one.means == other.means).all() and (one.covariance == other.covariance).all()


def test_no_reading_leaves_the_beliefs_as_they_were():
    found = learn(PRIOR, CO2_FLATBED, [])
    assert found.beliefs().means == pytest.approx(PRIOR.means, abs=0.05)
    assert found.beliefs().errors == pytest.approx(PRIOR.errors, rel=0.08)
