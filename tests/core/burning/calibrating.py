"""Simulation-based calibration of what readings teach: figures drawn, a scrap read, beliefs beside the truth.

S. Talts, M. Betancourt, D. Simpson, A. Vehtari, A. Gelman, Validating Bayesian inference algorithms with
simulation-based calibration (2018), arXiv 1804.06788, algorithm 2: the rank of the truth in the posterior is uniform.
"""

from dataclasses import dataclass

import numpy as np
from scipy import stats

from core.burning.coupons import make_coupon
from core.burning.learning import learn
from core.burning.machines import CO2_FLATBED
from core.burning.unknowns import LEARNED, beliefs_of
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.core.burning.simulated import simulated

PRIOR = beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3)
RECIPES = {
    "widths": tuple(p.recipe for p in make_coupon("line-widths", MIRRORED_ACRYLIC_3, CO2_FLATBED).patches),
    "looks": tuple(p.recipe for p in make_coupon("speed-power", MIRRORED_ACRYLIC_3, CO2_FLATBED).patches),
}


@dataclass(frozen=True)
class Calibrated:
    """covered (5,): share of 95 % intervals that hold the truth. ranks (simulations, 5): of the truth, 0 to 1."""

    covered: np.ndarray
    ranks: np.ndarray
    effective: np.ndarray

    def uniform(self):
        """For each figure how likely ranks as uneven as these are, were they uniform: 20 bins, χ² (5,)."""
        counts = [np.histogram(column, 20, (0, 1))[0] for column in self.ranks.T]
        return np.array([stats.chisquare(count).pvalue for count in counts])


def calibrated(kind, readings, simulations, *, seed=0):
    """Simulate, learn, compare."""
    random = np.random.default_rng((seed, readings, kind == "looks"))
    held, ranks, effective = np.zeros(len(LEARNED)), [], []
    for number in range(simulations):
        recipes = RECIPES[kind]
        chosen = random.choice(len(recipes), readings, replace=readings > len(recipes))
        truth, seen = simulated(PRIOR, CO2_FLATBED, [(recipes[k], kind) for k in chosen], random)
        found = learn(PRIOR, CO2_FLATBED, seen, seed=number)
        for column in range(len(LEARNED)):
            low, high = found.quantiles(column, (0.025, 0.975))
            held[column] += low <= truth[column] <= high
        ranks.append(found.weights @ (found.scaled < truth))
        effective.append(found.effective)
    return Calibrated(covered=held / simulations, ranks=np.array(ranks), effective=np.array(effective))
