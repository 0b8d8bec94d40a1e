import numpy as np
import pytest

from core.burning.run_time_fit import Predicted, TimedJob, fit_run_time, wide_gaps_told
from core.errors import UnreadableError


def codes(fit):
    return {finding.code for finding in fit.findings}


# run time: T = base + slope / a + rows * turn_round


def timed(name, base_s, slope, rows, *, acceleration=12_000.0, turn_round=0.016, noise_s=0.0):
    return TimedJob(
        name=name,
        actual_s=base_s + slope / acceleration + rows * turn_round + noise_s,
        predicted_s=base_s + slope / 10_000.0 + rows * 0.010,
        acceleration_mm_s2=10_000.0,
        turn_round_s=0.010,
        inverse_acceleration_slope=slope,
        turn_rounds=rows,
    )


TWO_JOBS = (timed("sign", 300.0, 2 * 800.0 * 1500, 1500), timed("plate", 500.0, 2 * 300.0 * 1200, 1200))


def test_two_exact_jobs_give_back_acceleration_and_turn_round():
    fit = fit_run_time(TWO_JOBS)
    assert fit.acceleration_mm_s2.value == pytest.approx(12_000.0)
    assert fit.turn_round_s.value == pytest.approx(0.016)
    assert fit.residuals_s == pytest.approx((0.0, 0.0), abs=1e-9)
    assert codes(fit) == {"two-timed-jobs"}
    assert fit.spread_share == 0.05
    assert fit.acceleration_mm_s2.low < 12_000.0 < fit.acceleration_mm_s2.high


def test_predictions_made_with_different_figures_fit_together():
    later = TimedJob(
        name="later", actual_s=100.0 + 2e6 / 12_000 + 900 * 0.016, predicted_s=100.0 + 2e6 / 15_000 + 900 * 0.02,
        acceleration_mm_s2=15_000.0, turn_round_s=0.02, inverse_acceleration_slope=2e6, turn_rounds=900,
    )  # fmt: skip
    fit = fit_run_time((*TWO_JOBS, later))
    assert fit.acceleration_mm_s2.value == pytest.approx(12_000.0)
    assert fit.turn_round_s.value == pytest.approx(0.016)


SHAPES = ((300.0, 2 * 800.0 * 1500, 1500), (500.0, 2 * 300.0 * 1200, 1200), (90.0, 2 * 500.0 * 700, 700),
          (200.0, 2 * 1000.0 * 900, 900), (60.0, 2 * 400.0 * 2000, 2000))  # fmt: skip


@pytest.mark.parametrize(("count", "noise_share"), [(2, 0.05), (3, 0.05), (3, 0.01), (5, 0.05), (12, 0.05), (12, 0.1)])
def test_95_percent_intervals_hold_with_proportional_noise(count, noise_share):
    """1,000 simulations each; with two jobs the starting spread of 5 % has to be the true one, for nothing tells it.

    The count inside is binomial, standard deviation 0.7 %: 93 to 97 % is what is asked for.
    """
    random = np.random.default_rng(100 * count + int(1000 * noise_share))
    inside = np.zeros(2)
    for _ in range(1000):
        jobs = []
        for name, k in enumerate(np.arange(count) % len(SHAPES)):
            true = timed(str(name), *SHAPES[k])
            jobs.append(timed(str(name), *SHAPES[k], noise_s=random.normal(0, noise_share) * true.actual_s))
        fit = fit_run_time(jobs)
        inside += (
            fit.acceleration_mm_s2.low <= 12_000.0 <= fit.acceleration_mm_s2.high,
            fit.turn_round_s.low <= 0.016 <= fit.turn_round_s.high,
        )
    assert (inside >= 930).all() and (inside <= 970).all(), inside


def test_a_long_job_counts_less_by_the_second():
    """An hour that is 60 s off says less of the turn-round than a minute that is 60 s off."""
    long, short = (timed(name, 60.0 * f, 0.0, 1000 * f) for name, f in (("long", 40), ("short", 1)))
    late = timed("late", 60.0 * 40, 0.0, 40_000, noise_s=60.0)
    fit = fit_run_time([long, short, late])
    assert abs(fit.turn_round_s.value - 0.016) < 0.002
    assert fit.time_error_s(time_s=4000.0, inverse_acceleration_slope=0.0, turn_rounds=0.0) > 20 * fit.time_error_s(
        time_s=60.0, inverse_acceleration_slope=0.0, turn_rounds=0.0
    )


def test_jobs_of_one_kind_fit_the_turn_round_alone_and_say_so():
    jobs = [
        timed("one", 100.0, 1600.0 * 500, 500, turn_round=0.06),
        timed("two", 300.0, 1600.0 * 900, 900, turn_round=0.06),
    ]
    fit = fit_run_time(jobs)
    assert "jobs-too-alike" in codes(fit)
    assert fit.acceleration_mm_s2.value == pytest.approx(10_000.0)
    assert fit.kept == ("scan_acceleration_mm_s2",) and fit.acceleration_mm_s2.standard_error == np.inf
    # 1600 mm/s less of 1/a is taken up by the turn-round, so that the times still agree
    assert fit.turn_round_s.value == pytest.approx(0.06 + 1600 / 12_000 - 1600 / 10_000, abs=1e-9)
    assert fit.residuals_s == pytest.approx((0.0, 0.0), abs=1e-9)


