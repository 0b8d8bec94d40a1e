"""Doses of finite lines and what hits add up to, beside quadrature and the incubation law.

Sources: time integral of a moving Gaussian (A. E. Siegman, Lasers, 1986, ch. 17; formula from memory, integrated here
by scipy); Y. Jee, M. F. Becker, R. M. Walser, J. Opt. Soc. Am. B 5, 648 (1988): F(N) = F(1) N^(S-1) (from memory).
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from core.burning.beam import hatch_ratio
from core.burning.dose import (
    across_share,
    cleared_width_of_line_mm,
    combined_dose,
    line_peak_j_mm2,
    span_share,
)
from tests.references.endless_lines import hatch_dose_j_mm2

SPOT = 0.137
PEAK = float(line_peak_j_mm2(power_w=20, speed_mm_s=800, spot_mm=SPOT))


@given(
    x=st.floats(-0.3, 0.6), y=st.floats(-0.2, 0.2), length=st.floats(0.001, 0.4), power=st.floats(1, 100),
    speed=st.floats(10, 2000),
)  # fmt: skip
def test_the_dose_of_a_finite_line_is_the_irradiance_integrated_over_its_time(x, y, length, power, speed):
    w = SPOT / 2

    def irradiance(place):
        return 2 * power / (math.pi * w * w) * math.exp(-2 * ((x - place) ** 2 + y * y) / w**2) / speed

    points = [point for point in (x - w, x, x + w) if 0 < point < length]
    theirs, _ = integrate.quad(irradiance, 0, length, points=points or None, epsabs=1e-12)
    along = span_share(x, x0_mm=0, x1_mm=length, spot_mm=SPOT)
    ours = line_peak_j_mm2(power_w=power, speed_mm_s=speed, spot_mm=SPOT) * along * across_share(y, spot_mm=SPOT)
    assert float(ours) == pytest.approx(theirs, rel=1e-7, abs=1e-9)


def test_a_line_gives_half_its_dose_at_its_end():
    share = span_share([0.0, 1.0, 0.5], x0_mm=0, x1_mm=1, spot_mm=SPOT)
    assert share == pytest.approx([0.5, 0.5, 1.0], rel=1e-9)


@given(dose=st.floats(1e-3, 10), hits=st.integers(1, 50), s=st.floats(0, 1))
def test_equal_hits_follow_the_incubation_law_and_unequal_ones_agree_with_it(dose, hits, s):
    together = float(combined_dose(np.full(hits, dose), s=s))
    assert together * hits ** (s - 1) == pytest.approx(dose, rel=1e-9)  # F(N) = F(1) N^(S-1)


@given(doses=st.lists(st.floats(0, 5), min_size=1, max_size=8), s=st.floats(0, 1))
def test_what_adds_lies_between_the_largest_and_the_sum(doses, s):
    together = float(combined_dose(doses, s=s))
    assert max(doses) * (1 - 1e-9) <= together <= sum(doses) * (1 + 1e-9)
    assert float(combined_dose(doses, s=1.0)) == max(doses)
    assert float(combined_dose(doses, s=0.0)) == pytest.approx(sum(doses), rel=1e-12)


@given(
    u=st.floats(-2, 2), pitch=st.floats(0.01, 0.4), passes=st.integers(1, 10),
    s=st.sampled_from([0.0, 0.3, 0.52, 0.8, 0.95, 0.999, 1.0]),
)  # fmt: skip
def test_endless_lines_count_as_the_plain_combination_of_many(u, pitch, passes, s):
    y = (u - np.arange(-80, 81)) * pitch
    hits = PEAK * np.exp(-8 * (y / SPOT) ** 2)
    theirs = float(combined_dose(np.repeat(hits, passes), s=s))
    ours = hatch_dose_j_mm2(u, peak_j_mm2=PEAK, pitch_mm=pitch, spot_mm=SPOT, passes=passes, s=s)
    assert float(ours) == pytest.approx(theirs, rel=1e-8, abs=1e-30)


@given(u=st.floats(-1, 1), pitch=st.floats(0.01, 0.4))
def test_with_all_adding_endless_lines_are_the_known_sum(u, pitch):
    ours = hatch_dose_j_mm2(u, peak_j_mm2=PEAK, pitch_mm=pitch, spot_mm=SPOT, s=0.0)
    mean = 20 / (800 * pitch)
    assert float(ours) == pytest.approx(mean * float(hatch_ratio(u, pitch_mm=pitch, spot_mm=SPOT)), rel=1e-9)


def test_with_nothing_adding_the_bared_width_is_that_of_one_line_whatever_the_passes():
    width = cleared_width_of_line_mm(peak_j_mm2=PEAK, clearing_dose_j_mm2=0.19, spot_mm=SPOT)
    assert float(width) == pytest.approx(0.063301, abs=1e-6)
    pitch = 25.4 / 300
    edge = float(width) / 2 / pitch
    for passes in (1, 2, 10):
        figures = {"peak_j_mm2": PEAK, "pitch_mm": pitch, "spot_mm": SPOT, "passes": passes, "s": 1.0}
        inside, outside = hatch_dose_j_mm2([edge - 1e-6, edge + 1e-6], **figures)
        assert inside > 0.19 > outside


def test_lines_left_at_300_lpi_bound_the_coat_s_from_below():
    """At the starting figures the coat midway between lines stays only if S lies above about 0.52."""
    midway = [hatch_dose_j_mm2(0.5, peak_j_mm2=PEAK, pitch_mm=25.4 / 300, spot_mm=SPOT, s=s) for s in (0.51, 0.53)]
    assert midway[0] > 0.19 > midway[1]


def test_many_draws_go_through_at_once():
    random = np.random.default_rng(0)
    s, spot = random.uniform(0, 1, 2000), random.uniform(0.1, 0.2, 2000)
    dose = hatch_dose_j_mm2(0.5, peak_j_mm2=PEAK, pitch_mm=0.04, spot_mm=spot, passes=2, s=s)
    assert dose.shape == (2000,)
    one = hatch_dose_j_mm2(0.5, peak_j_mm2=PEAK, pitch_mm=0.04, spot_mm=spot[7], passes=2, s=s[7])
    assert float(one) == pytest.approx(float(dose[7]), rel=1e-12)
