"""Decisions about finishing: what changes, and what must stay."""

from dataclasses import replace

import pytest

from core.errors import JobError, UnreadableError
from core.finishing.paints import BARE, Finishing, MaskOptions, Workday, starting_paint
from core.job.job import Job
from core.job.painting.colouring import paints_of_shapes
from core.job.painting.decisions import (
    adopted,
    with_backing,
    with_bond,
    with_masks,
    with_new_paint,
    with_order,
    with_paint,
    with_paint_of,
    with_pieces,
    with_workday,
)
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from tests.core.finishing.layouts import plan_of, svg_of

LAYOUT = [(0, 2.0, 2.0, 20.0, 20.0), (1, 24.0, 2.0, 16.0, 20.0), (1, 4.0, 30.0, 30.0, 8.0)]


def plan() -> Plan:
    return plan_of(svg_of(LAYOUT))


def after(before: Plan, job: Job) -> Plan:
    return replace(before, job=job)


def test_adopting_suggestions_changes_nothing_that_is_painted() -> None:
    before = plan()
    paint_of, paints = paints_of_shapes(before)
    finishing = adopted(before)
    assert set(finishing.paints) == set(paints)
    assert paints_of_shapes(after(before, replace(before.job, finishing=finishing))) == (paint_of, paints)
    assert adopted(after(before, replace(before.job, finishing=finishing))) == finishing


def test_a_shape_gets_another_paint_or_none() -> None:
    before = plan()
    paint_of, _ = paints_of_shapes(before)
    first, second, third = paint_of
    job = with_paint_of(before, [third], paint_of[first])
    assert paints_of_shapes(after(before, job))[0] == paint_of | {third: paint_of[first]}
    job = with_paint_of(after(before, job), [second, third], BARE)
    assert paints_of_shapes(after(before, job))[0] == {first: paint_of[first], second: BARE, third: BARE}
    with pytest.raises(JobError):
        with_paint_of(before, [first], "no such paint")


def test_a_paint_keeps_its_areas_when_colour_and_name_change() -> None:
    before = plan()
    name = paint_plan(before).order[0]
    paint = next(one for one in adopted(before).paints if one.name == name)
    changed = replace(paint, name="mine", colour="#ff0000", coats=5)
    job = with_paint(after(before, with_order(before, paint_plan(before).order)), name, changed)
    planned = paint_plan(after(before, job))
    assert planned.order[0] == "mine"
    assert planned.steps[0].area.paint == changed
    assert job.finishing.order[0] == "mine"
    with pytest.raises(UnreadableError):
        with_paint(before, name, replace(paint, coats=0))
    with pytest.raises(UnreadableError):
        with_paint(before, name, replace(paint, name=paint_plan(before).order[1]))
    with pytest.raises(JobError):
        with_paint(before, "nobody", changed)


def test_a_new_paint_for_some_shapes() -> None:
    before = plan()
    shape = next(iter(paints_of_shapes(before)[0]))
    job = with_new_paint(before, [shape], "#abcdef")
    planned = paints_of_shapes(after(before, job))
    assert planned[0][shape] == "new paint"
    assert any(paint.colour == "#abcdef" for paint in planned[1])
    job = with_new_paint(after(before, job), [shape], "#abcdef")
    assert paints_of_shapes(after(before, job))[0][shape] == "new paint 2"


def test_a_backing_joins_the_paints_of_the_job() -> None:
    before = plan()
    name = paint_plan(before).order[0]
    white = starting_paint("white", "#ffffff")
    backed = after(before, with_backing(before, name, white))
    assert white in backed.job.finishing.paints
    assert next(step for step in paint_plan(backed).steps if step.area.paint.name == name).area.paint.backing == "white"
    assert set(paint_plan(backed).order) == set(paint_plan(before).order)
    freed = after(before, with_backing(backed, name, None))
    assert all(step.area.paint.backing_coats == 0 for step in paint_plan(freed).steps)


def test_own_order_and_back_to_the_cheapest() -> None:
    before = plan()
    names = paint_plan(before).order[::-1]
    own = after(before, with_order(before, names))
    assert paint_plan(own).order == names
    assert with_order(own, ()).finishing.order == ()


def test_other_decisions_are_checked() -> None:
    job = plan().job
    assert with_masks(job, MaskOptions(bleed_mm=1.0)).finishing.masks.bleed_mm == 1.0
    assert with_pieces(job, 3).finishing.pieces == 3
    assert with_workday(job, Workday(opens_h=9.0)).finishing.workday.opens_h == 9.0
    assert with_bond(job, joint="laminate", adhesive="transfer tape").finishing.joint == "laminate"
    assert with_bond(job, joint="", adhesive="").finishing == Finishing()
    for wrong in (
        lambda: with_masks(job, MaskOptions(clearance_mm=-1.0)),
        lambda: with_pieces(job, 0),
        lambda: with_workday(job, Workday(opens_h=20.0, closes_h=8.0)),
    ):
        with pytest.raises(UnreadableError):
            wrong()
