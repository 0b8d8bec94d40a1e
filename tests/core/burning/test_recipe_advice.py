import itertools
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from core.burning.chance import fill_chance
from core.burning.machines import CO2_DESKTOP, CO2_FLATBED
from core.burning.recipe_advice import fastest_recipe, pitch_advice
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import scan_rows
from core.errors import Cancelled, JobError
from core.sheet.recipes import Origin
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3, STARTING_STOCKS
from core.units import pitch_mm_from_lpi

FILL = MIRRORED_ACRYLIC_3.fill
PLATE = box(10.0, 10.0, 80.0, 30.0)
SURE = replace(
    MIRRORED_ACRYLIC_3,
    figure_origins=(
        ("clearing_dose_j_mm2", Origin(kind="measured", standard_error=0.015)),
        ("frosting_dose_j_mm2", Origin(kind="measured", standard_error=0.06)),
    ),
)
"""A coat that was measured."""


def time_of(recipe, machine=CO2_FLATBED):
    rows = scan_rows(PLATE, pitch_mm=recipe.pitch_mm, angle_deg=recipe.scan_angle_deg)
    return fill_time_s(rows, recipe, machine)


def clean(recipe, stock=SURE, machine=CO2_FLATBED):
    return fill_chance(recipe, machine, stock).clean


@settings(max_examples=15, deadline=None)
@given(
    stock=st.sampled_from([SURE, *STARTING_STOCKS]),
    machine=st.sampled_from([CO2_FLATBED, CO2_DESKTOP]),
    wanted=st.sampled_from([0.6, 0.8, 0.9, 0.97]),
)
def test_whatever_is_advised_has_the_chance_wanted_or_says_that_none_has(stock, machine, wanted):
    for advise in (pitch_advice, fastest_recipe):
        advice = advise(PLATE, stock.fill, machine, stock, wanted=wanted)
        assert advice.words and advice.chance is not None
        if advice.recipe is not None:
            assert advice.chance == fill_chance(advice.recipe, machine, stock)
            assert advice.chance.clean >= wanted or "scrap" in advice.words
            assert advice.recipe.speed_mm_s <= machine.max_speed_mm_s or advise is pitch_advice
            assert advice.recipe.lines_per_inch == pytest.approx(round(advice.recipe.lines_per_inch))
            assert advice.time_s == pytest.approx(time_of(advice.recipe, machine))


def test_no_recipe_on_a_coarse_grid_is_as_sure_and_quicker():
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, SURE)
    assert advice.chance.clean >= 0.9 and advice.time_saved_s > 0
    grid = itertools.product(range(200, 1001, 200), range(10, 61, 6), range(240, 640, 40))
    trials = [replace(FILL, speed_mm_s=float(v), power_pct=float(p), pitch_mm=pitch_mm_from_lpi(n)) for v, p, n in grid]
    quicker = [trial for trial in trials if time_of(trial) < 0.97 * advice.time_s]
    assert quicker and all(clean(trial) < 0.9 for trial in quicker)


def test_with_starting_figures_none_is_sure_and_the_surest_is_given():
    """The best is short of 90 in 100 as long as nobody has burned a scrap."""
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert 0.80 < advice.chance.clean < 0.90
    assert advice.words.startswith("Surest recipe") and "scrap" in advice.words
    grid = itertools.product(range(200, 1001, 200), range(10, 61, 6), range(300, 800, 50))
    trials = [replace(FILL, speed_mm_s=float(v), power_pct=float(p), pitch_mm=pitch_mm_from_lpi(n)) for v, p, n in grid]
    assert max(clean(trial, MIRRORED_ACRYLIC_3) for trial in trials) <= advice.chance.clean + 0.01


def test_coarsest_pitch_is_the_coarsest():
    advice = pitch_advice(PLATE, FILL, CO2_FLATBED, SURE, wanted=0.85)
    assert clean(advice.recipe) >= 0.85
    coarser = [pitch_mm_from_lpi(advice.recipe.lines_per_inch - step) for step in (30, 60, 120)]
    assert all(clean(replace(FILL, pitch_mm=pitch)) < 0.85 for pitch in coarser)


def test_why_no_pitch_does_is_told():
    weak, strong = (replace(FILL, power_pct=power) for power in (5.0, 100.0))
    told = [pitch_advice(PLATE, recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3) for recipe in (weak, strong)]
    assert all(one.recipe is None and one.time_saved_s == 0.0 for one in told)
    assert "too weak" in told[0].words and "frosts the sheet" in told[1].words


def test_why_nothing_is_clean_is_told():
    narrow = replace(MIRRORED_ACRYLIC_3, frosting_dose_j_mm2=0.06)
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, narrow)
    assert advice.recipe is None and "too close together" in advice.words
    weak = replace(CO2_FLATBED, rated_power_w=0.1)
    assert "too weak" in fastest_recipe(PLATE, FILL, weak, MIRRORED_ACRYLIC_3).words


def test_a_recipe_that_is_fastest_already_is_left_alone():
    fastest = fastest_recipe(PLATE, FILL, CO2_FLATBED, SURE).recipe
    again = fastest_recipe(PLATE, fastest, CO2_FLATBED, SURE)
    assert again.recipe is None and again.time_saved_s == 0.0
    assert "no quicker" in again.words
    surest = fastest_recipe(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).recipe
    assert "no surer" in fastest_recipe(PLATE, surest, CO2_FLATBED, MIRRORED_ACRYLIC_3).words


def test_progress_can_stop_it():
    def stop(share, doing):
        raise Cancelled

    for advise in (fastest_recipe, pitch_advice):
        with pytest.raises(Cancelled):
            advise(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=stop)


def test_empty_fills_and_senseless_settings():
    assert fastest_recipe(shapely.Polygon(), FILL, CO2_FLATBED, CLEAR_ACRYLIC_3).words
    with pytest.raises(JobError):
        pitch_advice(PLATE, replace(FILL, pitch_mm=0.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)
