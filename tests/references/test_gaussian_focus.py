"""Focus of a Gaussian beam.

Sources: A. E. Siegman, Lasers, University Science Books 1986, ch. 17; H. Kogelnik, T. Li, Laser Beams and Resonators,
Appl. Opt. 5, 1550 (1966), both for d = 4 M² λ f / (π D) and z_R = π d² / (4 M² λ). Figures computed from these
formulas by hand and checked with a second program; formulas quoted from memory of the sources.
"""

import math

import numpy as np
import pytest
from scipy import integrate, optimize

from core.burning.beam import defocused_spot_mm, focused_spot_mm, line_dose_j_mm2, rayleigh_range_mm


@pytest.mark.parametrize(
    ("wavelength_um", "focal_length_mm", "m2", "input_mm", "spot_um"),
    [
        (10.6, 50.8, 1.0, 6, 114.269),
        (10.6, 50.8, 1.0, 4, 171.404),
        (10.6, 50.8, 1.0, 8, 85.7018),
        (10.6, 50.8, 1.0, 10, 68.5614),
        (10.6, 50.8, 1.0, 12, 57.1345),
        (10.6, 50.8, 1.2, 6, 137.123),
        (10.6, 50.8, 1.2, 8, 102.842),
        (10.6, 50.8, 1.2, 10, 82.2737),
        (10.6, 50.8, 1.2, 12, 68.5614),
        (1.06, 100.0, 1.3, 5, 35.0905),
        (1.06, 100.0, 1.3, 7.5, 23.3937),
        (1.06, 100.0, 1.3, 10, 17.5452),
        (0.455, 30.0, 1.0, 4, 4.34493),
        (0.455, 30.0, 10.0, 4, 43.4493),
    ],
)
def test_spot_of_a_lens(
    wavelength_um: float, focal_length_mm: float, m2: float, input_mm: float, spot_um: float
) -> None:
    spot_mm = focused_spot_mm(
        wavelength_um=wavelength_um, focal_length_mm=focal_length_mm, input_diameter_mm=input_mm, beam_quality_m2=m2
    )
    assert spot_mm * 1000 == pytest.approx(spot_um, rel=1e-5)


@pytest.mark.parametrize(
    ("wavelength_um", "focal_length_mm", "m2", "input_mm", "depth_mm"),
    [
        (10.6, 50.8, 1.0, 6, 1.93496),
        (10.6, 50.8, 1.0, 8, 1.08841),
        (10.6, 50.8, 1.0, 10, 0.696584),
        (10.6, 50.8, 1.0, 12, 0.483739),
        (10.6, 50.8, 1.2, 8, 1.30609),
        (1.06, 100.0, 1.3, 5, 1.40362),
        (1.06, 100.0, 1.3, 7.5, 0.623831),
        (1.06, 100.0, 1.3, 10, 0.350905),
    ],
)
def test_depth_of_focus_is_twice_the_rayleigh_range(
    wavelength_um: float, focal_length_mm: float, m2: float, input_mm: float, depth_mm: float
) -> None:
    spot_mm = focused_spot_mm(
        wavelength_um=wavelength_um, focal_length_mm=focal_length_mm, input_diameter_mm=input_mm, beam_quality_m2=m2
    )
    z_r = rayleigh_range_mm(spot_mm=spot_mm, wavelength_um=wavelength_um, beam_quality_m2=m2)
    assert 2 * z_r == pytest.approx(depth_mm, rel=1e-5)


def test_spot_grows_with_defocus() -> None:
    beam = {"wavelength_um": 10.6, "beam_quality_m2": 1.2}
    z_r = rayleigh_range_mm(spot_mm=0.137, **beam)
    growth = {
        z: defocused_spot_mm(spot_mm=0.137, focus_mm=z * z_r, **beam) / 0.137 for z in (0.0, 0.320156, 1.0, -1.0, 2.0)
    }
    assert growth == pytest.approx({0.0: 1.0, 0.320156: 1.05, 1.0: 1.41421, -1.0: 1.41421, 2.0: 2.23607}, rel=1e-5)


def test_beam_width_is_four_sigma() -> None:
    """ISO 11146-1, second moments: the beam width is 4 σ, which for a Gaussian is its 1/e² diameter."""
    x = np.linspace(-1, 1, 20_001)
    dose = line_dose_j_mm2(x, power_w=10, speed_mm_s=500, spot_mm=0.2)
    assert 4 * math.sqrt(float((dose * x * x).sum() / dose.sum())) == pytest.approx(0.2, rel=1e-9)


def test_width_at_half_maximum() -> None:
    """Encyclopaedia article "Beam diameter": 2w = 1.699 FWHM."""
    peak = line_dose_j_mm2(0.0, power_w=10, speed_mm_s=500, spot_mm=0.2)
    half = optimize.brentq(
        lambda x: float(line_dose_j_mm2(x, power_w=10, speed_mm_s=500, spot_mm=0.2) - peak / 2), 0, 0.2
    )
    assert 0.2 / (2 * half) == pytest.approx(1.69864, rel=1e-5)
    assert 2 * half / 0.2 == pytest.approx(0.588705, rel=1e-5)


def _irradiance_w_mm2(r_mm: float, power_w: float, w_mm: float) -> float:
    """Siegman, ch. 17: 2P/(πw²) exp(-2r²/w²)."""
    return 2 * power_w / (math.pi * w_mm**2) * math.exp(-2 * (r_mm / w_mm) ** 2)


def test_irradiance_that_the_line_dose_comes_from() -> None:
    assert _irradiance_w_mm2(0.0, 50, 0.1) == pytest.approx(3183.1, rel=1e-5)
    for radius_mm, share in ((0.1, 0.864665), (0.1 * math.sqrt(math.log(2) / 2), 0.5)):
        inside, _ = integrate.quad(lambda r: _irradiance_w_mm2(r, 1.0, 0.1) * 2 * math.pi * r, 0, radius_mm)
        assert inside == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize("x_mm", [0.0, 0.05, 0.1])
def test_line_dose_is_the_time_integral_of_the_irradiance(x_mm: float) -> None:
    dose, _ = integrate.quad(
        lambda t: _irradiance_w_mm2(math.hypot(x_mm, 500 * t), 10, 0.1), -2e-3, 2e-3, epsabs=1e-14, points=[0]
    )
    assert float(line_dose_j_mm2(x_mm, power_w=10, speed_mm_s=500, spot_mm=0.2)) == pytest.approx(dose, rel=1e-9)
