"""Best focus and Rayleigh range from lines at several heights, found again from lines of a known beam.

Beam: H. Kogelnik, T. Li, Laser beams and resonators, Appl. Opt. 5 (1966) 1550. Widths: J. M. Liu, Opt. Lett. 7 (1982)
196, carried over to a scanned line; the dose across it integrated here numerically, by itself.
"""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, optimize

from core.burning.coupon_reading import read_coupon, with_learned
from core.burning.coupon_seen import CouponReading, GapSeen, WidthSeen
from core.burning.coupons import make_coupon
from core.burning.focus_fit import fit_focus
from core.burning.machines import CO2_FLATBED
from core.errors import UnreadableError
from core.sheet.stock import MIRRORED_ACRYLIC_3

SPOT, BEST, M2, DOSE = 0.15, 0.4, 1.5, 0.21
MADE = make_coupon("focus-ladder", MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=120, height_mm=60)


def width_of(recipe):
    """Where the time integral of the moving beam's irradiance falls to the clearing dose."""
    radius = SPOT / 2
    rayleigh = math.pi * radius**2 / (M2 * 10.6e-3)
    w = radius * math.sqrt(1 + ((recipe.focus_mm - BEST) / rayleigh) ** 2)

    def dose(x):
        def irradiance(t):
            return (
                2 * recipe.power_pct / (math.pi * w * w) * math.exp(-2 * (x * x + (recipe.speed_mm_s * t) ** 2) / w**2)
            )

        return integrate.quad(irradiance, -4 * w / recipe.speed_mm_s, 4 * w / recipe.speed_mm_s)[0]

    return 2 * optimize.brentq(lambda x: dose(x) - DOSE, 0, 3 * w) if dose(0.0) > DOSE else 0.0


WIDTHS = tuple(WidthSeen(label=patch.label, width_mm=width_of(patch.recipe)) for patch in MADE.patches)


def test_the_beam_is_found_again_from_its_lines():
    fit = fit_focus([(MADE.patch(one.label).recipe, one.width_mm) for one in WIDTHS], CO2_FLATBED)
    assert fit.offset_mm.value == pytest.approx(BEST, abs=0.01)
    assert fit.spot_mm.value == pytest.approx(SPOT, rel=0.01)
    assert fit.m2.value == pytest.approx(M2, rel=0.02)
    assert fit.rayleigh_mm.value == pytest.approx(math.pi * (SPOT / 2) ** 2 / (M2 * 10.6e-3), rel=0.02)


def test_intervals_hold_the_truth_of_lines_read_with_errors():
    random, held = np.random.default_rng(1), 0
    for _ in range(40):
        lines = [
            (MADE.patch(one.label).recipe, max(1e-4, one.width_mm + 0.002 * random.normal()))
            for one in WIDTHS
            if one.width_mm
        ]
        fit = fit_focus(lines, CO2_FLATBED)
        held += fit.offset_mm.low <= BEST <= fit.offset_mm.high
    assert held >= 35


def test_the_machine_learns_its_focus_and_beam_quality():
    learned = read_coupon(MADE, CouponReading(code=MADE.code, read="2024-06-01", widths=WIDTHS))
    _, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=MADE.code, date="2024-06-01")
    assert machine.focus_offset_mm == pytest.approx(BEST, abs=0.02)
    assert machine.beam_quality_m2 == pytest.approx(M2, rel=0.03)
    assert learned.spot_mm.low < SPOT < learned.spot_mm.high


def test_a_ladder_beside_the_focus_is_refused():
    far = [(replace(patch.recipe, focus_mm=patch.recipe.focus_mm + 6.0), 0.05) for patch in MADE.patches]
    with pytest.raises(UnreadableError):
        fit_focus(far, CO2_FLATBED)
    with pytest.raises(UnreadableError, match="too few"):
        fit_focus(far[:4], CO2_FLATBED)


def test_strips_pushed_together_give_the_kerf():
    """Each cut of the frame takes the kerf once: the gap is what the frame is wider than all its strips."""
    made = make_coupon("kerf-strips", MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=80, height_mm=40)
    (patch,) = made.patches
    kerf = 0.173
    cuts = [patch.width_mm * k / patch.strips for k in range(patch.strips + 1)]
    frame = (cuts[-1] + kerf / 2) - (cuts[0] - kerf / 2)
    strips = sum((right - kerf / 2) - (left + kerf / 2) for left, right in itertools.pairwise(cuts))
    learned = read_coupon(made, CouponReading(code=made.code, gaps=(GapSeen(label="A1", gap_mm=frame - strips),)))
    assert learned.kerf_mm.value == pytest.approx(kerf)
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="")
    assert stock.kerf_mm == pytest.approx(kerf)
    for gap in (0.0, -1.0, math.nan, 99.0):
        with pytest.raises(UnreadableError):
            read_coupon(made, CouponReading(code=made.code, gaps=(GapSeen(label="A1", gap_mm=gap),)))
