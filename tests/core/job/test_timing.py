from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.burning.run_time import TimeRange, exactly
from core.burning.run_time_fit import fit_run_time
from core.job.job import new_job, with_layer
from core.job.prepare import prepare
from core.job.report import report_data
from core.job.timing import range_text, time_error_s, time_with_spread, timed_job, with_run_time

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
    assert fit.spread_share * plan.time_s < time_error_s(plan, fit) < 30.0
    assert abs(plan.time_s - planned(700.0, there).time_s) < 3 * time_error_s(plan, fit)


def test_a_time_with_its_spread_reads_well():
    assert time_with_spread(exactly(400.0), 12.4) == "6 min 40 s ± 12 s"
    assert range_text(TimeRange(least_s=400.0, most_s=550.0)) == "6 min 40 s to 9 min 10 s"


FAR = b"""<svg xmlns="http://www.w3.org/2000/svg" width="860mm" height="40mm" viewBox="0 0 860 40">
<path d="M5 5h12v12h-12zM843 5h12v12h-12z"/></svg>"""


def test_far_parts_make_the_time_a_range_until_a_timed_job_tells():
    job = new_job(ArtworkSource(name="far.svg", data=FAR))
    plan = prepare(job)
    assert plan.time_range.most_s > 1.5 * plan.time_range.least_s
    assert plan.time_s == (plan.time_range.least_s + plan.time_range.most_s) / 2
    report = report_data(plan)
    assert report["time_range_s"] == [plan.time_range.least_s, plan.time_range.most_s]
    swept = timed_job(plan, actual_s=plan.time_range.most_s, name="far")
    assert swept.predicted_s == pytest.approx(plan.time_range.least_s)
    assert swept.if_swept.predicted_s == pytest.approx(plan.time_range.most_s)
    fit = fit_run_time([swept, timed_job(planned(600.0), actual_s=planned(600.0).time_s, name="sign")])
    learned = with_run_time(job.machine, fit, date="2024-06-02")
    assert learned.wide_gaps == "swept"
    assert not prepare(replace(job, machine=learned)).time_range.is_open


def test_what_the_jobs_do_not_tell_is_not_called_measured():
    timing = timed_job(planned(600.0), actual_s=planned(600.0).time_s * 1.02, name="sign")
    machine = planned(600.0).job.machine
    learned = with_run_time(machine, fit_run_time([timing, timing, timing]), date="2024-06-02")
    assert dict(learned.figure_origins).keys() == {"turn_round_s"}
    assert learned.scan_acceleration_mm_s2 == machine.scan_acceleration_mm_s2
