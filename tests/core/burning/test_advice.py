from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from core.burning.advice import (
    Margins,
    angle_advice,
    coarsest_pitch,
    edge_inset_figures,
    fastest_recipe,
    pitch_advice,
    scan_angle_times,
    thin_parts,
)
from core.burning.beam import cleared_width_mm, fill_verdict
from core.burning.machines import CO2_DESKTOP, CO2_FLATBED
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import scan_rows
from core.errors import Cancelled, JobError
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3, STARTING_STOCKS

FILL = MIRRORED_ACRYLIC_3.fill
PLATE = box(10.0, 10.0, 80.0, 30.0)


def time_of(region, recipe, machine=CO2_FLATBED):
    rows = scan_rows(
        region, pitch_mm=recipe.pitch_mm, angle_deg=recipe.scan_angle_deg, edge_inset_mm=recipe.edge_inset_mm
    )
    return fill_time_s(rows, recipe, machine)


def keeps(recipe, machine, stock, margins):
    """Whether the recipe is clean on a coat tougher and a sheet tenderer by the margin."""
    worst = replace(
        stock,
        clearing_dose_j_mm2=stock.clearing_dose_j_mm2 * (1 + margins.dose),
        frosting_dose_j_mm2=stock.frosting_dose_j_mm2 / (1 + margins.dose),
    )
    return fill_verdict(recipe, machine, worst).verdict == "clean"


def test_starting_recipe_gets_a_clean_one_that_is_faster():
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert advice.verdict.verdict == "clean"
    assert keeps(advice.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3, Margins())
    assert advice.time_s < time_of(PLATE, FILL)
    assert advice.time_s == pytest.approx(time_of(PLATE, advice.recipe))
    assert advice.time_saved_s == pytest.approx(time_of(PLATE, FILL) - advice.time_s)


@settings(max_examples=40)
@given(
    stock=st.sampled_from(STARTING_STOCKS),
    machine=st.sampled_from([CO2_FLATBED, CO2_DESKTOP]),
    dose=st.floats(0.0, 0.6),
    gap_chance=st.floats(1e-6, 0.3),
)
def test_whatever_is_advised_keeps_the_margins(stock, machine, dose, gap_chance):
    margins = Margins(dose=dose, gap_chance=gap_chance)
    for advise in (pitch_advice, fastest_recipe):
        advice = advise(PLATE, stock.fill, machine, stock, margins=margins)
        assert advice.words
        if advice.recipe is not None:
            assert keeps(advice.recipe, machine, stock, margins)
            assert advice.recipe.speed_mm_s <= machine.max_speed_mm_s or advise is pitch_advice
            assert advice.recipe.lines_per_inch == pytest.approx(round(advice.recipe.lines_per_inch))


def test_no_recipe_on_a_fine_grid_beats_the_fastest():
    """Brute force over speeds, powers and pitches, each judged by the verdict itself."""
    margins = Margins(dose=0.1, gap_chance=0.5)  # no placement allowance, so that the verdict alone decides
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, margins=margins)
    best = min(
        (
            time_of(PLATE, trial)
            for speed in range(100, 1001, 100)
            for power in range(5, 101, 5)
            for lpi in range(200, 700, 20)
            for trial in [replace(FILL, speed_mm_s=float(speed), power_pct=float(power), pitch_mm=25.4 / lpi)]
            if keeps(trial, CO2_FLATBED, MIRRORED_ACRYLIC_3, margins)
        ),
    )
    assert advice.time_s <= best * 1.002


def test_coarsest_pitch_is_the_edge_of_what_keeps_the_margins():
    margins = Margins(dose=0.1, gap_chance=0.5)
    widest, narrowest = coarsest_pitch(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, margins=margins)
    for pitch, kept in (
        (widest * 0.9999, True),
        (widest * 1.0001, False),
        (narrowest * 1.0001, True),
        (narrowest * 0.9999, False),
    ):
        assert keeps(replace(FILL, pitch_mm=pitch), CO2_FLATBED, MIRRORED_ACRYLIC_3, margins) is kept
    stricter, _ = coarsest_pitch(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, margins=replace(margins, gap_chance=0.001))
    assert stricter < widest


def test_why_no_pitch_does_is_told():
    weak, strong = (replace(MIRRORED_ACRYLIC_3.fill, power_pct=power) for power in (5.0, 100.0))
    told = [pitch_advice(PLATE, recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3) for recipe in (weak, strong)]
    assert all(one.recipe is None for one in told)
    assert "a line bares too little" in told[0].words and "frosting dose" in told[1].words


