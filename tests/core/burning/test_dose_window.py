from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.burning.beam import cleared_width_mm, fill_verdict, hatch_ratio, power_w, spot_at_coat_mm
from core.burning.dose_window import (
    REGIONS,
    clean_energy_j_mm,
    dose_window,
    frosting_pitch_mm,
    line_energy_j_mm,
    peak_ratio,
    power_pct_for,
    remedies,
)
from core.burning.machines import CO2_FLATBED
from core.errors import JobError
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, STARTING_STOCKS

FILL = MIRRORED_ACRYLIC_3.fill
TABLE = ((10.0, 14.0), (20.0, 26.0), (50.0, 55.0), (80.0, 78.0))
FAST = replace(CO2_FLATBED, max_speed_mm_s=2000.0)
MACHINES = (FAST, replace(FAST, power_table=TABLE, spot_mm=0.2))

recipes = st.builds(
    Recipe,
    speed_mm_s=st.floats(50.0, 1000.0),
    power_pct=st.floats(1.0, 100.0),
    pitch_mm=st.floats(0.01, 0.2),
    passes=st.integers(1, 3),
    focus_mm=st.floats(-1.5, 1.5),
)
machines = st.sampled_from(MACHINES)
stocks = st.sampled_from(STARTING_STOCKS)


@pytest.mark.parametrize("axis", ["speed", "power"])
@pytest.mark.parametrize("machine", MACHINES)
def test_every_cell_of_the_plot_is_the_verdict_on_that_recipe(axis, machine):
    window = dose_window(FILL, machine, MIRRORED_ACRYLIC_3, axis=axis, shape=(23, 31))
    assert {REGIONS[code] for code in np.unique(window.regions)} == set(REGIONS)
    for row, value in enumerate(window.values):
        own = {"speed_mm_s": value} if axis == "speed" else {"power_pct": value}
        for column, pitch in enumerate(window.pitch_mm):
            recipe = replace(FILL, pitch_mm=pitch, **own)
            verdict = fill_verdict(recipe, machine, MIRRORED_ACRYLIC_3).verdict
            assert REGIONS[window.regions[row, column]] == verdict, recipe


@given(recipe=recipes, machine=machines, stock=stocks)
def test_the_curves_part_the_verdicts(recipe, machine, stock):
    window = dose_window(recipe, machine, stock, shape=(7, 5))
    spot_mm = spot_at_coat_mm(recipe, machine)
    for value in window.values:
        at = replace(recipe, speed_mm_s=value)
        energy = power_w(machine, recipe.power_pct) * recipe.passes / value
        widest = cleared_width_mm(at, machine, stock)
        narrowest = frosting_pitch_mm(energy, spot_mm=spot_mm, frosting_dose_j_mm2=stock.frosting_dose_j_mm2)

        def verdict(pitch, at=at):
            return fill_verdict(replace(at, pitch_mm=pitch), machine, stock).verdict

        if narrowest < np.inf:
            assert verdict(narrowest * (1 - 1e-5)) == "frosts" != verdict(narrowest * (1 + 1e-5))
        if narrowest * (1 + 2e-5) < widest:
            assert verdict(widest * (1 - 1e-9)) == "clean" and verdict(widest * (1 + 1e-5)) == "leaves lines"


@given(recipe=recipes, machine=machines, stock=stocks)
def test_energy_range_is_where_the_verdict_is_clean(recipe, machine, stock):
    low, high = clean_energy_j_mm(recipe, machine, stock)
    energy = line_energy_j_mm(recipe, machine)
    verdict = fill_verdict(recipe, machine, stock).verdict
    if min(abs(energy / low - 1), abs(energy / high - 1)) > 1e-9:
        assert (low < energy < high) == (verdict == "clean")


@given(recipe=recipes, machine=machines, stock=stocks)
def test_each_remedy_changes_one_setting_and_is_clean(recipe, machine, stock):
    before = fill_verdict(recipe, machine, stock).verdict
    found = remedies(recipe, machine, stock)
    if before == "clean":
        assert found == ()
    fields = {"pitch": "pitch_mm", "speed": "speed_mm_s", "power": "power_pct", "focus": "focus_mm"}
    for remedy in found:
        value = getattr(remedy.recipe, fields[remedy.setting])
        assert remedy.low <= value <= remedy.high
        assert replace(recipe, **{fields[remedy.setting]: value}) == remedy.recipe
        assert fill_verdict(remedy.recipe, machine, stock).verdict == "clean"
        if remedy.setting != "focus" and remedy.low < remedy.high * (1 - 1e-4):
            for end in (remedy.low * (1 + 1e-5), remedy.high * (1 - 1e-5)):
                at_end = replace(recipe, **{fields[remedy.setting]: end})
                assert fill_verdict(at_end, machine, stock).verdict == "clean"


