"""The threshold fit beside a general library and worked numbers.

Method: J. M. Liu, Simple technique for measurements of pulsed Gaussian-beam spot sizes, Optics Letters 7 (1982) 196:
squared width against the logarithm of the power is a straight line of slope 2 w². The worked set (widths of five lines,
invented and regressed apart from this program with numpy.polyfit) checks the arithmetic, not the physics.
"""

import numpy as np
import pytest
from scipy import optimize, stats

from core.burning.calibration import LineWidth, fit_threshold, student_t_975

POWERS_W = np.array([5.0, 8.0, 12.0, 20.0, 30.0])
WIDTHS_MM = np.array([0.100, 0.140, 0.165, 0.195, 0.215])
SPEED = 500.0


def our_fit():
    lines = [LineWidth(power_w=p, width_mm=w) for p, w in zip(POWERS_W, WIDTHS_MM, strict=True)]
    return fit_threshold(lines, speed_mm_s=SPEED)


def test_worked_set():
    fit = our_fit()
    assert fit.slope_mm2 == pytest.approx(0.0202029, rel=1e-5)
    assert fit.intercept_mm2 == pytest.approx(-0.0225779, rel=1e-5)
    assert fit.spot_mm.value / 2 == pytest.approx(0.100506, rel=1e-5)
    assert fit.threshold_power_w == pytest.approx(3.05738, rel=1e-5)
    assert fit.r_squared == pytest.approx(0.999751, rel=1e-5)
    assert fit.clearing_dose_j_mm2.value == pytest.approx(0.0485432, rel=1e-5)


def test_straight_line_and_its_errors_agree_with_scipy_linregress():
    theirs = stats.linregress(np.log(POWERS_W), WIDTHS_MM**2)
    ours = our_fit()
    assert ours.slope_mm2 == pytest.approx(theirs.slope, rel=1e-10)
    assert ours.intercept_mm2 == pytest.approx(theirs.intercept, rel=1e-10)
    assert ours.r_squared == pytest.approx(theirs.rvalue**2, rel=1e-10)
    # spot = sqrt(2 slope), so its error is the slope's over the spot
    assert ours.spot_mm.standard_error == pytest.approx(theirs.stderr / ours.spot_mm.value, rel=1e-10)


def test_figures_and_their_errors_agree_with_scipy_curve_fit():
    """curve_fit is given the physics itself, spot and dose as its unknowns, and finds them by its own way."""

    def square_width(power_w, spot_mm, dose):
        w = spot_mm / 2
        return 2 * w**2 * np.log(power_w / (dose * SPEED * w * np.sqrt(np.pi / 2)))

    found, covariance = optimize.curve_fit(square_width, POWERS_W, WIDTHS_MM**2, p0=(0.15, 0.04))
    ours = our_fit()
    assert (ours.spot_mm.value, ours.clearing_dose_j_mm2.value) == pytest.approx(tuple(found), rel=1e-6)
    errors = (ours.spot_mm.standard_error, ours.clearing_dose_j_mm2.standard_error)
    assert errors == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-4)


@pytest.mark.parametrize("freedom", [*range(1, 31), 31, 45, 100, 1000])
def test_student_t_agrees_with_scipy(freedom):
    assert student_t_975(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), rel=3e-4)