def test_coarse_pitch_that_leaves_lines_is_told_what_would_not():
    coarse = replace(FILL, pitch_mm=25.4 / 300)
    advice = pitch_advice(PLATE, coarse, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert advice.verdict.verdict == "clean"
    assert advice.time_saved_s < 0  # it costs time, and says so


def test_why_nothing_is_clean_is_told():
    narrow = replace(MIRRORED_ACRYLIC_3, frosting_dose_j_mm2=0.2)
    advice = fastest_recipe(PLATE, FILL, CO2_FLATBED, narrow)
    assert advice.recipe is None and "too close together" in advice.words
    weak = replace(CO2_FLATBED, rated_power_w=0.1)
    assert "too weak" in fastest_recipe(PLATE, FILL, weak, MIRRORED_ACRYLIC_3).words
    loose = replace(CO2_FLATBED, line_error_mm=0.08)
    assert "may part by" in fastest_recipe(PLATE, FILL, loose, MIRRORED_ACRYLIC_3).words
    assert "no pitch keeps" in pitch_advice(PLATE, FILL, loose, MIRRORED_ACRYLIC_3).words


def test_a_recipe_that_is_fastest_already_is_left_alone():
    fastest = fastest_recipe(PLATE, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).recipe
    again = fastest_recipe(PLATE, fastest, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert again.recipe is None and again.time_saved_s == 0.0
    assert "no quicker" in again.words


def test_angle_of_least_time_is_the_least_of_all_tried():
    slanted = shapely.affinity.rotate(box(0.0, 0.0, 120.0, 8.0), 25.0)
    times = scan_angle_times(slanted, FILL, CO2_FLATBED)
    assert any(abs(item.angle_deg - 25.0) < 0.2 for item in times)
    assert [item.time_s for item in times] == sorted(item.time_s for item in times)
    best = times[0]
    assert best.time_s == pytest.approx(time_of(slanted, replace(FILL, scan_angle_deg=best.angle_deg)))
    for item in times:
        exact = time_of(slanted, replace(FILL, scan_angle_deg=item.angle_deg))
        assert item.time_s == pytest.approx(exact, rel=0.05)
        assert best.time_s <= exact * 1.05
    advice = angle_advice(slanted, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    if advice.recipe:
        assert advice.time_saved_s == pytest.approx(time_of(slanted, FILL) - advice.time_s)


THIN = shapely.union_all([PLATE, LineString([(20.0, 50.0), (60.0, 80.0)]).buffer(0.02)])


def test_thin_parts_are_placed_measured_and_helped():
    (thin,) = thin_parts(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    cleared = cleared_width_mm(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert thin.width_mm == pytest.approx(0.04, rel=0.01)
    assert thin.length_mm == pytest.approx(50.0, rel=0.01)
    assert THIN.distance(Point(thin.x_mm, thin.y_mm)) == pytest.approx(0.0, abs=1e-9)
    thicker = shapely.union_all(
        [PLATE, LineString([(20.0, 50.0), (60.0, 80.0)]).buffer(0.02 + thin.thicken_by_mm / 2 * 1.01)]
    )
    assert thin_parts(thicker, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) == ()
    assert fill_verdict(thin.finer, CO2_FLATBED, MIRRORED_ACRYLIC_3).verdict == "clean"
    assert cleared_width_mm(thin.finer, CO2_FLATBED, MIRRORED_ACRYLIC_3) == pytest.approx(thin.width_mm, rel=1e-6)
    sharp = replace(CO2_FLATBED, spot_mm=thin.spot_mm)
    threshold_kept = replace(FILL, power_pct=FILL.power_pct * thin.spot_mm / CO2_FLATBED.spot_mm)
    assert cleared_width_mm(threshold_kept, sharp, MIRRORED_ACRYLIC_3) == pytest.approx(thin.width_mm, rel=1e-6)
    assert f"{cleared - thin.width_mm:.3f} mm" in thin.words


def test_edge_inset_takes_much_of_the_spill_away_and_keeps_thin_parts():
    figures = edge_inset_figures(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert figures.recipe.edge_inset_mm == pytest.approx(cleared_width_mm(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) / 2)
    assert figures.after.spill_mm2 < 0.6 * figures.before.spill_mm2
    assert figures.after.lost_features == figures.before.lost_features == 1
    assert figures.after.unhit_parts == 0


def test_progress_can_stop_it():
    def stop(share, doing):
        raise Cancelled

    for work in (fastest_recipe, angle_advice, thin_parts, edge_inset_figures):
        with pytest.raises(Cancelled):
            work(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=stop)


def test_empty_fills_and_senseless_settings():
    empty = shapely.Polygon()
    assert fastest_recipe(empty, FILL, CO2_FLATBED, CLEAR_ACRYLIC_3).words
    assert angle_advice(empty, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).recipe is None
    assert thin_parts(empty, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) == ()
    with pytest.raises(JobError):
        pitch_advice(PLATE, replace(FILL, pitch_mm=0.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)