def test_remedies_of_the_starting_recipe_gone_wrong():
    def settings_for(**changes):
        return {remedy.setting for remedy in remedies(replace(FILL, **changes), CO2_FLATBED, MIRRORED_ACRYLIC_3)}

    assert settings_for(pitch_mm=25.4 / 300) == {"pitch", "speed", "power"}
    assert settings_for(speed_mm_s=400.0) == {"pitch", "speed", "power"}
    assert settings_for(power_pct=5.0) == {"speed", "power"}
    assert settings_for(focus_mm=2.0) >= {"focus"}
    assert settings_for() == set()


def test_remedies_are_told_in_settings_that_a_machine_takes():
    wrong = replace(FILL, pitch_mm=25.4 / 300, focus_mm=0.7)
    found = {one.setting: one.recipe for one in remedies(wrong, CO2_FLATBED, MIRRORED_ACRYLIC_3)}
    assert set(found) == {"pitch", "speed", "power"}
    assert found["pitch"].lines_per_inch == pytest.approx(round(found["pitch"].lines_per_inch), abs=1e-9)
    assert found["speed"].speed_mm_s == round(found["speed"].speed_mm_s)
    assert found["power"].power_pct == round(found["power"].power_pct, 1)


def test_what_can_not_be_set_is_no_remedy():
    too_fast = replace(FILL, speed_mm_s=5_000.0)
    assert {one.setting for one in remedies(too_fast, CO2_FLATBED, MIRRORED_ACRYLIC_3)} == {"speed"}
    crawling = remedies(replace(FILL, speed_mm_s=0.01), CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert {one.setting for one in crawling} == {"speed"} and "now 0.01 mm/s" in crawling[0].words


def test_contours_are_the_pitches_of_equal_time():
    def time_of(recipe):
        return 100.0 / (recipe.speed_mm_s * recipe.pitch_mm)

    window = dose_window(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, shape=(11, 9), time_of=time_of)
    for row, value in enumerate(window.values):
        for column, pitch in enumerate(window.pitch_mm):
            at = replace(FILL, speed_mm_s=value, pitch_mm=pitch)
            assert window.time_s[row, column] == pytest.approx(time_of(at))
    for time, pitches in zip((5.0, 20.0), window.time_contours((5.0, 20.0)), strict=True):
        for value, pitch in zip(window.values, pitches, strict=True):
            assert time_of(replace(FILL, speed_mm_s=value, pitch_mm=pitch)) == pytest.approx(time)
    assert dose_window(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).time_contours((5.0,)) == ()


def test_peak_ratio_table_is_true_to_the_sum():
    ratios = np.geomspace(0.02, 25.0, 700)
    exact = [float(hatch_ratio(0.0, pitch_mm=ratio, spot_mm=2.0)) for ratio in ratios]
    assert peak_ratio(ratios) == pytest.approx(exact, rel=2e-6)


@given(energy=st.floats(1e-4, 1.0), spot=st.floats(0.03, 0.5), frosting=st.floats(0.1, 5.0))
def test_frosting_pitch_peaks_at_the_frosting_dose(energy, spot, frosting):
    pitch = float(frosting_pitch_mm(energy, spot_mm=spot, frosting_dose_j_mm2=frosting))
    if pitch == np.inf:
        assert energy / (spot / 2) * np.sqrt(2 / np.pi) >= frosting
    elif pitch < 14.0 * spot:  # beyond, lines no longer touch and the sum is one line's, whatever the pitch
        peak = energy / pitch * float(hatch_ratio(0.0, pitch_mm=pitch, spot_mm=spot))
        assert peak == pytest.approx(frosting, rel=5e-6)


@given(machine=machines, watts=st.floats(0.1, 95.0))
def test_power_setting_gives_the_watts(machine, watts):
    assert power_w(machine, power_pct_for(machine, watts)) == pytest.approx(watts, rel=1e-9)
    assert power_pct_for(machine, 1e6) == 100.0


def test_senseless_settings_are_refused():
    with pytest.raises(JobError):
        dose_window(replace(FILL, speed_mm_s=0.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)


def test_least_energy_of_several_passes_clears_in_each_of_them():
    recipe = replace(MIRRORED_ACRYLIC_3.fill, passes=3)
    once, often = (
        clean_energy_j_mm(one, CO2_FLATBED, MIRRORED_ACRYLIC_3) for one in (replace(recipe, passes=1), recipe)
    )
    assert often[0] == pytest.approx(3 * once[0])
    assert often[1] == pytest.approx(once[1])
