import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.burning.beam import line_width_mm
from core.burning.calibration import LineWidth, TimedJob, fit_run_time, fit_threshold
from core.errors import UnreadableError

SPEED, SPOT, DOSE = 800.0, 0.137, 0.19
POWERS = (15.0, 17.5, 20.0, 25.0, 30.0, 40.0)


def exact_widths(powers=POWERS, *, spot_mm=SPOT, dose=DOSE, speed=SPEED):
    return [
        LineWidth(
            power_w=power,
            width_mm=line_width_mm(power_w=power, speed_mm_s=speed, spot_mm=spot_mm, clearing_dose_j_mm2=dose),
        )
        for power in powers
    ]


def codes(fit):
    return {finding.code for finding in fit.findings}


@given(spot_mm=st.floats(0.03, 0.4), dose=st.floats(0.01, 3.0), speed=st.floats(5.0, 3000.0), lift=st.floats(1.05, 3.0))
def test_exact_widths_give_back_spot_and_dose(spot_mm, dose, speed, lift):
    threshold_w = dose * speed * spot_mm / 2 * math.sqrt(math.pi / 2)
    powers = threshold_w * lift * np.array([1.0, 1.3, 1.7, 2.3, 3.0])
    fit = fit_threshold(exact_widths(powers, spot_mm=spot_mm, dose=dose, speed=speed), speed_mm_s=speed)
    assert fit.spot_mm.value == pytest.approx(spot_mm, rel=1e-9)
    assert fit.clearing_dose_j_mm2.value == pytest.approx(dose, rel=1e-9)
    assert fit.threshold_power_w == pytest.approx(threshold_w, rel=1e-9)
    middle = exact_widths(powers[2:3], spot_mm=spot_mm, dose=dose, speed=speed)[0]
    assert fit.fitted_width_mm(middle.power_w) == pytest.approx(middle.width_mm)
    assert fit.fitted_width_mm(threshold_w * 0.9) == 0.0


@pytest.mark.parametrize("noise_mm", [0.001, 0.003, 0.006])
@pytest.mark.parametrize("lines_each", [1, 3])
def test_known_figures_lie_inside_the_stated_interval_nine_times_in_ten(noise_mm, lines_each):
    random = np.random.default_rng(20240611)
    true = exact_widths(POWERS * lines_each)
    inside_spot = inside_dose = 0
    for _ in range(400):
        noisy = [
            LineWidth(power_w=line.power_w, width_mm=abs(line.width_mm + random.normal(0.0, noise_mm))) for line in true
        ]
        fit = fit_threshold(noisy, speed_mm_s=SPEED)
        inside_spot += fit.spot_mm.low <= SPOT <= fit.spot_mm.high
        inside_dose += fit.clearing_dose_j_mm2.low <= DOSE <= fit.clearing_dose_j_mm2.high
    # an honest 95 % interval gives 380 ± 4.4 of 400
    assert inside_spot >= 360
    assert inside_dose >= 360


def test_two_passes_count_twice():
    one = fit_threshold(exact_widths(), speed_mm_s=SPEED)
    two = fit_threshold(exact_widths(), speed_mm_s=SPEED, passes=2)
    assert two.clearing_dose_j_mm2.value == pytest.approx(2 * one.clearing_dose_j_mm2.value)


def test_too_few_lines_are_refused_in_words():
    with pytest.raises(UnreadableError, match="Fewer than three line widths"):
        fit_threshold(exact_widths((20.0, 30.0)), speed_mm_s=SPEED)
    with pytest.raises(UnreadableError, match="One power is too few"):
        fit_threshold(exact_widths((20.0, 20.0, 20.0)), speed_mm_s=SPEED)
    with pytest.raises(UnreadableError, match="too few"):  # two of them bared nothing
        fit_threshold(exact_widths((5.0, 10.0, 20.0, 30.0)), speed_mm_s=SPEED)


def test_lines_that_do_not_widen_are_refused():
    widths = [LineWidth(power_w=power, width_mm=0.1 - power / 1000) for power in POWERS]
    with pytest.raises(UnreadableError, match="do not get wider"):
        fit_threshold(widths, speed_mm_s=SPEED)


@pytest.mark.parametrize(("power", "width"), [(0.0, 0.1), (math.nan, 0.1), (10.0, -0.1), (10.0, math.inf)])
def test_senseless_readings_are_refused(power, width):
    with pytest.raises(UnreadableError):
        fit_threshold([*exact_widths(), LineWidth(power_w=power, width_mm=width)], speed_mm_s=SPEED)


def test_good_readings_raise_no_doubts():
    random = np.random.default_rng(3)
    noisy = [
        LineWidth(power_w=line.power_w, width_mm=line.width_mm + random.normal(0, 1e-4)) for line in exact_widths()
    ]
    fit = fit_threshold([LineWidth(power_w=10.0, width_mm=0.0), *noisy], speed_mm_s=SPEED)
    assert codes(fit) == set()
    assert fit.r_squared > 0.99
    assert len(fit.residuals_mm2) == len(fit.widths) == len(POWERS)


