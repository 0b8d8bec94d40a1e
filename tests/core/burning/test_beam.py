from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.burning.beam import cleared_width_mm, fill_verdict, power_w, spot_at_coat_mm
from core.burning.machines import CO2_FLATBED
from core.errors import JobError
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3 as STOCK

recipes = st.builds(
    Recipe,
    speed_mm_s=st.floats(1, 2000),
    power_pct=st.just(0.0) | st.floats(0.001, 100),
    pitch_mm=st.floats(0.005, 0.5),
    passes=st.integers(1, 4),
    focus_mm=st.floats(-5, 5),
)


def test_straight_power_line() -> None:
    assert power_w(CO2_FLATBED, 20) == 20.0


def test_power_table_is_interpolated_from_nothing_and_goes_on_in_proportion() -> None:
    machine = replace(CO2_FLATBED, power_table=((10.0, 4.0), (50.0, 60.0)))
    assert [power_w(machine, pct) for pct in (0, 5, 10, 30, 50, 100)] == pytest.approx([0, 2, 4, 32, 60, 120])


def test_power_table_whose_first_row_lies_under_one_percent_starts_from_nothing_too() -> None:
    machine = replace(CO2_FLATBED, power_table=((0.5, 0.2), (50.0, 40.0)))
    assert power_w(machine, 0.0) == 0.0
    assert power_w(machine, 0.25) == pytest.approx(0.1)
    assert power_w(machine, 0.5) == pytest.approx(0.2)


def test_power_table_may_start_at_a_dead_zone() -> None:
    machine = replace(CO2_FLATBED, power_table=((0.0, 0.0), (8.0, 0.0), (100.0, 92.0)))
    assert [power_w(machine, pct) for pct in (0, 8, 54, 100)] == pytest.approx([0, 0, 46, 92])


@pytest.mark.parametrize("power_pct", [-1, 101, float("nan")])
def test_power_that_can_not_be_set(power_pct: float) -> None:
    with pytest.raises(JobError, match="power"):
        power_w(CO2_FLATBED, power_pct)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"speed_mm_s": 0.0}, "speed of 0 mm/s"),
        ({"speed_mm_s": -5.0}, "speed of -5 mm/s"),
        ({"speed_mm_s": float("nan")}, "speed"),
        ({"pitch_mm": 0.0}, "pitch of 0 mm"),
        ({"pitch_mm": float("inf")}, "pitch"),
        ({"passes": 0}, "passes of 0"),
    ],
)
def test_settings_that_mean_nothing_are_named(change: dict[str, float], named: str) -> None:
    with pytest.raises(JobError, match=named):
        fill_verdict(replace(STOCK.fill, **change), CO2_FLATBED, STOCK)


def test_passes_add_to_what_frosts_and_are_not_counted_on_to_clear() -> None:
    twice = fill_verdict(replace(STOCK.fill, power_pct=10, passes=2), CO2_FLATBED, STOCK)
    once, weak = (fill_verdict(replace(STOCK.fill, power_pct=power), CO2_FLATBED, STOCK) for power in (20, 10))
    assert twice.peak_dose_j_mm2 == pytest.approx(once.peak_dose_j_mm2)
    assert twice.cleared_width_mm == weak.cleared_width_mm == 0.0
    assert "More passes are not counted on" in twice.words


@given(recipes, st.integers(2, 10))
def test_more_passes_never_turn_not_reached_or_lines_into_clean(recipe: Recipe, passes: int) -> None:
    once, often = (fill_verdict(replace(recipe, passes=n), CO2_FLATBED, STOCK) for n in (1, passes))
    assert often.verdict in (once.verdict, "frosts")


def test_ten_passes_at_2_percent_are_not_reached() -> None:
    recipe = replace(STOCK.fill, power_pct=2.0, passes=10)
    assert fill_verdict(recipe, CO2_FLATBED, STOCK).verdict == "not reached"


def test_defocus_widens_the_spot_alike_above_and_below() -> None:
    above, below = (replace(STOCK.fill, focus_mm=z) for z in (1.5, -1.5))
    assert spot_at_coat_mm(above, CO2_FLATBED) == spot_at_coat_mm(below, CO2_FLATBED) > CO2_FLATBED.spot_mm


def test_a_recipe_at_the_height_of_the_best_focus_has_the_machines_own_spot() -> None:
    lifted = replace(CO2_FLATBED, focus_offset_mm=1.5)
    assert spot_at_coat_mm(replace(STOCK.fill, focus_mm=1.5), lifted) == CO2_FLATBED.spot_mm
    assert spot_at_coat_mm(STOCK.fill, lifted) == spot_at_coat_mm(replace(STOCK.fill, focus_mm=-1.5), CO2_FLATBED)


def test_words_say_the_margins() -> None:
    words = fill_verdict(STOCK.fill, CO2_FLATBED, STOCK).words
    assert words == "Clean: cleared width 50 % over the pitch, dose 26 % below frosting."


def test_words_warn_of_the_rule_of_thumb() -> None:
    words = fill_verdict(replace(STOCK.fill, pitch_mm=25.4 / 300), CO2_FLATBED, STOCK).words
    assert "25 % of the coat stays" in words
    assert "under the spot" in words


def test_frosting_comes_first_and_lines_are_still_told() -> None:
    coarse_and_strong = replace(STOCK.fill, power_pct=100, pitch_mm=0.2)
    found = fill_verdict(coarse_and_strong, CO2_FLATBED, STOCK)
    assert found.verdict == "frosts"
    assert "Lines stay" in found.words


@given(recipes)
def test_verdict_follows_its_own_figures(recipe: Recipe) -> None:
    found = fill_verdict(recipe, CO2_FLATBED, STOCK)
    assert found.mean_dose_j_mm2 <= found.peak_dose_j_mm2 * (1 + 1e-12)
    assert found.peak_dose_j_mm2 >= recipe.passes * found.line_peak_dose_j_mm2 * (1 - 1e-12)
    assert (found.verdict == "frosts") == (found.frosting_margin_pct <= 0)
    if found.verdict == "clean":
        assert found.width_margin_pct >= 0
        assert found.wide_left_over_pct == 0
    if found.verdict == "not reached":
        assert found.cleared_width_mm == 0
        assert found.wide_left_over_pct == 100
    assert found.words


@given(recipes, st.floats(1.01, 3))
def test_slower_never_clears_less(recipe: Recipe, factor: float) -> None:
    slower = replace(recipe, speed_mm_s=recipe.speed_mm_s / factor)
    assume(slower.speed_mm_s > 0)
    widths = [cleared_width_mm(r, CO2_FLATBED, STOCK) for r in (recipe, slower)]
    assert widths[1] >= widths[0]


def test_a_pitch_a_hair_over_the_cleared_width_leaves_lines() -> None:
    width = cleared_width_mm(STOCK.fill, CO2_FLATBED, STOCK)
    verdicts = [
        fill_verdict(replace(STOCK.fill, pitch_mm=share * width), CO2_FLATBED, STOCK).verdict
        for share in (0.9999, 1.0001)
    ]
    assert verdicts == ["clean", "leaves lines"]


def test_power_tables_under_and_beyond_their_rows_by_less_than_a_percent() -> None:
    machine = replace(CO2_FLATBED, power_table=((0.5, 0.2), (50.0, 60.0)))
    assert [power_w(machine, pct) for pct in (0.0, 0.25, 0.5)] == pytest.approx([0.0, 0.1, 0.2])
    assert [power_w(machine, pct) for pct in (50.0, 50.5)] == pytest.approx([60.0, 60.6])
