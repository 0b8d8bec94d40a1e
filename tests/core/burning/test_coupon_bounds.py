"""Bounds of a dose from looks, held against the closed form of a Gaussian line."""

import math

import pytest

from core.burning.coupon_bounds import Bounds, clearing_bounds, doubts, line_doses
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3


@pytest.fixture(scope="module")
def patches():
    return make_coupon("speed-power", MIRRORED_ACRYLIC_3, CO2_FLATBED).patches


def test_a_lines_doses_are_those_of_a_gaussian_beam():
    """Dose on the axis sqrt(2 / pi) P / (w v), falling as exp(-2 y² / w²); w the 1/e² radius (ISO 11146-1)."""
    recipe = Recipe(speed_mm_s=500.0, power_pct=30.0, pitch_mm=0.08, passes=2)
    axis, midway = line_doses(recipe, CO2_FLATBED)
    radius_mm = CO2_FLATBED.spot_mm / 2
    assert midway / axis == pytest.approx(math.exp(-2 * (0.04 / radius_mm) ** 2))
    once, _ = line_doses(Recipe(speed_mm_s=500.0, power_pct=30.0, pitch_mm=0.08), CO2_FLATBED)
    assert axis == pytest.approx(2 * once)


def test_looks_bound_the_clearing_dose_from_their_side(patches):
    ranked = sorted(patches, key=lambda one: line_doses(one.recipe, CO2_FLATBED)[1])
    weak, strong = ranked[0], ranked[-1]
    found = clearing_bounds([(weak, "leaves lines"), (strong, "clean")], CO2_FLATBED)
    assert found.low == line_doses(weak.recipe, CO2_FLATBED)[1] and found.low_label == weak.label
    assert found.high == min(line_doses(weak.recipe, CO2_FLATBED)[0], line_doses(strong.recipe, CO2_FLATBED)[1])
    crossed = clearing_bounds([(strong, "not reached"), (weak, "clean")], CO2_FLATBED)
    assert crossed.contradicted and [one.code for one in doubts(crossed, "clearing")] == ["patches-contradict"]


@pytest.mark.parametrize(
    ("bounds", "code"),
    [
        (Bounds(low=1.0, low_label="A1"), "one-sided"),
        (Bounds(high=1.0, high_label="A1"), "one-sided"),
        (Bounds(low=1.0, high=2.0), "wide-bounds"),
        (Bounds(low=1.0, high=1.2), None),
        (Bounds(), None),
    ],
)
def test_doubts_name_what_more_patches_would_tell(bounds, code):
    assert [one.code for one in doubts(bounds, "clearing")] == ([code] if code else [])
