"""What straying lines do to a wide fill, beside a simulation of the lines themselves.

The claim: of a thousand lines that err independently and normally, the widest gap is as the extreme of a thousand
normal deviations (E. J. Gumbel, Statistics of Extremes, 1958: P(all below z) = Φ(z)^n). Neighbouring gaps share a line,
which the claim leaves out. Simulated by the definition (JCGM 101:2008, propagation of distributions by Monte Carlo).
"""

import math

import numpy as np
import pytest
from scipy import stats

from core.burning.machines import CO2_FLATBED
from core.burning.unknowns import LINES_OF_A_FILL, beliefs_of, draws_of
from core.sheet.stock import MIRRORED_ACRYLIC_3

DEVIATION = draws_of(beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3), CO2_FLATBED).gap_deviation


def test_widest_gap_of_a_fill_comes_as_drawn():
    random = np.random.default_rng(6)
    lines = np.arange(LINES_OF_A_FILL + 1) * 42.0 + random.normal(0.0, 3.0, (2000, LINES_OF_A_FILL + 1))
    gaps = np.diff(lines, axis=1)
    widest, narrowest = gaps.max(1) - 42.0, 42.0 - gaps.min(1)
    drawn = math.sqrt(2) * 3.0 * DEVIATION
    for simulated in (widest, narrowest):
        assert drawn.mean() == pytest.approx(simulated.mean(), rel=0.01)
        for share in (5, 50, 95):
            assert np.percentile(drawn, share) == pytest.approx(np.percentile(simulated, share), rel=0.02)


def test_drawn_deviations_are_the_extreme_of_a_thousand_normal_ones():
    expected = stats.norm.ppf(np.array([0.05, 0.5, 0.95]) ** (1 / LINES_OF_A_FILL))
    assert np.percentile(DEVIATION, [5, 50, 95]) == pytest.approx(expected, rel=2e-3)
