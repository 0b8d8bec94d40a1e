"""What a timed job tells of the machine, and how sure a predicted time is."""

import math
from dataclasses import replace

from core.burning.calibration import Estimate
from core.burning.machines import Machine, WideGaps
from core.burning.run_time import TimeRange, fill_time_s
from core.burning.run_time_fit import Predicted, RunTimeFit, TimedJob
from core.burning.unknowns import with_figure
from core.job.plan import Plan
from core.sheet.recipes import Origin
from core.units import duration_text

_STEP = 0.05
"""Share by which a figure is moved to see how the predicted time leans on it."""


def timed_job(plan: Plan, *, actual_s: float, name: str) -> TimedJob:
    """The plan's prediction beside a stopwatch time, with its slopes over 1/acceleration and turn-round of rows."""
    machine = plan.job.machine
    way: WideGaps = "apart" if machine.wide_gaps == "unknown" else machine.wide_gaps
    here = _predicted(plan, replace(machine, wide_gaps=way))
    swept = _predicted(plan, replace(machine, wide_gaps="swept")) if machine.wide_gaps == "unknown" else here
    return TimedJob(
        name=name,
        actual_s=actual_s,
        predicted_s=here.predicted_s,
        acceleration_mm_s2=machine.scan_acceleration_mm_s2,
        turn_round_s=machine.turn_round_s,
        inverse_acceleration_slope=here.inverse_acceleration_slope,
        turn_rounds=here.turn_rounds,
        if_swept=swept if plan.time_range.is_open else None,
    )


def _predicted(plan: Plan, machine: Machine) -> Predicted:
    inverse = 1.0 / machine.scan_acceleration_mm_s2
    faster, slower = (
        replace(machine, scan_acceleration_mm_s2=1.0 / (inverse * (1 + step))) for step in (-_STEP, _STEP)
    )
    later = replace(machine, turn_round_s=machine.turn_round_s + _STEP)
    fills_s = _fills_s(plan, machine)
    return Predicted(
        predicted_s=plan.time_s - _fills_s(plan, plan.job.machine) + fills_s,
        inverse_acceleration_slope=(_fills_s(plan, slower) - _fills_s(plan, faster)) / (2 * _STEP * inverse),
        turn_rounds=(_fills_s(plan, later) - fills_s) / _STEP,
    )


def time_error_s(plan: Plan, fit: RunTimeFit) -> float:
    """Standard error of the plan's time, by the fit of the machine's timed jobs, s."""
    here = timed_job(plan, actual_s=1.0, name="")
    return fit.time_error_s(
        time_s=plan.time_s,
        inverse_acceleration_slope=here.inverse_acceleration_slope,
        turn_rounds=here.turn_rounds,
    )


def time_with_spread(time: TimeRange, error_s: float) -> str:
    """For people: ``"6 min 40 s ± 12 s"``."""
    return f"{range_text(time)} ± {duration_text(error_s)}"


def range_text(time: TimeRange) -> str:
    """For people: ``"6 min 40 s"``, and ``"6 min 40 s to 9 min 10 s"`` where it depends on what is not known."""
    least, most = duration_text(time.least_s), duration_text(time.most_s)
    return least if least == most else f"{least} to {most}"


def with_run_time(machine: Machine, fit: RunTimeFit, *, date: str) -> Machine:
    """The machine with what the timed jobs tell, each figure with where it came from; what they don't tell is left."""
    note = f"{len(fit.residuals_s)} timed jobs"
    for name, estimate in (("scan_acceleration_mm_s2", fit.acceleration_mm_s2), ("turn_round_s", fit.turn_round_s)):
        if name not in fit.kept:
            machine = with_figure(machine, name, estimate.value, _measured(estimate, note, date))
    return machine if fit.wide_gaps == "unknown" else replace(machine, wide_gaps=fit.wide_gaps)


def has_learned(machine: Machine, fit: RunTimeFit) -> bool:
    """Whether the machine's row times are those of the fit, so that its spread holds for what they predict."""
    pairs = (
        (machine.scan_acceleration_mm_s2, fit.acceleration_mm_s2.value),
        (machine.turn_round_s, fit.turn_round_s.value),
    )
    return all(math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-9) for one, other in pairs)


def _fills_s(plan: Plan, machine: Machine) -> float:
    return sum(fill_time_s(layer.rows, layer.layer.recipe, machine) for layer in plan.layers if layer.rows is not None)


def _measured(estimate: Estimate, note: str, date: str) -> Origin:
    return Origin(kind="measured", date=date, note=note, standard_error=estimate.standard_error)
