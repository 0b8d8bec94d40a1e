"""Doses, widths and spots beside series, quadrature and worked numbers.

Sources: Poisson summation, e.g. NIST Digital Library of Mathematical Functions 1.8(iv); Gaussian beams, A. E. Siegman,
Lasers (1986) ch. 17 (formula from memory) and ISO 11146-1:2021 for the widths (D4σ; that a Gaussian's second-moment
width is twice its 1/e² radius is derived here by quadrature, the standard's text was not read); threshold law, J. M.
Liu, Opt. Lett. 7 (1982) 196. Worked numbers were computed apart from this program from those formulas. That 600 LPI at
800 mm/s and 20 % comes off clean where 300 LPI leaves lines is common practice, no source; the starting profile is
invented to agree with it.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from core.burning.beam import (
    cleared_width_mm,
    defocused_spot_mm,
    fill_verdict,
    focused_spot_mm,
    hatch_ratio,
    line_dose_j_mm2,
    line_width_mm,
    rayleigh_range_mm,
    threshold_power_w,
)
from core.burning.machines import CO2_FLATBED
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.units import pitch_mm_from_lpi

W = 0.1


def series(u, r):
    k = np.arange(1, 400)[:, None]
    return 1 + 2 * (np.exp(-((math.pi * k / r) ** 2) / 2) * np.cos(2 * math.pi * k * np.asarray(u))).sum(0)


def direct(u, r):
    n = np.arange(-3000, 3001)[:, None]
    return (r * math.sqrt(2 / math.pi) * np.exp(-2 * ((np.asarray(u) - n) * r) ** 2)).sum(0)


# --- many lines: Poisson sums -------------------------------------------------------------------------------------


@given(r=st.floats(0.05, 20.0), u=st.floats(-3.0, 3.0))
def test_sum_of_lines_agrees_with_the_series_and_the_plain_sum(r, u):
    ours = float(hatch_ratio(u, pitch_mm=r, spot_mm=2.0))
    assert ours == pytest.approx(series([u], r)[0], abs=1e-9)
    assert ours == pytest.approx(direct([u], r)[0], abs=1e-9)


@pytest.mark.parametrize(
    ("r", "least", "most"),
    [
        (0.5, 0.9999999946, 1.000000005),
        (1.0, 0.9856162386, 1.014383772),
        (1.5, 0.7772014764, 1.223417968),
        (2.0, 0.4319277807, 1.596839763),
        (2.5, 0.1752830049, 1.994726269),
    ],
)
def test_worked_extremes_of_the_sum(r, least, most):
    assert hatch_ratio([0.5, 0.0], pitch_mm=r * W, spot_mm=2 * W) == pytest.approx([least, most], rel=1e-9)


@pytest.mark.parametrize(("share", "r"), [(0.99, 0.965086), (0.95, 1.15661), (0.90, 1.28349)])
def test_worked_pitches_of_a_given_evenness(share, r):
    assert float(hatch_ratio(0.5, pitch_mm=r * W, spot_mm=2 * W)) == pytest.approx(share, abs=2e-6)


@given(r=st.floats(0.05, 20.0))
def test_the_mean_of_the_sum_over_a_pitch_is_the_mean_dose(r):
    """Energy is neither lost nor made: 2,000 even samples integrate a smooth periodic function far below 1e-9."""
    u = (np.arange(2000) + 0.5) / 2000
    assert float(hatch_ratio(u, pitch_mm=r, spot_mm=2.0).mean()) == pytest.approx(1.0, abs=1e-9)


# --- one line -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("x_mm", "dose"), [(0.0, 0.159577), (0.05, 0.0967883), (0.1, 0.0215964)])
def test_worked_doses_of_one_line(x_mm, dose):
    assert float(line_dose_j_mm2(x_mm, power_w=10, speed_mm_s=500, spot_mm=2 * W)) == pytest.approx(dose, rel=1e-5)


@given(x=st.floats(-0.3, 0.3), power=st.floats(0.1, 100.0), speed=st.floats(1.0, 2000.0), spot=st.floats(0.05, 0.4))
def test_line_dose_is_the_irradiance_integrated_over_time(x, power, speed, spot):
    w = spot / 2

    def irradiance(t):
        return 2 * power / (math.pi * w * w) * math.exp(-2 * (x * x + (speed * t) ** 2) / w**2)

    reach = 8 * w / speed
    theirs, _ = integrate.quad(irradiance, -reach, reach, points=[0.0], epsrel=1e-11)
    assert float(line_dose_j_mm2(x, power_w=power, speed_mm_s=speed, spot_mm=spot)) == pytest.approx(theirs, rel=1e-8)


def test_energy_across_a_line_is_power_over_speed():
    def dose(x):
        return float(line_dose_j_mm2(x, power_w=10, speed_mm_s=500, spot_mm=2 * W))

    assert integrate.quad(dose, -1, 1, points=[0.0])[0] == pytest.approx(0.02, rel=1e-9)


def test_worked_widths():
    threshold = threshold_power_w(clearing_dose_j_mm2=0.05, speed_mm_s=500, spot_mm=2 * W)
    assert threshold == pytest.approx(3.13329, rel=1e-5)
    widths = [
        line_width_mm(power_w=power, speed_mm_s=500, spot_mm=2 * W, clearing_dose_j_mm2=0.05)
        for power in (4, 6, 10, 20, 40)
    ]
    assert widths == pytest.approx([0.0698874, 0.113989, 0.152348, 0.192544, 0.22569], rel=1e-5)


@given(power=st.floats(0.1, 100.0), spot=st.floats(0.05, 0.4), dose=st.floats(0.01, 2.0))
def test_width_is_where_the_dose_falls_to_the_threshold(power, spot, dose):
    width = line_width_mm(power_w=power, speed_mm_s=500, spot_mm=spot, clearing_dose_j_mm2=dose)
    axis, edge = line_dose_j_mm2([0.0, width / 2], power_w=power, speed_mm_s=500, spot_mm=spot)
    if width:
        assert edge == pytest.approx(dose, rel=1e-9)
    else:
        assert axis <= dose * (1 + 1e-12)


@pytest.mark.parametrize(("ratio", "width_over_w"), [(math.exp(0.5), 1.0), (math.exp(2.0), 2.0)])
def test_width_at_round_multiples_of_the_threshold(ratio, width_over_w):
    threshold = threshold_power_w(clearing_dose_j_mm2=0.05, speed_mm_s=500, spot_mm=2 * W)
    width = line_width_mm(power_w=threshold * ratio, speed_mm_s=500, spot_mm=2 * W, clearing_dose_j_mm2=0.05)
    assert width == pytest.approx(width_over_w * W, rel=1e-12)
    assert line_width_mm(power_w=threshold, speed_mm_s=500, spot_mm=2 * W, clearing_dose_j_mm2=0.05) == 0.0


# --- spots --------------------------------------------------------------------------------------------------------


def test_spot_is_the_second_moment_width_of_iso_11146():
    """D4σ of the cross-section that the line dose implies: 4 sqrt(second moment) = spot."""

    def dose(x):
        return float(line_dose_j_mm2(x, power_w=1, speed_mm_s=1, spot_mm=0.137))

    norm = integrate.quad(dose, -1, 1, points=[0.0])[0]
    moment = integrate.quad(lambda x: x * x * dose(x), -1, 1, points=[0.0])[0] / norm
    assert 4 * math.sqrt(moment) == pytest.approx(0.137, rel=1e-9)


def test_spot_is_1_699_times_the_width_at_half_height():
    axis, half = line_dose_j_mm2([0.0, 0.137 / 1.69864 / 2], power_w=1, speed_mm_s=1, spot_mm=0.137)
    assert half / axis == pytest.approx(0.5, rel=1e-5)


def test_spot_holds_86_5_percent_of_the_power():
    w = 0.0685
    inside, _ = integrate.quad(lambda r: 4 * r / w**2 * math.exp(-2 * (r / w) ** 2), 0, w)
    assert inside == pytest.approx(1 - math.exp(-2), rel=1e-9)

    def strip(x):
        return float(line_dose_j_mm2(x, power_w=1, speed_mm_s=1, spot_mm=2 * w))

    # a line's dose within ±w is the power within a strip, erf(√2): more than within the disc
    assert integrate.quad(strip, -w, w)[0] == pytest.approx(math.erf(math.sqrt(2)), rel=1e-9)


@pytest.mark.parametrize(
    ("diameter", "spot_um"), [(4, 171.404), (6, 114.269), (8, 85.7018), (10, 68.5614), (12, 57.1345)]
)
def test_worked_spots(diameter, spot_um):
    spot = focused_spot_mm(wavelength_um=10.6, focal_length_mm=50.8, input_diameter_mm=diameter)
    assert spot == pytest.approx(spot_um / 1000, rel=1e-5)


def test_worked_spot_of_the_starting_profile_and_its_depth_of_focus():
    spot = focused_spot_mm(wavelength_um=10.6, focal_length_mm=50.8, input_diameter_mm=6, beam_quality_m2=1.2)
    assert spot == pytest.approx(0.137123, rel=1e-5)
    spot = focused_spot_mm(wavelength_um=10.6, focal_length_mm=50.8, input_diameter_mm=8, beam_quality_m2=1.2)
    depth = 2 * rayleigh_range_mm(spot_mm=spot, wavelength_um=10.6, beam_quality_m2=1.2)
    assert depth == pytest.approx(1.30609, rel=1e-5)


def test_spot_grows_with_defocus_as_a_gaussian_beam_does():
    z = rayleigh_range_mm(spot_mm=0.137, wavelength_um=10.6, beam_quality_m2=1.2)
    for share, growth in ((0.0, 1.0), (0.320156, 1.05), (1.0, 1.41421), (2.0, 2.23607)):
        spot = defocused_spot_mm(spot_mm=0.137, focus_mm=share * z, wavelength_um=10.6, beam_quality_m2=1.2)
        assert spot / 0.137 == pytest.approx(growth, rel=1e-5)


# --- the starting profile -----------------------------------------------------------------------------------------


def starting(lpi=600, **changes):
    return replace(Recipe(speed_mm_s=800.0, power_pct=20.0, pitch_mm=pitch_mm_from_lpi(lpi)), **changes)


def verdict(recipe):
    return fill_verdict(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)


def test_worked_figures_of_the_starting_profile():
    threshold = threshold_power_w(clearing_dose_j_mm2=0.19, speed_mm_s=800, spot_mm=0.137)
    assert threshold == pytest.approx(13.049507, rel=1e-7)
    widths = [
        cleared_width_mm(starting(power_pct=power), CO2_FLATBED, MIRRORED_ACRYLIC_3) for power in (10, 15, 20, 30, 40)
    ]
    assert widths == pytest.approx([0.0, 0.036156, 0.063301, 0.088386, 0.102527], abs=5e-7)
    assert verdict(starting()).mean_dose_j_mm2 == pytest.approx(0.590551, rel=1e-6)
    assert verdict(starting(300)).mean_dose_j_mm2 == pytest.approx(0.295276, rel=1e-5)
    assert verdict(starting(300)).wide_left_over_pct == pytest.approx(25.2350, abs=2e-3)
    assert verdict(starting(speed_mm_s=400.0)).mean_dose_j_mm2 == pytest.approx(1.18110, rel=1e-5)


def test_common_practice_on_mirrored_acrylic():
    assert verdict(starting(600)).verdict == "clean"
    assert verdict(starting(300)).verdict == "leaves lines"
    assert verdict(starting(600, speed_mm_s=400.0)).verdict == "frosts"
    assert verdict(starting(600, power_pct=5.0)).verdict == "not reached"
