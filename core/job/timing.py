"""What a timed job tells of the machine, and how sure a predicted time is."""

import math
from collections.abc import Sequence
from dataclasses import replace

from core.burning.calibration import Estimate, RunTimeFit, TimedJob
from core.burning.machines import Machine
from core.burning.run_time import fill_time_s
from core.burning.unknowns import with_figure
from core.job.plan import Plan
from core.sheet.recipes import Origin
from core.units import duration_text

_STEP = 0.05
"""Share by which a figure is moved to see how the predicted time leans on it."""


def timed_job(plan: Plan, *, actual_s: float, name: str) -> TimedJob:
    """The plan's prediction beside a stopwatch time, with its slopes over 1/acceleration and turn-round of rows."""
    machine = plan.job.machine
    inverse = 1.0 / machine.scan_acceleration_mm_s2
    faster, slower = (
        replace(machine, scan_acceleration_mm_s2=1.0 / (inverse * (1 + step))) for step in (-_STEP, _STEP)
    )
    sooner, later = (replace(machine, turn_round_s=machine.turn_round_s + step) for step in (0.0, _STEP))
    return TimedJob(
        name=name,
        actual_s=actual_s,
        predicted_s=plan.time_s,
        acceleration_mm_s2=machine.scan_acceleration_mm_s2,
        turn_round_s=machine.turn_round_s,
        inverse_acceleration_slope=(_fills_s(plan, slower) - _fills_s(plan, faster)) / (2 * _STEP * inverse),
        turn_rounds=(_fills_s(plan, later) - _fills_s(plan, sooner)) / _STEP,
    )


def time_error_s(plan: Plan, fit: RunTimeFit) -> float:
    """Standard error of the plan's time, by the fit of the machine's timed jobs, s."""
    here = timed_job(plan, actual_s=1.0, name="")
    return fit.time_error_s(inverse_acceleration_slope=here.inverse_acceleration_slope, turn_rounds=here.turn_rounds)


def time_with_spread(time_s: float, error_s: float) -> str:
    """For people: ``"6 min 40 s ± 12 s"``."""
    return f"{duration_text(time_s)} ± {duration_text(error_s)}"


def with_run_time(machine: Machine, fit: RunTimeFit, *, date: str) -> Machine:
    """The machine with the fitted acceleration and turn-round, each with where it came from."""
    note = f"{len(fit.residuals_s)} timed jobs"
    machine = with_figure(
        machine, "scan_acceleration_mm_s2", fit.acceleration_mm_s2.value, _measured(fit.acceleration_mm_s2, note, date)
    )
    return with_figure(machine, "turn_round_s", fit.turn_round_s.value, _measured(fit.turn_round_s, note, date))


def jobs_of_machine(jobs: Sequence[tuple[str, TimedJob | None]], machine: str) -> list[TimedJob]:
    """Of (machine name, timing) pairs those that were timed on this machine."""
    return [timing for name, timing in jobs if timing is not None and name == machine]


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
