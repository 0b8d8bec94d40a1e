"""The same recipe at other pitches, judged by the same draws."""

from dataclasses import replace

import pytest

from core.burning.beam import fill_verdict
from core.burning.machines import CO2_FLATBED
from core.job.other_pitches import COMPARED_LPI, at_other_pitches
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3

FILL = Recipe(speed_mm_s=800.0, power_pct=20.0, pitch_mm=0.1)


@pytest.fixture(scope="module")
def found():
    return at_other_pitches(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)


def test_only_the_pitch_differs_and_an_inch_holds_so_many_lines(found):
    assert [round(25.4 / one.recipe.pitch_mm) for one in found] == list(COMPARED_LPI)
    assert {replace(one.recipe, pitch_mm=0.1) for one in found} == {replace(FILL, pitch_mm=0.1)}


def test_finer_pitch_lays_more_dose_in_proportion_and_leaves_fewer_lines(found):
    doses = [one.verdict.mean_dose_j_mm2 / lpi for one, lpi in zip(found, COMPARED_LPI, strict=True)]
    assert doses == pytest.approx([doses[0]] * len(doses))  # power / (speed x pitch)
    lines = [one.chance.leaves_lines for one in found]
    assert lines == sorted(lines, reverse=True) and lines[0] > lines[-1]


def test_good_is_clean_and_sure_enough(found):
    for one in found:
        clean = fill_verdict(one.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3).verdict == "clean"
        assert one.good(0.0) == clean
        assert not one.good(one.chance.clean + 1e-9)
