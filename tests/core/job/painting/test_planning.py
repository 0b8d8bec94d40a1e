"""The whole paint plan: every area gets its own colour first, whatever the layout, order and paints."""

from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import Cancelled, UnreadableError
from core.finishing.paints import BARE, Finishing, MaskOptions, Paint, starting_paint
from core.finishing.steps import PaintPlan, front_view
from core.geometry.engine import united
from core.job.painting.colouring import paints_of_shapes
from core.job.painting.planning import paint_plan, painted_region
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.output.opening import open_job
from tests.core.finishing.layouts import COLOURS, boxes, plan_of, svg_of

SPECK_MM2 = 2e-5
SAMPLES = Path(__file__).parents[4] / "sample_jobs"
THREE = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 30.0, 30.0, 8.0)]


def assert_every_area_gets_its_own_colour_first(painting: PaintPlan, masks: MaskOptions) -> None:
    """Spray step after step and look from the front."""
    coloured = painting.colouring
    painted = shapely.MultiPolygon()
    for step in painting.steps:
        landed = painted_region(step, masks, coloured.outline) if step.opening is None else step.opening
        own = step.area.region
        assert own.difference(landed).area < SPECK_MM2
        assert own.intersection(painted).area < SPECK_MM2, "another colour came first"
        assert landed.intersection(coloured.bare).area < SPECK_MM2, "a bare area was painted"
        painted = united([painted, landed])
    assert coloured.filled.difference(united([painted, coloured.bare])).area < SPECK_MM2


@settings(max_examples=12)
@given(boxes(colours=4, most=10), st.permutations(range(4)), st.booleans())
def test_random_layouts_in_any_order(layout, order, film_stays_on: bool) -> None:
    masks = MaskOptions(film_stays_on=film_stays_on)
    plan = plan_of(svg_of(layout))
    names = [paint.name for paint in paints_of_shapes(plan)[1]]
    wanted = tuple(names[i] for i in order if i < len(names))
    chosen = Finishing(order=wanted, masks=masks)
    painting = paint_plan(plan_of(svg_of(layout), chosen))
    assert painting.effort_min >= painting.best_effort_min - 1e-9
    assert_every_area_gets_its_own_colour_first(painting, masks)


@settings(max_examples=5)
@given(boxes(colours=3, most=8))
def test_the_best_order_is_that_of_brute_force(layout) -> None:
    plan = plan_of(svg_of(layout))
    names = [area.paint.name for area in paint_plan(plan).colouring.areas]
    costs = []
    for order in permutations(names):
        costs.append(paint_plan(plan_of(svg_of(layout), Finishing(order=order))).effort_min)
    best = paint_plan(plan)
    assert best.effort_min == pytest.approx(min(costs))
    assert best.worst_effort_min == pytest.approx(max(costs))


def test_three_colours_take_the_mask_off_the_last() -> None:
    painting = paint_plan(plan_of(svg_of(THREE)))
    assert [step.made_by for step in painting.steps] == ["knife", "knife", "none"]
    assert painting.steps[-1].opening is None
    assert painting.exact
    assert any("goes last" in reason for reason in painting.reasons)


def test_the_makers_order_wins_and_its_cost_is_told() -> None:
    plan = plan_of(svg_of(THREE))
    best = paint_plan(plan)
    names = [step.area.paint.name for step in best.steps]
    orders = {order: paint_plan(plan_of(svg_of(THREE), Finishing(order=order))) for order in permutations(names)}
    assert all(painting.order == order for order, painting in orders.items())
    dearest = max(orders.values(), key=lambda painting: painting.effort_min)
    assert dearest.effort_min == pytest.approx(best.worst_effort_min)
    assert dearest.best_order == best.order
    if dearest.effort_min > best.effort_min + 1:
        assert "than the cheapest" in dearest.reasons[0]


def test_an_order_that_names_some_colours_is_completed() -> None:
    names = paint_plan(plan_of(svg_of(THREE))).order
    painting = paint_plan(plan_of(svg_of(THREE), Finishing(order=(names[2], "no such paint"))))
    assert painting.order[0] == names[2]
    assert sorted(painting.order) == sorted(names)
    assert any(finding.code == "order-names-unused" for finding in painting.findings)


