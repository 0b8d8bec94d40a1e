"""Cost of a job against sums done by hand."""

from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.errors import JobError, UnreadableError
from core.finishing.mask_effort import EFFORT
from core.finishing.paints import MaskOptions
from core.finishing.timetable import timetable
from core.job.copying import copies_on_sheet, with_copies
from core.job.costs.cost import job_cost, joined
from core.job.costs.pricing import quote_words
from core.job.costs.rates import Rates
from core.job.fitting import with_piece
from core.job.job import new_job
from core.job.painting.burning import burn_plan
from core.job.painting.offers import PUT_BACK_MIN
from core.job.painting.planning import paint_plan
from core.job.prepare import plan_steps, prepare
from core.output.run_sheet.writing import run_sheet
from core.sheet.offcuts import Piece, rectangle
from core.sheet.placement import Placement
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.shops_own import keep_rates, rates_of
from core.shop_book.store import open_book

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
RATES = Rates(currency="Kr", machine_per_h=60.0, setup_min=5.0, handwork_per_h=30.0, sheet_per_m2=100.0,
              mask_film_per_m2=20.0, margin_pct=50.0)  # fmt: skip
TILE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">
<rect width="100" height="60" fill="none" stroke="#000" stroke-width=".1"/><path d="M20 20h40v20h-40z"/></svg>"""


def tile():
    return new_job(ArtworkSource(name="tile.svg", data=TILE))


def amounts(cost):
    return {line.what: line.amount for line in cost.lines}


def test_sheet_and_machine_are_what_a_sum_by_hand_gives():
    plan = prepare(tile())
    cost = job_cost(plan, RATES)
    kerf = MIRRORED_ACRYLIC_3.kerf_mm
    assert amounts(cost)["sheet"] == pytest.approx(100.0 * (100 + kerf) * (60 + kerf) / 1e6)
    assert amounts(cost)["machine"] == pytest.approx(plan.time_s / 60 + 5.0)  # 60 an hour is 1 a minute
    assert cost.total == pytest.approx(sum(amounts(cost).values())) and cost.quote == pytest.approx(1.5 * cost.total)


def test_of_a_piece_the_job_pays_what_is_not_worth_keeping():
    piece = Piece(stock=MIRRORED_ACRYLIC_3.name, thickness_mm=3.0, outline=rectangle(300.0, 60.0), price=18.0)
    job = replace(with_piece(tile(), piece, "p", MIRRORED_ACRYLIC_3), placement=Placement(centred=False))
    cost = job_cost(prepare(job), RATES, piece=piece)
    # a third of the piece, and half a kerf more along the one edge that is left
    assert amounts(cost)["sheet"] == pytest.approx(18.0 * (100 + MIRRORED_ACRYLIC_3.kerf_mm / 2) / 300, rel=1e-4)
    nearly_all = replace(piece, outline=rectangle(110.0, 60.0))
    job = with_piece(job, nearly_all, "p", MIRRORED_ACRYLIC_3)
    assert amounts(job_cost(prepare(job), RATES, piece=nearly_all))["sheet"] == pytest.approx(18.0)  # 10 mm are waste


def crest_job():
    job = new_job(load_source(SAMPLES / "crest.svg"))
    areas = paint_plan(next(plan_steps(job))).colouring.areas
    priced = tuple(replace(area.paint, price=8.0, can_ml=400.0) for area in areas)
    return replace(job, finishing=replace(job.finishing, paints=priced, masks=MaskOptions()))


def by_label(cost):
    return {line.label: line.amount for line in cost.lines}


def test_paint_film_and_handwork_come_from_the_paint_plan_and_are_for_one_run():
    job = crest_job()
    plan = prepare(job)
    painting = paint_plan(plan)
    cost = job_cost(plan, RATES, painting=painting)
    told = by_label(cost)
    for step in painting.steps:
        volume_ml = next(amount.volume_ml for amount in painting.amounts if amount.paint == step.area.paint.name)
        assert told[step.area.paint.name] == pytest.approx(volume_ml / 400.0 * 8.0)
    day, steps = job.finishing.workday, painting.steps
    masks = [step for step in steps if step.made_by == "knife"]
    assert len(masks) >= 1
    # 30 an hour is a half each minute
    assert told["coats"] == pytest.approx(0.5 * day.coat_min * sum(step.area.paint.coats for step in steps))
    assert told["laying masks"] == pytest.approx(0.5 * day.mask_min * len(masks))
    assert told["peeling"] == pytest.approx(0.5 * day.peel_min * len(masks))
    weeded_min = sum(
        EFFORT.cut_m_min * step.figures.cut_length_mm / 1000
        + EFFORT.opening_min * step.figures.openings
        + EFFORT.island_min * step.figures.islands
        + EFFORT.tight_min * len(step.tight_places)
        for step in masks
    )
    small_min = sum(EFFORT.small_min * (step.figures.openings + step.figures.islands) for step in masks)
    assert 0.5 * weeded_min - 0.01 <= told["weeding"] <= 0.5 * (weeded_min + small_min) + 0.01  # the masks as drawn
    # what orders were weighed by, told too high where artwork is fine, is not charged
    weighed = replace(painting, steps=tuple(replace(step, effort_min=9 * step.effort_min) for step in steps))
    assert job_cost(plan, RATES, painting=weighed).total == pytest.approx(cost.total)
    assert {"cleaning", "packing", "at the machine"}.isdisjoint(told)
    three = prepare(replace(job, finishing=replace(job.finishing, pieces=3)))
    assert job_cost(three, RATES, painting=paint_plan(three)).total == pytest.approx(cost.total)


def test_film_is_reckoned_once_and_as_the_run_sheet_says():
    plan = prepare(crest_job())
    painting = paint_plan(plan)
    masks = sum(step.made_by == "knife" for step in painting.steps)
    by_hand_mm2 = masks * painting.ground.film.area  # outer edge of each film, as mask files draw it
    assert not any(step.patches.area for step in painting.steps)
    cost = job_cost(plan, RATES, painting=painting)
    assert [line.what for line in cost.lines].count("film") == 1
    assert amounts(cost)["film"] == pytest.approx(20.0 * by_hand_mm2 / 1e6)
    written = pypdfium2.PdfDocument(run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing)))
    text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in written)
    assert f"Masking film: {by_hand_mm2 / 100:.0f} cm²" in text


def test_the_sheets_own_film_with_patches_is_no_whole_mask():
    job = crest_job()
    stays = replace(job.finishing, masks=replace(job.finishing.masks, film_stays_on=True))
    painting = paint_plan(prepare(replace(job, finishing=stays)))
    first = painting.steps[0]
    assert first.made_by == "laser" and first.patches.area > 0 and first.needs_film and first.is_peeled
    x0, y0, x1, y1 = first.patches.bounds
    assert first.film_mm2(painting.ground.film) == pytest.approx((x1 - x0) * (y1 - y0))


def test_a_colour_film_is_priced_by_the_square_metre_and_not_as_mask_film():
    job = crest_job()
    films = tuple(replace(paint, kind="film", coats=1, loss_share=0.3) for paint in job.finishing.paints)
    plan = prepare(replace(job, finishing=replace(job.finishing, paints=films)))
    painting = paint_plan(plan)
    cost = job_cost(plan, RATES, painting=painting)
    step = painting.steps[-1]
    amount = next(amount for amount in painting.amounts if amount.paint == step.area.paint.name)
    assert by_label(cost)[step.area.paint.name] == pytest.approx(8.0 * amount.area_mm2 / 1e6)
    assert amounts(cost)["film"] == pytest.approx(20.0 * painting.film_mm2 / 1e6)


def test_cleaning_packing_and_attendance_are_paid_where_they_are_wanted():
    job = tile()
    job = with_copies(job, copies_on_sheet(job, 2))
    plan = prepare(job)
    rates = replace(RATES, clean_min=3.0, pack_min=1.5, attendance_pct=40.0, load_min=2.0)
    told = by_label(job_cost(plan, rates))
    assert told["cleaning"] == pytest.approx(0.5 * 2 * 3.0) and told["packing"] == pytest.approx(0.5 * 2 * 1.5)
    assert told["at the machine"] == pytest.approx(0.5 * 0.4 * plan.time_s / 60)
    assert told["machine"] == pytest.approx(plan.time_s / 60 + 5.0 + 2.0)


def test_later_burns_cost_their_machine_time_and_the_hands_that_lay_the_sheet_back():
    job = crest_job()
    names = paint_plan(next(plan_steps(job))).order
    job = replace(job, finishing=replace(job.finishing, ways=tuple((name, "burn") for name in names[1:])))
    plan = prepare(job)
    painting = paint_plan(plan)
    burns = burn_plan(plan, painting).burns
    assert len(burns) == painting.burns >= 2
    lines_s = sum(layer.time_s for layer in plan.layers if layer.layer.purpose != "fill")
    told = by_label(job_cost(plan, RATES, painting=painting))
    whole_s = lines_s + sum(burn.time_range.best_s for burn in burns)
    assert told["machine"] == pytest.approx(whole_s / 60 + 5.0)
    assert told["laying the sheet back"] == pytest.approx(0.5 * PUT_BACK_MIN * (len(burns) - 1))


def test_what_has_no_price_is_named_and_never_left_out_silently():
    job = crest_job()
    bare = replace(job.finishing.paints[0], price=0.0)
    job = replace(job, finishing=replace(job.finishing, paints=(bare, *job.finishing.paints[1:])))
    plan = prepare(job)
    painting = paint_plan(plan)
    cost = job_cost(plan, replace(RATES, handwork_per_h=0.0, mask_film_per_m2=0.0), painting=painting)
    assert set(cost.unpriced) == {
        f"{bare.name} (no price)", "handwork (an hour is 0)", "mask film (a square metre is 0)",
    }  # fmt: skip
    line = quote_words(cost)
    assert all(named in line for named in cost.unpriced)
    assert job_cost(plan, RATES, painting=painting).unpriced == (f"{bare.name} (no price)",)
    nothing = quote_words(job_cost(plan, Rates(), painting=None))
    assert nothing.startswith("No price yet. Not reckoned: ") and "machine (an hour is 0)" in nothing


def test_copies_share_setting_up():
    job = tile()
    one, two = (job_cost(prepare(j), RATES) for j in (job, with_copies(job, copies_on_sheet(job, 2))))
    assert two.copies == 2 and two.quote / 2 < one.quote
    both = joined([one, one])
    assert both.copies == 2 and both.total == pytest.approx(2 * one.total - 5.0)  # set up once, at 60 an hour
    assert "2 at" in quote_words(two) and "Kr" in quote_words(two) and "50 % on top" in quote_words(two)


def test_what_makes_no_sense_is_refused():
    plan = prepare(tile())
    with pytest.raises(UnreadableError, match="Machine of the shop's rates can't be -1"):
        job_cost(plan, replace(RATES, machine_per_h=-1.0))
    with pytest.raises(JobError, match="not worked out"):
        job_cost(next(plan_steps(tile())), RATES)


def test_the_book_keeps_the_rates(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        assert rates_of(book) == Rates()
        keep_rates(book, RATES)
        entry = keep_rates(book, replace(RATES, margin_pct=10.0))
        assert rates_of(book).margin_pct == 10.0
        assert [state.value.margin_pct for state in book.history(entry.uuid)] == [10.0, 50.0]
        with pytest.raises(UnreadableError):
            keep_rates(book, replace(RATES, setup_min=float("nan")))
