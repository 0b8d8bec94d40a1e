"""What the maker decides: jobs in, jobs out; ticks that a decision makes out of date are taken back."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.drawing import ArtworkSource
from core.errors import JobError, UnreadableError
from core.geometry.affine import apply, inverse
from core.job.cautions import RUN_SHEET_GOES_ALONG as ALONG
from core.job.cautions import cautions_for
from core.job.decisions import (
    aligned,
    alike,
    is_starting_recipe,
    layer_of_id,
    moved,
    moved_to,
    placed_bounds_mm,
    rotated,
    sheet_to_fit,
    with_machine,
    with_new_layer,
    with_recipe,
    with_repair,
    with_sheet,
    with_starting_recipe,
    with_stock,
    with_stop_corner,
    with_tick,
    with_turn,
    without_layer,
)
from core.job.job import new_job, with_overrides
from core.job.prepare import plan_steps
from core.sheet.placement import Sheet
from core.sheet.stock import BACK_PAINTED_ACRYLIC_3, MIRRORED_GLASS_4

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="flag" d="M10 5h20l-8 10 8 10h-20z"/><path id="line" d="M5 30h50" fill="none" stroke="#000" stroke-width=".1"/>
<path id="other" d="M40 5h10v10h-10z"/></svg>"""
JOB = new_job(ArtworkSource(name="flag.svg", data=ART))
millimetres = st.floats(-500, 500, allow_nan=False)
angles = st.floats(-720, 720, allow_nan=False)


def first_plan(job):
    """The job's plan without coverage and run time."""
    return next(iter(plan_steps(job)))


def all_ticked(job):
    return replace(job, cautions_ticked=frozenset(caution.code for caution in cautions_for(job)))


# --- placing ---------------------------------------------------------------------------------------------------------


@given(millimetres, millimetres)
def test_moving_moves_just_so_far(dx_mm, dy_mm):
    plan = first_plan(JOB)
    before, after = placed_bounds_mm(plan), placed_bounds_mm(first_plan(moved(plan, dx_mm, dy_mm)))
    expected = (before[0] + dx_mm, before[1] + dy_mm, before[2] + dx_mm, before[3] + dy_mm)
    assert after == pytest.approx(expected, abs=1e-6)


@given(angles, millimetres, millimetres)
def test_rotating_keeps_the_point_in_the_middle_where_it_is(angle_deg, x_mm, y_mm):
    plan = first_plan(moved_to(first_plan(JOB), x_mm, y_mm))
    x0, y0, x1, y1 = placed_bounds_mm(plan)
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    in_drawing = apply(inverse(plan.drawing_to_front), middle)
    there = first_plan(rotated(plan, angle_deg))
    assert apply(there.drawing_to_front, in_drawing) == pytest.approx(middle, abs=1e-6)
    assert math.cos(math.radians(there.job.placement.rotation_deg - angle_deg)) == pytest.approx(1)


@pytest.mark.parametrize("quarter_turns", range(1, 5))
def test_quarter_turns_about_the_middle(quarter_turns):
    plan = first_plan(moved_to(first_plan(JOB), 20, 30))
    x0, y0, x1, y1 = placed_bounds_mm(plan)
    for _ in range(quarter_turns):
        plan = first_plan(rotated(plan, plan.job.placement.rotation_deg + 90))
    a0, b0, a1, b1 = placed_bounds_mm(plan)
    assert ((a0 + a1) / 2, (b0 + b1) / 2) == pytest.approx(((x0 + x1) / 2, (y0 + y1) / 2), abs=1e-6)
    sides = (x1 - x0, y1 - y0) if quarter_turns % 2 == 0 else (y1 - y0, x1 - x0)
    assert (a1 - a0, b1 - b0) == pytest.approx(sides, abs=1e-6)


@pytest.mark.parametrize("across", ["left", "middle", "right"])
@pytest.mark.parametrize("down", ["top", "middle", "bottom"])
def test_aligning_puts_it_to_that_side_with_the_margin(across, down):
    plan = first_plan(aligned(first_plan(JOB), across, down, margin_mm=5))
    x0, y0, x1, y1 = placed_bounds_mm(plan)
    width_mm, height_mm = plan.job.sheet.width_mm, plan.job.sheet.height_mm
    at_across = {"left": x0 - 5, "middle": (x0 + x1 - width_mm) / 2, "right": x1 - width_mm + 5}
    at_down = {"top": y0 - 5, "middle": (y0 + y1 - height_mm) / 2, "bottom": y1 - height_mm + 5}
    assert (at_across[across], at_down[down]) == pytest.approx((0, 0), abs=1e-6)
    assert plan.job.placement.centred is (across == down == "middle")


