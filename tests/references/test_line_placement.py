"""The margin claimed for line placement, beside a Monte Carlo of lines that stray.

The claim: with lines that err independently and normally, ``gap_chance`` of neighbouring pairs part further than the
cleared width. Simulated by the definition (JCGM 101:2008, propagation of distributions by a Monte Carlo method).
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from core.burning.advice import Margins, coarsest_pitch, placement_allowance_mm
from core.burning.beam import cleared_width_mm
from core.burning.machines import CO2_FLATBED
from core.sheet.stock import MIRRORED_ACRYLIC_3

LINES = 4_000_000


@pytest.mark.parametrize("gap_chance", [0.1, 0.01, 0.001])
@pytest.mark.parametrize("line_error_mm", [0.001, 0.003, 0.006])
def test_gaps_come_as_often_as_claimed(gap_chance, line_error_mm):
    machine = replace(CO2_FLATBED, line_error_mm=line_error_mm)
    fill = MIRRORED_ACRYLIC_3.fill
    pitch, _ = coarsest_pitch(fill, machine, MIRRORED_ACRYLIC_3, margins=Margins(dose=0.0, gap_chance=gap_chance))
    width = cleared_width_mm(fill, machine, MIRRORED_ACRYLIC_3)
    random = np.random.default_rng(6)
    lines = np.arange(LINES) * pitch + random.normal(0.0, line_error_mm, LINES)
    gaps = np.count_nonzero(np.diff(lines) > width) / (LINES - 1)
    # neighbouring gaps share a line; five standard deviations of an independent count are room enough
    assert gaps == pytest.approx(gap_chance, abs=5 * math.sqrt(gap_chance / LINES))


def test_allowance_is_the_quantile_of_the_difference_of_two_lines():
    assert placement_allowance_mm(CO2_FLATBED, gap_chance=0.5) == pytest.approx(0.0, abs=1e-12)
    # one-sided 99.9 % quantile of the standard normal: 3.0902 (NIST/SEMATECH e-Handbook 1.3.6.7.1, from memory)
    expected = 3.0902 * math.sqrt(2) * CO2_FLATBED.line_error_mm
    assert placement_allowance_mm(CO2_FLATBED, gap_chance=0.001) == pytest.approx(expected, rel=1e-4)
