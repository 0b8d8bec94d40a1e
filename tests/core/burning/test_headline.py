from dataclasses import replace
from types import SimpleNamespace

import pytest

from core.burning.beam import fill_verdict
from core.burning.chance import Chance
from core.burning.headline import headline
from core.burning.machines import CO2_FLATBED
from core.sheet.stock import MIRRORED_ACRYLIC_3

CLEAN = fill_verdict(MIRRORED_ACRYLIC_3.fill, CO2_FLATBED, MIRRORED_ACRYLIC_3)
SURE = Chance(clean=0.95, leaves_lines=0.03, frosts=0.02, not_reached=0.0)
UNSURE = Chance(clean=0.79, leaves_lines=0.13, frosts=0.08, not_reached=0.0)


def told(verdict=CLEAN, chance=SURE, *, lost=0, left_mm2=0.0, hairlines=0):
    figures = SimpleNamespace(lost_features=lost, left_over_mm2=left_mm2, hairlines=hairlines, hits_all_share=0.37)
    return headline(verdict, chance, figures, area_mm2=100.0, stock=MIRRORED_ACRYLIC_3, wanted=0.9)


def test_a_sure_and_whole_fill_is_clean():
    assert told().good and told().words == "Comes off clean: 95 in 100"
    assert headline(CLEAN, None, None, area_mm2=1.0, stock=MIRRORED_ACRYLIC_3, wanted=0.9).words == "Comes off clean"


@pytest.mark.parametrize("case", [{"lost": 1}, {"left_mm2": 1.2}, {"lost": 3, "left_mm2": 5.0}])
def test_clean_never_leads_what_does_not_come_out(case):
    for chance in (SURE, UNSURE):
        found = told(chance=chance, **case)
        assert not found.good and found.words.startswith("Does not all come out")
    assert told(left_mm2=0.9).good  # within the stock's limit of one per cent


def test_a_chance_below_what_is_wanted_stands_with_the_verdict():
    assert not told(chance=UNSURE).good
    assert told(chance=UNSURE).words == "Clean at the best figures, but only 79 in 100 (90 wanted)"
    coarse = fill_verdict(replace(MIRRORED_ACRYLIC_3.fill, pitch_mm=0.085), CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert told(coarse, UNSURE).words == "Leaves lines of coat; clean 79 in 100"


def test_hairlines_lost_are_told_with_how_often_the_rows_hit_them_all():
    words = told(lost=2, hairlines=2).words
    assert words.startswith("Does not all come out: 2 features are lost (rows hit every hairline in 37 of 100 places")