def test_a_sheet_made_to_fit_holds_everything_with_its_margin():
    plan = first_plan(sheet_to_fit(first_plan(JOB), margin_mm=10))
    x0, y0, x1, y1 = placed_bounds_mm(plan)
    assert min(x0, y0, plan.job.sheet.width_mm - x1, plan.job.sheet.height_mm - y1) >= 10 - 1e-9
    assert plan.job.sheet.width_mm < x1 - x0 + 22


def test_guides_do_not_count_as_burned():
    plan = first_plan(with_overrides(JOB, [shape.id for shape in first_plan(JOB).drawing.shapes], "guide"))
    assert placed_bounds_mm(plan) is None
    assert sheet_to_fit(plan) is plan.job and aligned(plan, "left", "top") is plan.job


@pytest.mark.parametrize("sides", [(0, 10, 3), (10, -1, 3), (10, 10, 0), (math.nan, 10, 3), (math.inf, 10, 3)])
def test_a_sheet_without_a_size_is_turned_down(sides):
    with pytest.raises(UnreadableError):
        with_sheet(JOB, Sheet(width_mm=sides[0], height_mm=sides[1], thickness_mm=sides[2]))


# --- ticks -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("decide", "taken_back"),
    [
        (lambda job: with_turn(job, "endways"), {"right-face", "back-up", ALONG}),
        (lambda job: with_stop_corner(job, "bottom right"), {"right-face", ALONG}),
        (lambda job: with_sheet(job, replace(job.sheet, width_mm=250)), {"film", ALONG}),
        (lambda job: with_recipe(job, "fill", replace(job.stock.fill, speed_mm_s=700)), {"scrap", ALONG}),
        (
            lambda job: with_recipe(job, "fill", replace(job.stock.fill, air="high")),
            {"scrap", "air-and-extraction", ALONG},
        ),
    ],
)
def test_a_decision_takes_back_the_ticks_that_it_makes_out_of_date(decide, taken_back):
    job = all_ticked(JOB)
    assert job.cautions_ticked - decide(job).cautions_ticked == taken_back


def test_another_stock_takes_all_ticks_back_and_brings_its_recipes_and_thickness():
    job = with_stock(
        with_recipe(all_ticked(JOB), "fill", replace(JOB.stock.fill, power_pct=50)), BACK_PAINTED_ACRYLIC_3
    )
    assert job.cautions_ticked == frozenset()
    assert layer_of_id(job, "fill").recipe == BACK_PAINTED_ACRYLIC_3.fill
    assert with_stock(job, MIRRORED_GLASS_4).sheet.thickness_mm == MIRRORED_GLASS_4.thickness_mm


def test_another_machine_keeps_the_recipes_but_not_the_word_that_they_are_proven():
    job = with_machine(all_ticked(JOB), replace(JOB.machine, name="another"))
    assert job.layers == JOB.layers and "scrap" not in job.cautions_ticked


def test_a_tick_goes_in_and_out():
    assert with_tick(with_tick(JOB, "film", True), "film", False) == JOB


# --- recipes, layers, repairs ----------------------------------------------------------------------------------------


def test_a_recipe_set_by_hand_says_so_and_goes_back():
    job = with_recipe(JOB, "cut", replace(JOB.stock.cut, speed_mm_s=9))
    assert layer_of_id(job, "cut").recipe.origin.kind == "set by hand"
    assert not is_starting_recipe(job, layer_of_id(job, "cut"))
    assert layer_of_id(with_starting_recipe(job, "cut"), "cut") == layer_of_id(JOB, "cut")


def test_a_layer_of_their_own_and_away_with_it():
    one = with_new_layer(JOB, "fill", ["s1"])
    two = with_new_layer(one, "fill", ["s3"])
    ids = [layer.id for layer in two.layers]
    assert ids[:3] == ["fill", "fill-2", "fill-3"] and len({layer.colour for layer in two.layers}) == len(two.layers)
    assert dict(two.overrides) == {"s1": "fill-2", "s3": "fill-3"}
    assert without_layer(without_layer(two, "fill-2"), "fill-3") == JOB


@pytest.mark.parametrize("layer_id", ["fill", "cut", "score", "guide"])
def test_the_last_layer_of_a_purpose_stays(layer_id):
    with pytest.raises(JobError):
        without_layer(JOB, layer_id)


def test_repairs_are_kept_once_in_the_order_they_were_accepted():
    job = with_repair(with_repair(with_repair(JOB, "join-ends", True), "drop-off-page", True), "join-ends", True)
    assert job.repairs == ("drop-off-page", "join-ends")
    assert with_repair(job, "drop-off-page", False).repairs == ("join-ends",)


def test_alike_means_same_layer_paint_and_stroke():
    plan = first_plan(JOB)
    of = {shape.label: shape.id for shape in plan.drawing.shapes}
    assert alike(plan, frozenset({of["flag"]})) == {of["flag"], of["other"]}
    assert alike(plan, frozenset({of["line"]})) == {of["line"]}
    assert alike(plan, frozenset()) == frozenset()
