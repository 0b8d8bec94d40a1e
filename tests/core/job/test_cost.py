"""Cost of a job against sums done by hand."""

from dataclasses import replace
from pathlib import Path

import pytest

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.errors import JobError, UnreadableError
from core.finishing.paints import MaskOptions
from core.job.copying import copies_on_sheet, with_copies
from core.job.cost import Rates, job_cost, quote_words
from core.job.fitting import with_piece
from core.job.job import new_job
from core.job.painting.planning import paint_plan
from core.job.prepare import plan_steps, prepare
from core.sheet.offcuts import Piece, rectangle
from core.sheet.placement import Placement
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.rates import keep_rates, rates_of
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


def test_paint_film_and_handwork_come_from_the_paint_plan_and_are_for_one_run():
    job = new_job(load_source(SAMPLES / "crest.svg"))
    areas = paint_plan(next(plan_steps(job))).colouring.areas
    priced = tuple(replace(area.paint, price=8.0, can_ml=400.0) for area in areas)
    job = replace(job, finishing=replace(job.finishing, paints=priced, masks=MaskOptions()))
    plan = prepare(job)
    painting = paint_plan(plan)
    cost = job_cost(plan, RATES, painting=painting)
    volume_ml = sum(amount.volume_ml for amount in painting.amounts)
    assert amounts(cost)["paint"] == pytest.approx(volume_ml / 400.0 * 8.0)
    masks = sum(step.made_by == "knife" for step in painting.steps)
    assert masks >= 1
    assert amounts(cost)["film"] == pytest.approx(20.0 * masks * painting.colouring.outline.area / 1e6)
    assert amounts(cost)["handwork"] == pytest.approx(painting.effort_min / 2)
    three = prepare(replace(job, finishing=replace(job.finishing, pieces=3)))
    assert job_cost(three, RATES, painting=paint_plan(three)).total == pytest.approx(cost.total)


def test_copies_share_setting_up():
    job = tile()
    one, two = (job_cost(prepare(j), RATES) for j in (job, with_copies(job, copies_on_sheet(job, 2))))
    assert two.copies == 2 and two.quote / 2 < one.quote
    assert "2 at" in quote_words(two) and "Kr" in quote_words(two) and "50 % on top" in quote_words(two)


def test_what_makes_no_sense_is_refused():
    plan = prepare(tile())
    with pytest.raises(UnreadableError, match="machine_per_h"):
        job_cost(plan, replace(RATES, machine_per_h=-1.0))
    with pytest.raises(JobError, match="not worked out"):
        job_cost(next(plan_steps(tile())), RATES)
    assert "no rates are set" in quote_words(job_cost(plan, Rates()))


def test_the_book_keeps_the_rates(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        assert rates_of(book) == Rates()
        keep_rates(book, RATES)
        entry = keep_rates(book, replace(RATES, margin_pct=10.0))
        assert rates_of(book).margin_pct == 10.0
        assert [state.value.margin_pct for state in book.history(entry.uuid)] == [10.0, 50.0]
        with pytest.raises(UnreadableError):
            keep_rates(book, replace(RATES, setup_min=float("nan")))