def weak_light() -> Finishing:
    navy, cream = starting_paint("navy", COLOURS[0]), replace(starting_paint("cream", COLOURS[4]), coats=1)
    return Finishing(paints=(navy, cream))


def test_a_weak_light_paint_goes_last_or_stays_covered() -> None:
    layout = [(0, 2.0, 2.0, 30.0, 30.0), (4, 40.0, 2.0, 10.0, 10.0)]
    painting = paint_plan(plan_of(svg_of(layout), weak_light()))
    assert painting.order == ("navy", "cream")
    forced = paint_plan(plan_of(svg_of(layout), replace(weak_light(), order=("cream", "navy"))))
    navy = forced.steps[1]
    assert navy.kept_off == ("cream",)
    assert navy.opening is not None
    assert navy.opening.intersection(forced.steps[0].area.region).area == pytest.approx(0.0, abs=SPECK_MM2)
    assert any("hides weakly and stays covered" in reason for reason in forced.reasons)
    assert any(finding.code == "weak-paint" for finding in forced.findings)


def test_a_backing_frees_a_weak_paint() -> None:
    finishing = weak_light()
    white = starting_paint("white", "#ffffff")
    navy, cream = finishing.paints
    cream = replace(cream, backing="white", backing_coats=1)
    layout = [(0, 2.0, 2.0, 30.0, 30.0), (4, 40.0, 2.0, 10.0, 10.0)]
    plan = plan_of(svg_of(layout), Finishing(paints=(navy, cream, white), order=("cream", "navy")))
    painting = paint_plan(plan)
    assert painting.steps[1].kept_off == ()
    assert {amount.paint for amount in painting.amounts} == {"navy", "cream", "white"}


def test_a_bare_area_is_covered_in_every_step() -> None:
    finishing = Finishing(paint_of_colour=((COLOURS[2], BARE),))
    painting = paint_plan(plan_of(svg_of(THREE), finishing))
    assert len(painting.steps) == 2
    assert all(BARE in step.kept_off for step in painting.steps)
    assert painting.colouring.bare.area == pytest.approx(240.0)
    assert_every_area_gets_its_own_colour_first(painting, finishing.masks)


def test_a_sheet_without_coat_stays_bare_until_painted_and_then_has_hard_edges() -> None:
    from core.sheet.stock import CLEAR_ACRYLIC_3

    clear = replace(plan_of(svg_of(THREE)).job, stock=CLEAR_ACRYLIC_3)
    assert paint_plan(next(plan_steps(clear))).steps == ()
    paints = tuple(starting_paint(f"p{i}", COLOURS[i]) for i in range(3))
    painting = paint_plan(next(plan_steps(replace(clear, finishing=Finishing(paints=paints)))))
    for step in painting.steps:
        assert step.opening is not None
        beside = painting.colouring.outline.difference(painting.colouring.filled)
        assert step.opening.intersection(beside).area < SPECK_MM2
    assert any(finding.code == "paint-without-coat" for finding in painting.findings)


def test_tight_places_are_told_with_distance_and_ways_out() -> None:
    layout = [(0, 0.0, 0.0, 20.0, 20.0), (1, 20.0, 0.0, 20.0, 20.0), (2, 0.0, 20.8, 20.0, 10.0)]
    painting = paint_plan(plan_of(svg_of(layout)))
    places = [place for step in painting.steps for place in step.tight_places]
    found = {frozenset((place.own, place.kept_off)): place for place in places}
    assert len(places) == 3  # 0-1 touch, 0-2 are 0.8 mm apart, 1-2 only at their corners
    distances = sorted(place.distance_mm for place in found.values())
    assert distances == pytest.approx([0.0, 0.8, 0.8])
    touching = min(places, key=lambda place: place.distance_mm)
    assert touching.stretch_mm >= 20.0
    assert "Hard edge" in touching.ways_out[0]
    assert any("Second burn" in way and "pins" in way for way in touching.ways_out)