def test_scatter_is_told():
    random = np.random.default_rng(4)
    noisy = [
        LineWidth(power_w=line.power_w, width_mm=abs(line.width_mm + random.normal(0, 0.02))) for line in exact_widths()
    ]
    assert "scattered-readings" in codes(fit_threshold(noisy, speed_mm_s=SPEED))


def test_one_odd_line_is_named():
    random = np.random.default_rng(5)
    lines = [
        LineWidth(power_w=line.power_w, width_mm=line.width_mm + random.normal(0, 3e-4)) for line in exact_widths()
    ]
    lines[3] = LineWidth(power_w=25.0, width_mm=lines[3].width_mm + 0.03)
    fit = fit_threshold(lines, speed_mm_s=SPEED)
    (odd,) = [finding for finding in fit.findings if finding.code == "odd-reading"]
    assert "25 W" in odd.message


def test_close_powers_few_readings_and_a_missing_line_are_told():
    lines = [*exact_widths((20.0, 22.0, 24.0)), LineWidth(power_w=23.0, width_mm=0.0)]
    assert codes(fit_threshold(lines, speed_mm_s=SPEED)) == {"powers-too-close", "line-missing", "few-readings"}


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
    assert fit.spread_s == 1.0
    assert fit.acceleration_mm_s2.low < 12_000.0 < fit.acceleration_mm_s2.high


def test_predictions_made_with_different_figures_fit_together():
    later = TimedJob(
        name="later", actual_s=100.0 + 2e6 / 12_000 + 900 * 0.016, predicted_s=100.0 + 2e6 / 15_000 + 900 * 0.02,
        acceleration_mm_s2=15_000.0, turn_round_s=0.02, inverse_acceleration_slope=2e6, turn_rounds=900,
    )  # fmt: skip
    fit = fit_run_time((*TWO_JOBS, later))
    assert fit.acceleration_mm_s2.value == pytest.approx(12_000.0)
    assert fit.turn_round_s.value == pytest.approx(0.016)


def test_noisy_jobs_lie_inside_the_stated_interval_nine_times_in_ten():
    random = np.random.default_rng(7)
    shapes = [(300.0, 2 * 800.0 * 1500, 1500), (500.0, 2 * 300.0 * 1200, 1200), (90.0, 2 * 500.0 * 700, 700),
              (200.0, 2 * 1000.0 * 900, 900), (60.0, 2 * 400.0 * 2000, 2000)]  # fmt: skip
    inside = np.zeros(2)
    for _ in range(400):
        jobs = [timed(str(k), *shape, noise_s=random.normal(0, 2.0)) for k, shape in enumerate(shapes)]
        fit = fit_run_time(jobs)
        inside += (
            fit.acceleration_mm_s2.low <= 12_000.0 <= fit.acceleration_mm_s2.high,
            fit.turn_round_s.low <= 0.016 <= fit.turn_round_s.high,
        )
    assert (inside >= 360).all()


def test_jobs_of_one_kind_fit_the_turn_round_alone_and_say_so():
    jobs = [
        timed("one", 100.0, 1600.0 * 500, 500, turn_round=0.06),
        timed("two", 300.0, 1600.0 * 900, 900, turn_round=0.06),
    ]
    fit = fit_run_time(jobs)
    assert "jobs-too-alike" in codes(fit)
    assert fit.acceleration_mm_s2.value == pytest.approx(10_000.0)
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
    with pytest.raises(UnreadableError, match="1 timed job can't"):
        fit_run_time(TWO_JOBS[:1])
    with pytest.raises(UnreadableError, match="makes no sense"):
        fit_run_time([TWO_JOBS[0], timed("b", 0.0, 1.0, 1, noise_s=-1e3)])


def test_jobs_without_rows_teach_nothing_about_rows():
    with pytest.raises(UnreadableError, match="no scan rows"):
        fit_run_time([timed("cut", 100.0, 0.0, 0), timed("score", 50.0, 0.0, 0)])
    fit = fit_run_time([timed("a", 100.0, 0.0, 500), timed("b", 300.0, 0.0, 900)])  # slow rows: no braking to see
    assert fit.turn_round_s.value == pytest.approx(0.016)
    assert fit.acceleration_mm_s2.value == 10_000.0 and "jobs-too-alike" in codes(fit)


def test_spread_of_a_new_job_is_the_fit_and_its_own():
    fit = fit_run_time((*TWO_JOBS, timed("c", 60.0, 2 * 400.0 * 2000, 2000, noise_s=3.0)))
    none = fit.time_error_s(inverse_acceleration_slope=0.0, turn_rounds=0.0)
    long = fit.time_error_s(inverse_acceleration_slope=2 * 800.0 * 5000, turn_rounds=5000)
    assert none == pytest.approx(fit.spread_s)
    assert long > none
