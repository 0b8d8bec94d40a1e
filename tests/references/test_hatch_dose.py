"""Dose of many parallel lines.

Sources: Poisson summation of a Gaussian (E. M. Stein, G. Weiss, Introduction to Fourier Analysis on Euclidean Spaces,
1971, ch. VII; mathlib theorem tsum_exp_neg_quadratic): sum over lines and cosine series are equal. Line distance as a
process variable of area ablation: Zemaitis et al., Sci. Rep. 8, 17376 (2018). Figures computed by both sums.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from core.burning.beam import hatch_ratio, line_width_mm


def ratio(share: float, pitch_over_w: float) -> float:
    return float(hatch_ratio(share, pitch_mm=0.1 * pitch_over_w, spot_mm=0.2))


def series(u: float, r: float) -> float:
    return 1 + 2 * sum(math.exp(-((math.pi * k / r) ** 2) / 2) * math.cos(2 * math.pi * k * u) for k in range(1, 60))


def direct(u: float, r: float) -> float:
    return sum(r * math.sqrt(2 / math.pi) * math.exp(-2 * ((u - n) * r) ** 2) for n in range(-200, 201))


@pytest.mark.parametrize(
    ("pitch_over_w", "least", "most"),
    [
        (0.5, 0.9999999946, 1.000000005),
        (1.0, 0.9856162386, 1.014383772),
        (1.5, 0.7772014764, 1.223417968),
        (2.0, 0.4319277807, 1.596839763),
        (2.5, 0.1752830049, 1.994726269),
    ],
)
def test_ripple_to_ten_figures(pitch_over_w: float, least: float, most: float) -> None:
    assert ratio(0.5, pitch_over_w) == pytest.approx(least, rel=6e-10)
    assert ratio(0.0, pitch_over_w) == pytest.approx(most, rel=6e-10)


def test_ripple_of_a_coarse_hatch() -> None:
    assert (ratio(0.5, 3), ratio(0, 3)) == pytest.approx((0.0531822, 2.39365), rel=1e-5)


@given(share=st.floats(-3, 3), pitch_over_w=st.floats(0.05, 12))
def test_agrees_with_both_sums(share: float, pitch_over_w: float) -> None:
    ours = ratio(share, pitch_over_w)
    assert ours == pytest.approx(direct(share, pitch_over_w), abs=1e-12 * max(1, pitch_over_w))
    assert ours == pytest.approx(series(share, pitch_over_w), abs=1e-12 * max(1, pitch_over_w))


@given(pitch_over_w=st.floats(0.05, 8))
def test_mean_over_a_pitch_is_one(pitch_over_w: float) -> None:
    shares = (np.arange(400) + 0.5) / 400
    assert hatch_ratio(shares, pitch_mm=pitch_over_w, spot_mm=2.0).mean() == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("pitch_over_w", "first_term"), [(1.0, 0.0143838), (1.5, 0.223108), (2.0, 0.582426)])
def test_first_term_is_all_only_up_to_one_and_a_half_w(pitch_over_w: float, first_term: float) -> None:
    depth = 1 - ratio(0.5, pitch_over_w)
    if pitch_over_w == 1.0:
        assert depth == pytest.approx(first_term, rel=1e-4)
    else:
        assert depth < first_term * 0.9999


@pytest.mark.parametrize(("least", "pitch_over_w"), [(0.99, 0.965086), (0.95, 1.15661), (0.90, 1.28349)])
def test_coarsest_pitch_for_an_even_dose(least: float, pitch_over_w: float) -> None:
    root = optimize.brentq(lambda r: ratio(0.5, r) - least, 0.5, 2)
    assert root == pytest.approx(pitch_over_w, rel=1e-5)


THRESHOLD = {"speed_mm_s": 500.0, "spot_mm": 0.2, "clearing_dose_j_mm2": 0.05}


@pytest.mark.parametrize(
    ("power_w", "pitch_mm", "alone", "adding"),
    [
        (10, 0.10, 0.0, 0.0),
        (10, 0.15, 0.0, 0.0),
        (10, 0.20, 0.238258, 0.163293),
        (10, 0.25, 0.390606, 0.388577),
        (4, 0.20, 0.650563, 0.646526),
        (5, 0.20, 0.516598, 0.507854),
    ],
)
def test_left_over_judged_by_each_line_alone_is_the_careful_side(
    power_w: float, pitch_mm: float, alone: float, adding: float
) -> None:
    width = line_width_mm(power_w=power_w, **THRESHOLD)
    assert max(0.0, 1 - width / pitch_mm) == pytest.approx(alone, abs=1e-6)

    def over(share: float) -> float:
        mean = power_w / (500 * pitch_mm)
        return mean * float(hatch_ratio(share, pitch_mm=pitch_mm, spot_mm=0.2)) - 0.05

    left = 0.0 if over(0.5) >= 0 else 1 - 2 * optimize.brentq(over, 0, 0.5)
    assert left == pytest.approx(adding, abs=1e-6)
    assert left <= alone + 1e-12


def test_dose_midway_that_still_clears() -> None:
    assert 10 / (500 * 0.15) * ratio(0.5, 1.5) == pytest.approx(0.103627, rel=1e-5)
