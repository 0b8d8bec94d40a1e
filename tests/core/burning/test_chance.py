from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.burning.chance import Chance, chance_words, fill_chance, in_hundred, limits, spots_at_coat_mm
from core.burning.contours import contour
from core.burning.machines import CO2_DESKTOP, CO2_FLATBED
from core.burning.unknowns import FIGURES, beliefs_of, draws_of, with_figure
from core.errors import JobError
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, STARTING_STOCKS

FILL = MIRRORED_ACRYLIC_3.fill
recipes = st.builds(
    Recipe,
    speed_mm_s=st.floats(0.1, 5000.0),
    power_pct=st.just(0.0) | st.floats(0.001, 100.0),
    pitch_mm=st.floats(0.004, 2.0),
    passes=st.integers(1, 20),
    focus_mm=st.floats(-10.0, 10.0),
)


@settings(max_examples=25)
@given(recipe=recipes, machine=st.sampled_from([CO2_FLATBED, CO2_DESKTOP]), stock=st.sampled_from(STARTING_STOCKS))
def test_shares_add_to_one_and_come_again(recipe, machine, stock):
    chance = fill_chance(recipe, machine, stock)
    shares = (chance.clean, chance.leaves_lines, chance.frosts, chance.not_reached)
    assert sum(shares) == 1.0 and min(shares) >= 0.0
    assert fill_chance(recipe, machine, stock) == chance
    assert chance.words.startswith("clean ")


@settings(max_examples=30)
@given(recipe=recipes, s=st.sampled_from([0.0, 0.52, 0.995, 1.0]))
def test_a_line_reaches_before_it_clears(recipe, s):
    draws = draws_of(beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3), CO2_FLATBED, count=256)
    draws = replace(draws, coat_s=np.full(256, s), sheet_s=np.full(256, s))
    found = limits(recipe, CO2_FLATBED, draws)
    assert (found.clear >= found.reach).all() and (found.reach > 0).all() and (found.frost > 0).all()


def test_more_power_never_leaves_more_lines_and_never_frosts_less():
    found = [fill_chance(replace(FILL, power_pct=float(p)), CO2_FLATBED, MIRRORED_ACRYLIC_3) for p in range(5, 100, 5)]
    assert [one.frosts for one in found] == sorted(one.frosts for one in found)
    unclear = [one.leaves_lines + one.not_reached for one in found]
    assert unclear == sorted(unclear, reverse=True)
    assert found[0].not_reached > 0.95 and found[-1].frosts > 0.95


def test_words():
    chance = Chance(clean=0.83, leaves_lines=0.04, frosts=0.13, not_reached=0.0, matters_most="frosting dose")
    assert chance_words(chance) == "clean 83 in 100; lines 4; frosts 13; the frosting dose matters most"
    assert (in_hundred(0.001), in_hundred(0.999), in_hundred(0.0), in_hundred(1.0)) == (
        "under 1",
        "over 99",
        "0",
        "100",
    )


def test_nothing_matters_where_nothing_is_in_doubt():
    hot = fill_chance(replace(FILL, power_pct=100.0, speed_mm_s=10.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert hot.frosts == 1.0 and hot.matters_most is None and "matters" not in hot.words


def test_a_power_out_of_range_is_told():
    with pytest.raises(JobError):
        fill_chance(replace(FILL, power_pct=101.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)


@given(level=st.floats(0.05, 0.95), slope=st.floats(-3, 3), rise=st.floats(-3, 3))
def test_contours_lie_where_a_plane_has_the_level(level, slope, rise):
    rows, columns = np.mgrid[0:7, 0:9]
    values = 0.5 + slope * (columns - 4) / 9 + rise * (rows - 3) / 7
    for row, column in contour(values, level).reshape(-1, 2):
        assert 0.5 + slope * (column - 4) / 9 + rise * (row - 3) / 7 == pytest.approx(level, abs=1e-9)


def test_contour_of_a_hill_is_closed():
    y, x = np.mgrid[-1:1:41j, -1:1:41j]
    ends = contour(np.exp(-3 * (x**2 + y**2)), 0.5).reshape(-1, 2).round(9)
    _, counts = np.unique(ends, axis=0, return_counts=True)
    assert len(ends) and (counts == 2).all()


def test_draws_at_the_height_of_the_best_focus_have_their_own_spots():
    lifted = replace(CO2_FLATBED, focus_offset_mm=1.5, focus_error_mm=0.0)
    draws = draws_of(beliefs_of(lifted, MIRRORED_ACRYLIC_3), lifted)
    assert spots_at_coat_mm(replace(FILL, focus_mm=1.5), lifted, draws) == pytest.approx(draws.spot_mm)
    assert (spots_at_coat_mm(FILL, lifted, draws) > draws.spot_mm).all()


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", FIGURES)
@pytest.mark.parametrize("error", [1e308, 1e9, -1.0, 5e-324, float("inf"), float("nan")])
def test_any_standard_error_that_a_file_may_bring_leaves_a_chance(name, error):
    def doubtful(profile):
        return with_figure(profile, name, getattr(profile, name), Origin(kind="measured", standard_error=error))

    of_machine = name == "spot_mm"
    machine = doubtful(CO2_FLATBED) if of_machine else CO2_FLATBED
    stock = MIRRORED_ACRYLIC_3 if of_machine else doubtful(MIRRORED_ACRYLIC_3)
    chance = fill_chance(FILL, machine, stock)
    assert 0.0 <= chance.clean <= 1.0
