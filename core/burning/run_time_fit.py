"""Run times learned from timed jobs: acceleration and turn-round of rows, and how wide gaps are crossed.

Weighted least squares, since a long job is off by more seconds than a short one. A stated error is a standard error,
an interval one of 95 % by Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from core.artwork.drawing import Finding
from core.burning.calibration import Estimate, student_t_975
from core.burning.machines import WideGaps
from core.errors import UnreadableError
from core.geometry.path import Floats

STARTING_SPREAD_SHARE = 0.05
"""Taken as the spread of timed jobs where two of them leave none to be seen; invented, to be seen by a third."""
SHORT_JOB_S = 20.0
"""Jobs shorter than this are off by about as many seconds as one of this length: the hand on the watch."""
STARTING_INVERSE_SHARE = 0.5
"""How far one over a starting acceleration may be off, as a share (standard deviation); invented, wide on purpose."""
STARTING_TURN_ROUND_S = 0.02
"""How far a starting turn-round may be off (standard deviation), at least; invented, wide on purpose."""
TOLD_AT_ODDS = 20.0
"""A way over wide gaps counts as told when the times are so many times likelier by it."""
ALIKE = 50.0
"""Condition number from which the jobs can't tell two figures apart."""
_ROUNDS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """A predicted time and how it leans on the two figures sought, as in ``TimedJob``."""

    predicted_s: float
    inverse_acceleration_slope: float
    turn_rounds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedJob:
    """A job's stopwatch time beside its prediction, and how the prediction leans on the two figures sought.

    ``acceleration_mm_s2`` and ``turn_round_s`` are what the prediction was made with. ``inverse_acceleration_slope``:
    d predicted / d (1 / acceleration), mm/s; ``turn_rounds``: d predicted / d turn-round, about the count of rows.
    ``if_swept``: the same for a machine that sweeps its rows, where it was not known whether this one does and the
    job's gaps make a difference; the others then are those of one that burns far parts apart.
    """

    name: str
    actual_s: float
    predicted_s: float
    acceleration_mm_s2: float
    turn_round_s: float
    inverse_acceleration_slope: float
    turn_rounds: float
    if_swept: Predicted | None = field(default=None, metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTimeFit:
    """Acceleration and turn-round of a machine from timed jobs, with the spread of what they predict.

    ``covariance`` is of (1 / acceleration, turn-round); ``spread_share``: how far one job's time is off, as a share;
    ``residuals_s`` are actual less fitted times. ``kept``: the figures that the jobs do not tell, of
    "scan_acceleration_mm_s2" and "turn_round_s"; they have no finite error. ``wide_gaps``: as the jobs tell.
    """

    acceleration_mm_s2: Estimate
    turn_round_s: Estimate
    covariance: tuple[tuple[float, float], tuple[float, float]]
    spread_share: float
    residuals_s: tuple[float, ...]
    findings: tuple[Finding, ...]
    kept: tuple[str, ...] = ()
    wide_gaps: WideGaps = "unknown"

    def time_error_s(self, *, time_s: float, inverse_acceleration_slope: float, turn_rounds: float) -> float:
        """Standard error of the predicted time of a job with these slopes: the fit's and one job's own spread."""
        gradient = np.array([inverse_acceleration_slope, turn_rounds])
        own_s = self.spread_share * _weight_s(time_s)
        return math.sqrt(max(0.0, float(gradient @ np.array(self.covariance) @ gradient)) + own_s**2)


def fit_run_time(jobs: Sequence[TimedJob]) -> RunTimeFit:
    """Row acceleration and turn-round time from two or more timed jobs.

    Predicted times are linear in 1/acceleration and in the turn-round, so this is a linear fit, weighted by the times
    fitted. Where the jobs can't tell the two apart the acceleration is kept and only the turn-round fitted, with how
    little is known of the acceleration in its error. Neither is let below zero. Intervals are those of the fit without
    that bound, cut off at it. Raises UnreadableError for fewer than two jobs, jobs without scan rows, or times that are
    not above zero.
    """
    _check(jobs)
    findings: list[Finding] = []
    wide_gaps = wide_gaps_told(jobs)
    if wide_gaps == "unknown" and any(job.if_swept for job in jobs):
        findings.append(_note("wide-gaps-unknown", "The times do not tell yet how wide gaps in a row are crossed."))
    jobs = [_as_crossed(job, wide_gaps) for job in jobs]
    design, target, start = _linear(jobs)
    actual_s = np.array([job.actual_s for job in jobs])
    weight_s = _weight_s(actual_s)
    both = _told_apart(design / weight_s[:, None])
    if not both:
        findings.append(
            _warning("jobs-too-alike", "The timed jobs are too much alike to tell acceleration from turn-round; the "
                     "acceleration was kept. Time one more at another speed.")
        )  # fmt: skip
    free = [0, 1] if both else [1]
    for _ in range(_ROUNDS):
        plain = _change(design, target, weight_s, free)
        fitted_s = actual_s - (target - design @ plain)
        weight_s = _weight_s(np.maximum(fitted_s, 0.2 * actual_s))
    change, kept = _bounded(design, target, weight_s, start, plain, free, findings)
    residuals_s = target - design @ change
    freedom = len(jobs) - len(free)
    scaled = (target - design @ plain) / weight_s
    share = math.sqrt(float(scaled @ scaled) / freedom) if freedom else STARTING_SPREAD_SHARE
    if not freedom:
        findings.append(
            _note("two-timed-jobs", f"Two jobs leave no spread to see, so {100 * STARTING_SPREAD_SHARE:.0f} % was "
                  "taken; a third one would show it.")
        )  # fmt: skip
    covariance, reach = _spread(design / weight_s[:, None], start, free, share, freedom)
    low, high = start + plain - reach, start + plain + reach
    inverse, turn_round = (start + change).tolist()
    errors = np.sqrt(np.diag(covariance))
    return RunTimeFit(
        acceleration_mm_s2=_not_told(1 / inverse)
        if "scan_acceleration_mm_s2" in kept
        else Estimate(
            value=1 / inverse,
            standard_error=float(errors[0]) / inverse**2,
            low=1 / max(float(high[0]), inverse),
            high=1 / min(float(low[0]), inverse) if low[0] > 0 else math.inf,
        ),
        turn_round_s=Estimate(
            value=turn_round,
            standard_error=float(errors[1]),
            low=max(0.0, min(float(low[1]), turn_round)),
            high=max(float(high[1]), turn_round),
        ),
        covariance=tuple(tuple(map(float, row)) for row in covariance),  # type: ignore[arg-type]  # two by two
        spread_share=share,
        residuals_s=tuple(map(float, residuals_s)),
        findings=tuple(findings),
        kept=kept,
        wide_gaps=wide_gaps,
    )


def wide_gaps_told(jobs: Sequence[TimedJob]) -> WideGaps:
    """How the machine crosses wide gaps, where the times of one or more jobs tell; else "unknown".

    The times are held to be normal about the predictions of either way, with the spread of starting figures (a Bayes
    factor; R. E. Kass, A. E. Raftery, J. Am. Stat. Assoc. 90, 773 (1995): 20 to 1 is strong). Times that fit neither
    way tell nothing.
    """
    if not any(job.if_swept for job in jobs):
        return "unknown"
    ways: tuple[WideGaps, ...] = ("apart", "swept")
    (worse, _, _), (better, misfit, way) = sorted(
        (*_log_likelihood([_as_crossed(job, way) for job in jobs]), way) for way in ways
    )
    fits = misfit < len(jobs) + 4 * math.sqrt(2 * len(jobs))  # four standard deviations of chi squared
    return way if fits and better - worse > math.log(TOLD_AT_ODDS) else "unknown"


def _log_likelihood(jobs: Sequence[TimedJob]) -> tuple[float, float]:
    """Of the times by starting figures, but for a constant; and how far they are off: chi squared."""
    design, target, start = _linear(jobs)
    known = np.array([STARTING_INVERSE_SHARE * start[0], max(STARTING_TURN_ROUND_S, float(start[1]))])
    leaning = design * known
    own_s = STARTING_SPREAD_SHARE * _weight_s(np.array([job.actual_s for job in jobs]))
    covariance = leaning @ leaning.T + np.diag(own_s**2)
    misfit = float(target @ np.linalg.solve(covariance, target))
    return -0.5 * (misfit + float(np.linalg.slogdet(covariance)[1])), misfit


def _as_crossed(job: TimedJob, way: str) -> TimedJob:
    if way != "swept" or job.if_swept is None:
        return job
    return TimedJob(
        name=job.name,
        actual_s=job.actual_s,
        predicted_s=job.if_swept.predicted_s,
        acceleration_mm_s2=job.acceleration_mm_s2,
        turn_round_s=job.turn_round_s,
        inverse_acceleration_slope=job.if_swept.inverse_acceleration_slope,
        turn_rounds=job.if_swept.turn_rounds,
    )


def _check(jobs: Sequence[TimedJob]) -> None:
    if len(jobs) < 2:
        raise UnreadableError(
            f"{'One timed job' if jobs else 'No timed jobs'} so far: acceleration and turn-round take two at least.",
            hint="Time jobs of different speeds or row lengths.",
        )
    for job in jobs:
        if not (math.isfinite(job.actual_s) and job.actual_s > 0):
            raise UnreadableError(f"{job.name}: a time of {job.actual_s:g} s makes no sense.", hint="Give seconds.")
    if not any(job.turn_rounds > 0 for job in jobs):
        raise UnreadableError("The timed jobs hold no scan rows.", hint="Time jobs with fills.")


def _linear(jobs: Sequence[TimedJob]) -> tuple[Floats, Floats, Floats]:
    """(n, 2) slopes; (n,) seconds that are missing by the last job's figures; those, 1/acceleration and turn-round."""
    design = np.array([[job.inverse_acceleration_slope, job.turn_rounds] for job in jobs])
    used = np.array([[1.0 / job.acceleration_mm_s2, job.turn_round_s] for job in jobs])
    start = used[-1]
    missing_s = np.array([job.actual_s - job.predicted_s for job in jobs])
    return design, missing_s + ((used - start) * design).sum(1), start


def _weight_s(time_s: Floats | float) -> Floats:
    """What a job's spread is in proportion to."""
    return np.hypot(time_s, SHORT_JOB_S)


def _told_apart(design: Floats) -> bool:
    return bool(np.linalg.cond(design / np.maximum(np.abs(design).max(0), 1e-300)) < ALIKE)


def _change(design: Floats, target: Floats, weight_s: Floats, free: list[int]) -> Floats:
    change = np.zeros(2)
    change[free] = np.linalg.lstsq(design[:, free] / weight_s[:, None], target / weight_s, rcond=None)[0]
    return change


def _bounded(
    design: Floats, target: Floats, weight_s: Floats, start: Floats, plain: Floats, free: list[int],
    findings: list[Finding],
) -> tuple[Floats, tuple[str, ...]]:  # fmt: skip
    """The change that leaves both figures at or above zero, and which figures are kept as they were."""
    change = plain
    kept = () if 0 in free else ("scan_acceleration_mm_s2",)
    if 0 in free and start[0] + change[0] < 1e-9:
        findings.append(_warning("beyond-the-model", "The times ask for acceleration without limit; it was kept."))
        change, kept = _change(design, target, weight_s, [1]), ("scan_acceleration_mm_s2",)
    if start[1] + change[1] < 0.0:
        findings.append(_warning("beyond-the-model", "The times ask for turn-round below zero; it was set to 0."))
        none = np.array([0.0, -start[1]])
        change = none if kept else none + _change(design, target - design @ none, weight_s, [0])
    if start[0] + change[0] < 1e-9:
        change, kept = np.array([0.0, change[1]]), ("scan_acceleration_mm_s2",)
    return change, kept


def _spread(scaled: Floats, start: Floats, free: list[int], share: float, freedom: int) -> tuple[Floats, Floats]:
    """Covariance of both figures, and how far their 95 % intervals reach."""
    factor, normal = student_t_975(freedom) if freedom else student_t_975(10_000), student_t_975(10_000)
    chosen = scaled[:, free]
    covariance = np.zeros((2, 2))
    covariance[np.ix_(free, free)] = np.linalg.inv(chosen.T @ chosen) * share**2
    reach = factor * np.sqrt(np.diag(covariance))
    if 0 not in free:  # what the acceleration is off by goes into the turn-round
        known = STARTING_INVERSE_SHARE * start[0]
        leaning = np.array([1.0, -float(scaled[:, 0] @ scaled[:, 1]) / float(scaled[:, 1] @ scaled[:, 1])])
        covariance += np.outer(leaning, leaning) * known**2
        reach = np.hypot(reach, normal * known * np.abs(leaning))
    return covariance, reach


def _not_told(value: float) -> Estimate:
    return Estimate(value=value, standard_error=math.inf, low=0.0, high=math.inf)


def _warning(code: str, message: str) -> Finding:
    return Finding(code=code, message=message)


def _note(code: str, message: str) -> Finding:
    return Finding(code=code, message=message, severity="note")
