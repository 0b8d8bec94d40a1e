from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.burning.calibration import fit_run_time
from core.job.job import new_job, with_layer
from core.job.prepare import prepare
from core.job.timing import jobs_of_machine, time_error_s, time_with_spread, timed_job, with_run_time

SIGN = b"""<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<rect x="1" y="1" width="88" height="58" fill="none" stroke="#000" stroke-width=".1"/>
<path d="M10 10h60v14h-60z"/><circle cx="30" cy="42" r="11"/></svg>"""


def planned(speed, machine=None):
    job = new_job(ArtworkSource(name="sign.svg", data=SIGN))
    fill = job.layers[0]
    job = with_layer(job, replace(fill, recipe=replace(fill.recipe, speed_mm_s=speed)))
    return prepare(replace(job, machine=machine) if machine else job)


def test_slopes_foretell_what_another_machine_would_take():
    plan = planned(600.0)
    here = plan.job.machine
    there = replace(here, scan_acceleration_mm_s2=8_000.0, turn_round_s=0.02)
    timing = timed_job(plan, actual_s=100.0, name="sign")
    assert timing.predicted_s == plan.time_s
    assert timing.turn_rounds > 100
    foretold = (
        plan.time_s
        + timing.inverse_acceleration_slope * (1 / 8_000.0 - 1 / here.scan_acceleration_mm_s2)
        + timing.turn_rounds * (0.02 - here.turn_round_s)
    )
    assert foretold == pytest.approx(planned(600.0, there).time_s, rel=5e-3)


def test_jobs_timed_on_a_machine_teach_its_figures_and_the_spread_of_the_next():
    plans = [planned(speed) for speed in (200.0, 500.0, 1000.0)]
    there = replace(plans[0].job.machine, scan_acceleration_mm_s2=8_000.0, turn_round_s=0.02)
    actual = [planned(speed, there).time_s + off for speed, off in ((200.0, 1.0), (500.0, -1.5), (1000.0, 1.0))]
    jobs = [timed_job(plan, actual_s=time, name="sign") for plan, time in zip(plans, actual, strict=True)]
    fit = fit_run_time(jobs)
    learned = with_run_time(plans[0].job.machine, fit, date="2024-06-02")
    assert fit.turn_round_s.low <= 0.02 <= fit.turn_round_s.high
    assert fit.acceleration_mm_s2.low <= 8_000.0 <= fit.acceleration_mm_s2.high
    assert dict(learned.figure_origins)["turn_round_s"].note == "3 timed jobs"
    plan = planned(700.0, learned)
    assert fit.spread_s < time_error_s(plan, fit) < 30.0
    assert abs(plan.time_s - planned(700.0, there).time_s) < 3 * time_error_s(plan, fit)


def test_only_timed_jobs_of_the_machine_count():
    timing = timed_job(planned(600.0), actual_s=100.0, name="sign")
    assert jobs_of_machine([("a", timing), ("b", timing), ("a", None)], "a") == [timing]


def test_a_time_with_its_spread_reads_well():
    assert time_with_spread(400.0, 12.4) == "6 min 40 s ± 12 s"
