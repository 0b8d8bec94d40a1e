import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.burning.beam import line_width_mm
from core.burning.calibration import LineWidth, fit_threshold
from core.errors import UnreadableError

SPEED, SPOT, DOSE = 800.0, 0.137, 0.19
POWERS = (15.0, 17.5, 20.0, 25.0, 30.0, 40.0)


def exact_widths(powers=POWERS, *, spot_mm=SPOT, dose=DOSE, speed=SPEED):
    return [
        LineWidth(
            power_w=power,
            width_mm=line_width_mm(power_w=power, speed_mm_s=speed, spot_mm=spot_mm, clearing_dose_j_mm2=dose),
        )
        for power in powers
    ]


def codes(fit):
    return {finding.code for finding in fit.findings}


@given(spot_mm=st.floats(0.03, 0.4), dose=st.floats(0.01, 3.0), speed=st.floats(5.0, 3000.0), lift=st.floats(1.05, 3.0))
def test_exact_widths_give_back_spot_and_dose(spot_mm, dose, speed, lift):
    threshold_w = dose * speed * spot_mm / 2 * math.sqrt(math.pi / 2)
    powers = threshold_w * lift * np.array([1.0, 1.3, 1.7, 2.3, 3.0])
    fit = fit_threshold(exact_widths(powers, spot_mm=spot_mm, dose=dose, speed=speed), speed_mm_s=speed)
    assert fit.spot_mm.value == pytest.approx(spot_mm, rel=1e-9)
    assert fit.clearing_dose_j_mm2.value == pytest.approx(dose, rel=1e-9)
    assert fit.threshold_power_w == pytest.approx(threshold_w, rel=1e-9)
    middle = exact_widths(powers[2:3], spot_mm=spot_mm, dose=dose, speed=speed)[0]
    assert fit.fitted_width_mm(middle.power_w) == pytest.approx(middle.width_mm)
    assert fit.fitted_width_mm(threshold_w * 0.9) == 0.0


@pytest.mark.parametrize("noise_mm", [0.001, 0.003, 0.006])
@pytest.mark.parametrize("lines_each", [1, 3])
def test_known_figures_lie_inside_the_stated_interval_nine_times_in_ten(noise_mm, lines_each):
    random = np.random.default_rng(20240611)
    true = exact_widths(POWERS * lines_each)
    inside_spot = inside_dose = 0
    for _ in range(400):
        noisy = [
            LineWidth(power_w=line.power_w, width_mm=abs(line.width_mm + random.normal(0.0, noise_mm))) for line in true
        ]
        fit = fit_threshold(noisy, speed_mm_s=SPEED)
        inside_spot += fit.spot_mm.low <= SPOT <= fit.spot_mm.high
        inside_dose += fit.clearing_dose_j_mm2.low <= DOSE <= fit.clearing_dose_j_mm2.high
    # an honest 95 % interval gives 380 ± 4.4 of 400
    assert inside_spot >= 360
    assert inside_dose >= 360


def test_two_passes_count_twice():
    one = fit_threshold(exact_widths(), speed_mm_s=SPEED)
    two = fit_threshold(exact_widths(), speed_mm_s=SPEED, passes=2)
    assert two.clearing_dose_j_mm2.value == pytest.approx(2 * one.clearing_dose_j_mm2.value)


def test_too_few_lines_are_refused_in_words():
    with pytest.raises(UnreadableError, match="Fewer than three line widths"):
        fit_threshold(exact_widths((20.0, 30.0)), speed_mm_s=SPEED)
    with pytest.raises(UnreadableError, match="One power is too few"):
        fit_threshold(exact_widths((20.0, 20.0, 20.0)), speed_mm_s=SPEED)
    with pytest.raises(UnreadableError, match="too few"):  # two of them bared nothing
        fit_threshold(exact_widths((5.0, 10.0, 20.0, 30.0)), speed_mm_s=SPEED)


def test_lines_that_do_not_widen_are_refused():
    widths = [LineWidth(power_w=power, width_mm=0.1 - power / 1000) for power in POWERS]
    with pytest.raises(UnreadableError, match="do not get wider"):
        fit_threshold(widths, speed_mm_s=SPEED)


@pytest.mark.parametrize(("power", "width"), [(0.0, 0.1), (math.nan, 0.1), (10.0, -0.1), (10.0, math.inf)])
def test_senseless_readings_are_refused(power, width):
    with pytest.raises(UnreadableError):
        fit_threshold([*exact_widths(), LineWidth(power_w=power, width_mm=width)], speed_mm_s=SPEED)


def test_good_readings_raise_no_doubts():
    random = np.random.default_rng(3)
    noisy = [
        LineWidth(power_w=line.power_w, width_mm=line.width_mm + random.normal(0, 1e-4)) for line in exact_widths()
    ]
    fit = fit_threshold([LineWidth(power_w=10.0, width_mm=0.0), *noisy], speed_mm_s=SPEED)
    assert codes(fit) == set()
    assert fit.r_squared > 0.99
    assert len(fit.residuals_mm2) == len(fit.widths) == len(POWERS)


def test_scatter_is_told():
    random = np.random.default_rng(4)
    noisy = [
        LineWidth(power_w=line.power_w, width_mm=abs(line.width_mm + random.normal(0, 0.02))) for line in exact_widths()
    ]
    assert "scattered-readings" in codes(fit_threshold(noisy, speed_mm_s=SPEED))


def test_one_odd_line_is_named():
    random = np.random.default_rng(5)
    lines = [
        LineWidth(power_w=line.power_w, width_mm=line.width_mm + random.normal(0, 3e-4)) for line in exact_widths()
    ]
    lines[3] = LineWidth(power_w=25.0, width_mm=lines[3].width_mm + 0.03)
    fit = fit_threshold(lines, speed_mm_s=SPEED)
    (odd,) = [finding for finding in fit.findings if finding.code == "odd-reading"]
    assert "25 W" in odd.message


def test_close_powers_few_readings_and_a_missing_line_are_told():
    lines = [*exact_widths((20.0, 22.0, 24.0)), LineWidth(power_w=23.0, width_mm=0.0)]
    assert codes(fit_threshold(lines, speed_mm_s=SPEED)) == {"powers-too-close", "line-missing", "few-readings"}
