"""Threshold law for the width that a Gaussian beam removes.

Source: J. M. Liu, Simple technique for measurements of pulsed Gaussian-beam spot sizes, Opt. Lett. 7, 196 (1982): the
squared diameter grows with the logarithm of the pulse energy; here with that of the power of a line burned at constant
speed. The regression method is named in M. Garcia-Lechuga, D. Grojo, Open Research Europe 1:7 (2021). Figures
derived from the formulas and checked by numerical integration.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from core.burning.beam import line_dose_j_mm2, line_width_mm, threshold_power_w

LINE = {"speed_mm_s": 500.0, "spot_mm": 0.2}
THRESHOLD = {**LINE, "clearing_dose_j_mm2": 0.05}


def test_dose_across_a_line() -> None:
    dose = line_dose_j_mm2([0.0, 0.05, 0.1], power_w=10.0, **LINE)
    assert dose == pytest.approx([0.159577, 0.0967883, 0.0215964], rel=1e-5)


def test_energy_per_length_is_power_over_speed() -> None:
    energy, _ = integrate.quad(lambda x: float(line_dose_j_mm2(x, power_w=10.0, **LINE)), -1, 1, points=[0])
    assert energy == pytest.approx(0.02, rel=1e-9)


def test_threshold_power() -> None:
    assert threshold_power_w(**THRESHOLD) == pytest.approx(3.13329, rel=1e-5)


def test_widths() -> None:
    widths = [line_width_mm(power_w=power, **THRESHOLD) for power in (4, 6, 10, 20, 40)]
    assert widths == pytest.approx([0.0698874, 0.113989, 0.152348, 0.192544, 0.22569], rel=1e-5)


def test_regression_of_squared_widths_gives_spot_and_threshold_back() -> None:
    power = np.array([4, 6, 10, 20, 40])
    widths = np.array([line_width_mm(power_w=p, **THRESHOLD) for p in power])
    slope, offset = np.polyfit(np.log(power), widths**2, 1)
    assert (slope, offset) == pytest.approx((0.02, -0.0228416), rel=1e-5)
    assert math.sqrt(slope / 2) == pytest.approx(0.1, rel=1e-9)
    assert math.exp(-offset / slope) == pytest.approx(3.13329, rel=1e-5)


@pytest.mark.parametrize(("times_threshold", "widths_w"), [(1.64872, 1.0), (7.38906, 2.0)])
def test_power_at_which_the_width_is_one_and_two_beam_radii(times_threshold: float, widths_w: float) -> None:
    power_w = times_threshold * threshold_power_w(**THRESHOLD)
    assert line_width_mm(power_w=power_w, **THRESHOLD) == pytest.approx(widths_w * 0.1, rel=1e-5)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_at_or_below_the_threshold_nothing_is_cleared(share: float) -> None:
    assert line_width_mm(power_w=share * threshold_power_w(**THRESHOLD), **THRESHOLD) == 0.0


@given(power_w=st.floats(0, 1e3), speed=st.floats(1, 5e3), spot=st.floats(0.01, 2), dose=st.floats(1e-3, 10))
def test_the_edge_of_the_cleared_width_gets_the_clearing_dose(
    power_w: float, speed: float, spot: float, dose: float
) -> None:
    width = line_width_mm(power_w=power_w, speed_mm_s=speed, spot_mm=spot, clearing_dose_j_mm2=dose)
    at_edge = float(line_dose_j_mm2(width / 2, power_w=power_w, speed_mm_s=speed, spot_mm=spot))
    if width:
        assert at_edge == pytest.approx(dose, rel=1e-9)
    else:
        assert at_edge <= dose * (1 + 1e-9)
