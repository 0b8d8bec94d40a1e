"""A shop book that was worked with: pieces on the rack, recipes, coupons, timed jobs, a rule, a trial begun."""

from collections.abc import Callable
from dataclasses import replace

from app.window.main_window import MainWindow
from core.artwork.sorting.rules import PurposeRule
from core.burning.coupons import make_coupon
from core.job.painting.colouring import suggested_paints
from core.job.prepare import prepare
from core.sheet.offcuts import Piece, rectangle
from core.sheet.placement import Flaw
from core.shop_book.coupons_kept import keep_coupon
from core.shop_book.jobs_done import job_done
from core.shop_book.rack import add_piece
from core.shop_book.recipes_kept import keep_recipe
from core.shop_book.rules import keep_rule
from core.shop_book.store import open_book
from core.shop_book.trials_kept import keep_trial
from core.trouble.trials.factors import factor_from
from core.trouble.trials.planning import ask_of_job, planned_trial
from tests.screenshots.readme import open_sample

DAY = "2026-03-02"
ODD = (((0.0, 0.0), (240.0, 0.0), (240.0, 120.0), (180.0, 190.0), (0.0, 190.0)),)
SCRATCH = Flaw(kind="line", points=((12.0, 20.0), (90.0, 34.0)), note="from the saw")
PATCH = Flaw(kind="patch", points=((150.0, 60.0), (170.0, 64.0), (166.0, 84.0)), note="glue")


def fill(window: MainWindow, settle: Callable[[], None]) -> None:
    """Put all of it into the book of the window's home; the crest is the job of it."""
    open_sample(window, "crest.svg")
    settle()
    plan = window.session.plan
    assert plan is not None
    job = plan.job
    layer = next(one for one in job.layers if one.purpose == "fill")
    stock = job.stock.name
    with open_book() as book:
        add_piece(book, "R1", Piece(stock=stock, thickness_mm=3.0, outline=ODD, flaws=(SCRATCH, PATCH), price=8.0))
        add_piece(book, "R2", Piece(stock=stock, thickness_mm=3.0, outline=rectangle(90.0, 60.0), price=1.5))
        whole = rectangle(600.0, 300.0)
        add_piece(
            book, "full 1", Piece(stock=stock, thickness_mm=3.0, outline=whole, full=True, price=40.0, where="shelf 2")
        )
        for name, speed in (("quay signs", 760.0), ("fine lettering", 620.0)):
            kept = replace(layer, recipe=replace(layer.recipe, speed_mm_s=speed))
            keep_recipe(book, job, kept, name=name, verdict="clean", note="shelf 2, March")
        for kind in ("pitch-ladder", "line-widths", "cut-ladder"):
            keep_coupon(book, make_coupon(kind, job.stock, job.machine, width_mm=120.0, height_mm=80.0, made=DAY))
        real = replace(job.machine, scan_acceleration_mm_s2=7_000.0, turn_round_s=0.025)
        for speed in (300.0, 600.0, 1000.0):
            layers = tuple(
                replace(one, recipe=replace(one.recipe, speed_mm_s=speed)) if one.id == layer.id else one
                for one in job.layers
            )
            timed = prepare(replace(job, layers=layers))
            ran = prepare(replace(job, layers=layers, machine=real)).time_s
            name = f"crest at {speed:g}"
            book.add("job", name, job_done(timed, name=name, done=DAY, actual_s=ran, verdict="clean"))
        keep_rule(book, PurposeRule(sort="layer", value="outline", answer="cut"), customer="Gullwick House")
        paint = suggested_paints(plan)[0]
        asked = ask_of_job(job, plan, paint, start=f"{DAY}T09:00")
        factors = (factor_from("wait_min=20,60", "cracked", "low"),)
        keep_trial(
            book,
            planned_trial(
                replace(asked, fault="cracked", factors=factors, repeats=4, size_mm=(150.0, 100.0), made=DAY)
            ),
        )