def test_film_that_stays_on_is_the_first_mask_and_needs_patches_over_what_waits() -> None:
    finishing = Finishing(masks=MaskOptions(film_stays_on=True))
    painting = paint_plan(plan_of(svg_of(THREE), finishing))
    first = painting.steps[0]
    assert first.made_by == "laser"
    assert first.opening is not None
    assert first.opening.equals(first.area.region)
    waiting = united([step.area.region for step in painting.steps[1:]])
    assert waiting.difference(first.patches).area < SPECK_MM2
    assert first.patches.intersection(first.area.region).area < SPECK_MM2


def test_the_crest() -> None:
    plan = next(plan_steps(open_job(SAMPLES / "crest.svg")))
    painting = paint_plan(plan)
    assert sorted(painting.order) == ["coral", "gold", "navy", "sea"]
    assert_every_area_gets_its_own_colour_first(painting, plan.job.finishing.masks)
    touching = [p for step in painting.steps for p in step.tight_places if p.distance_mm < 0.02]
    assert {frozenset((p.own, p.kept_off)) for p in touching} == {frozenset(("navy", "sea"))}
    looks = front_view(painting.colouring)
    assert sum(look.region.area for look in looks) == pytest.approx(painting.colouring.outline.area, rel=1e-6)
    assert [look.kind for look in looks] == ["coat", "paint", "paint", "paint", "paint"]


def test_colours_go_by_shape_then_colour_then_suggestion() -> None:
    plan = plan_of(svg_of(THREE))
    shape_ids = [shape.id for shape in plan.drawing.shapes if shape.fill]
    mine = Paint(name="mine", colour="#123456")
    decided = Finishing(
        paints=(mine,), paint_of_colour=((COLOURS[1], "mine"),), paint_of=((shape_ids[0], BARE), ("gone", "mine"))
    )
    paint_of, paints = paints_of_shapes(plan_of(svg_of(THREE), decided))
    assert paint_of[shape_ids[0]] == BARE
    assert paint_of[shape_ids[1]] == "mine"
    assert paint_of[shape_ids[2]] == "orange"
    assert {paint.name for paint in paints} == {"mine", "orange"}


def test_nearly_equal_colours_suggest_one_paint() -> None:
    data = svg_of([]).replace(
        b"</svg>",
        b'<rect x="9" y="9" width="9" height="9" fill="#1d1d1b"/><rect x="29" y="9" width="9" height="9" '
        b'fill="#2a2a29"/></svg>',
    )
    painting = paint_plan(plan_of(data))
    assert [step.area.paint.name for step in painting.steps] == ["black"]
    assert len(painting.steps[0].area.shape_ids) == 2
    assert painting.reasons == ("One colour: nothing waits for another, so there is no order to choose.",)


@pytest.mark.parametrize(
    "finishing",
    [
        Finishing(paints=(Paint(name="a", colour="blue"),)),
        Finishing(paints=(Paint(name="a", colour="#000000", coats=0),)),
        Finishing(paints=(Paint(name="a", colour="#000000"), Paint(name="A", colour="#000001"))),
        Finishing(paints=(Paint(name="bare", colour="#000000"),)),
        Finishing(masks=MaskOptions(bleed_mm=float("nan"))),
        Finishing(masks=MaskOptions(least_bridge_mm=0.0)),
        Finishing(pieces=0),
    ],
)
def test_senseless_figures_are_refused(finishing: Finishing) -> None:
    with pytest.raises(UnreadableError):
        paint_plan(plan_of(svg_of(THREE), finishing))


def test_it_can_be_stopped() -> None:
    plan: Plan = plan_of(svg_of([(0, 1.2, 2.0, 20.0, 20.0), (1, 23.2, 2.0, 16.0, 20.0)]))

    def stop(share: float, doing: str) -> None:
        assert 0 <= share <= 1
        raise Cancelled

    with pytest.raises(Cancelled):
        paint_plan(plan, progress=stop)