def test_figures_never_fall_below_zero():
    quick = [
        timed("a", 300.0, 2 * 800.0 * 1500, 1500, turn_round=-0.02),
        timed("b", 90.0, 2 * 300.0 * 1200, 1200, turn_round=-0.02),
    ]
    fit = fit_run_time(quick)
    assert fit.turn_round_s.value == 0.0
    assert fit.acceleration_mm_s2.value > 0
    assert "beyond-the-model" in codes(fit)


def test_one_job_or_a_senseless_time_is_refused():
    with pytest.raises(UnreadableError, match=r"One timed job so far: .* two at least"):
        fit_run_time(TWO_JOBS[:1])
    with pytest.raises(UnreadableError, match="No timed jobs so far"):
        fit_run_time([])
    with pytest.raises(UnreadableError, match="makes no sense"):
        fit_run_time([TWO_JOBS[0], timed("b", 0.0, 1.0, 1, noise_s=-1e3)])


def test_jobs_without_rows_teach_nothing_about_rows():
    with pytest.raises(UnreadableError, match="no scan rows"):
        fit_run_time([timed("cut", 100.0, 0.0, 0), timed("score", 50.0, 0.0, 0)])
    fit = fit_run_time([timed("a", 100.0, 0.0, 500), timed("b", 300.0, 0.0, 900)])  # slow rows: no braking to see
    assert fit.turn_round_s.value == pytest.approx(0.016)
    assert fit.acceleration_mm_s2.value == 10_000.0 and "jobs-too-alike" in codes(fit)


def test_what_the_kept_acceleration_may_be_off_by_is_in_the_turn_round():
    jobs = [timed(str(k), 100.0 * k, 1600.0 * 500 * k, 500 * k, acceleration=7_000.0) for k in (1, 2, 3)]
    fit = fit_run_time(jobs)
    assert fit.kept == ("scan_acceleration_mm_s2",)
    assert fit.turn_round_s.low <= 0.016 <= fit.turn_round_s.high
    same = {"inverse_acceleration_slope": 1600.0 * 1000, "turn_rounds": 1000.0}
    other = {"inverse_acceleration_slope": 100.0 * 1000, "turn_rounds": 1000.0}
    assert fit.time_error_s(time_s=200.0, **same) < 0.01 < 10 < fit.time_error_s(time_s=200.0, **other)


def test_spread_of_a_new_job_is_the_fit_and_its_own():
    fit = fit_run_time((*TWO_JOBS, timed("c", 60.0, 2 * 400.0 * 2000, 2000, noise_s=3.0)))
    none = fit.time_error_s(time_s=300.0, inverse_acceleration_slope=0.0, turn_rounds=0.0)
    long = fit.time_error_s(time_s=300.0, inverse_acceleration_slope=2 * 800.0 * 5000, turn_rounds=5000)
    assert none == pytest.approx(fit.spread_share * np.hypot(300.0, 20.0))
    assert long > none


# wide gaps: burned apart, or the row swept


def gapped(name, actual_s, *, apart_s=100.0, swept_s=260.0):
    return TimedJob(
        name=name, actual_s=actual_s, predicted_s=apart_s, acceleration_mm_s2=10_000.0, turn_round_s=0.01,
        inverse_acceleration_slope=1.6e5, turn_rounds=400,
        if_swept=Predicted(predicted_s=swept_s, inverse_acceleration_slope=0.8e5, turn_rounds=200),
    )  # fmt: skip


@pytest.mark.parametrize(("actual_s", "told"), [(102.0, "apart"), (255.0, "swept"), (175.0, "unknown")])
def test_one_timed_job_may_tell_how_wide_gaps_are_crossed(actual_s, told):
    assert wide_gaps_told([gapped("sign", actual_s)]) == told
    assert wide_gaps_told([TWO_JOBS[0]]) == "unknown"


def test_a_job_whose_gaps_make_little_difference_tells_nothing():
    assert wide_gaps_told([gapped("sign", 103.0, swept_s=104.0)]) == "unknown"


def test_the_fit_is_made_by_the_way_that_is_told():
    swept = [gapped("one", 262.0), gapped("two", 540.0, apart_s=210.0, swept_s=530.0), *TWO_JOBS]
    fit = fit_run_time(swept)
    assert fit.wide_gaps == "swept"
    assert max(map(abs, fit.residuals_s)) < 15
    assert "wide-gaps-unknown" in codes(fit_run_time([gapped("one", 176.0), gapped("two", 175.0)]))
