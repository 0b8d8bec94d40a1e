"""The starting profile against the trade's common practice (no source).

At 800 mm/s and 20 % on a mirror's back coat, 300 LPI leaves lines and 600 LPI is clean; half the speed frosts. The
profile's doses are invented to agree with that; figures follow from the models in test_cleared_width and
test_hatch_dose.
"""

from dataclasses import replace

import pytest

from core.burning.beam import cleared_width_mm, fill_verdict, threshold_power_w
from core.burning.machines import CO2_FLATBED
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.units import pitch_mm_from_lpi

FILL = MIRRORED_ACRYLIC_3.fill


def test_threshold_power() -> None:
    assert threshold_power_w(clearing_dose_j_mm2=0.19, speed_mm_s=800, spot_mm=0.137) == pytest.approx(
        13.049507, rel=1e-7
    )


@pytest.mark.parametrize(
    ("power_pct", "width_mm"), [(10, 0.0), (15, 0.036156), (20, 0.063301), (30, 0.088386), (40, 0.102527)]
)
def test_cleared_width(power_pct: float, width_mm: float) -> None:
    recipe = replace(FILL, power_pct=power_pct)
    assert cleared_width_mm(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3) == pytest.approx(width_mm, abs=6e-7)


@pytest.mark.parametrize(
    ("lines_per_inch", "speed_mm_s", "power_pct", "verdict", "mean_dose"),
    [
        (600, 800, 20, "clean", 0.590551),
        (300, 800, 20, "leaves lines", 0.295276),
        (600, 400, 20, "frosts", 1.18110),
        (600, 800, 5, "not reached", 0.147638),
    ],
)
def test_verdict(lines_per_inch: float, speed_mm_s: float, power_pct: float, verdict: str, mean_dose: float) -> None:
    recipe = replace(FILL, pitch_mm=pitch_mm_from_lpi(lines_per_inch), speed_mm_s=speed_mm_s, power_pct=power_pct)
    found = fill_verdict(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert found.verdict == verdict
    assert found.mean_dose_j_mm2 == pytest.approx(mean_dose, rel=1e-5)


def test_share_left_over_by_300_lines_an_inch() -> None:
    recipe = replace(FILL, pitch_mm=pitch_mm_from_lpi(300))
    found = fill_verdict(recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert found.wide_left_over_pct / 100 == pytest.approx(0.252350, abs=1e-6)
    assert found.pitch_under_spot  # the rule of thumb passes what leaves lines
