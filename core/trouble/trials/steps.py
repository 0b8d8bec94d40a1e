"""The trial's work step by step, one pair of hands: waits that are varied are kept to the minute.

Each patch is worked on by itself, in the order drawn by lot, so that repeats are repeats. A patch's chain of handwork
is laid into the first gap where all its links fit with their waits exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

import numpy as np

from core.finishing.calendar_file import Event, events_file
from core.finishing.timetable import start_of
from core.trouble.trials.trial import StepDone, Trial, TrialPatch

StepKind = Literal["burn", "wipe", "prime", "coat", "rest", "cement", "judge"]
WIPE_MIN, PRIMER_WAIT_MIN, REST_H, CEMENT_H = 2.0, 20.0, 24.0, 24.0
"""Common practice, no source; can, cement and sheet maker say otherwise where they do."""
_HORIZON_DAYS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step. key: what ticks name it by. after: the key of the step that its wait counts from, "" for none.

    wait_min: from the end of that step; exact: the wait is what is tried, no shorter and no longer.
    """

    key: str
    patches: tuple[str, ...]
    kind: StepKind
    words: str
    start: datetime
    end: datetime
    after: str = ""
    wait_min: float = 0.0
    exact: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Link:
    kind: StepKind
    words: str
    duration_min: float
    wait_min: float
    exact: bool


def steps_of(trial: Trial) -> tuple[Step, ...]:
    """All steps in order of time. Raises UnreadableError when the workday's start is no date and time."""
    begin = start_of(trial.workday)
    burn = begin + timedelta(minutes=15)
    busy = _closed(trial, begin)
    steps = [
        Step(key="burn", patches=tuple(one.label for one in trial.patches), kind="burn",
             words="Burn the trial's file; every caution of it holds.", start=begin, end=burn)
    ]  # fmt: skip
    busy[:15] = True
    for one in sorted(trial.patches, key=lambda patch: patch.turn):
        steps += _placed(one, chain_of(trial, one), busy, begin)
    last = max(steps, key=lambda step: step.end)
    cure_h = trial.paint.cure_h if trial.paint is not None else 0.0
    cure_h = CEMENT_H if any(step.kind == "cement" for step in steps) else cure_h
    at = _open(trial, last.end + timedelta(hours=cure_h))
    judge = "Judge every patch from the front, label by label, without looking at its treatment."
    steps.append(
        Step(key="judge", patches=tuple(one.label for one in trial.patches), kind="judge", words=judge, start=at,
             end=at + timedelta(minutes=len(trial.patches)), after=last.key, wait_min=60 * cure_h)
    )  # fmt: skip
    return tuple(sorted(steps, key=lambda step: (step.start, step.key)))


def hours_taken(trial: Trial) -> float:
    """From the first burn to the last judging, by the clock."""
    steps = steps_of(trial)
    return (steps[-1].end - steps[0].start).total_seconds() / 3600


def chain_of(trial: Trial, one: TrialPatch) -> tuple[_Link, ...]:
    """The handwork on one patch, first to last."""
    levels = {factor.name: level for factor, level in zip(trial.factors, one.levels, strict=True)}
    if "cured_edges" in levels:
        rest = levels["cured_edges"] == "yes"
        words = "Let the edge rest, or have it annealed as the sheet's maker says." if rest else "No rest."
        cement = "Draw a little of the cement along the edge; ventilate, no flame, its safety data sheet first."
        return (
            _Link(kind="rest", words=words, duration_min=1, wait_min=0, exact=False),
            _Link(kind="cement", words=cement, duration_min=2, wait_min=60 * REST_H if rest else 0, exact=True),
        )
    if trial.paint is None:
        return ()
    name = levels.get("paint", trial.paint.name)
    coats = int(float(levels.get("coats", trial.paint.coats)))
    wait_min = float(levels.get("wait_min", trial.paint.between_coats_min))
    wet = f", {levels['wet_um']} µm wet by gauge" if "wet_um" in levels else ""
    minutes = max(1.0, trial.workday.coat_min)
    links = []
    if levels.get("wipe_down") == "yes":
        links.append(_Link(kind="wipe", words="Wipe down as the sheet's maker says, no solvent on the coat.",
                           duration_min=WIPE_MIN, wait_min=0, exact=False))  # fmt: skip
    if levels.get("primer") == "yes":
        links.append(
            _Link(kind="prime", words="One light coat of primer.", duration_min=minutes, wait_min=0, exact=False)
        )
    for coat in range(1, coats + 1):
        before = PRIMER_WAIT_MIN if coat == 1 and links and links[-1].kind == "prime" else 0.0
        links.append(
            _Link(kind="coat", words=f"{name}: coat {coat} of {coats}{wet}.", duration_min=minutes,
                  wait_min=before if coat == 1 else wait_min, exact=coat > 1)
        )  # fmt: skip
    return tuple(links)


def trial_calendar(trial: Trial, *, made: datetime | None = None) -> bytes:
    """The steps as an iCalendar file (RFC 5545)."""
    steps = steps_of(trial)
    events = [
        Event(summary=f"Trial {trial.code}: {_where(step)}{step.words}", start=step.start, end=step.end,
              description=_wait_words(step))
        for step in steps
    ]  # fmt: skip
    stamp = made.astimezone(UTC) if made else steps[0].start.replace(tzinfo=UTC)
    return events_file(events, name=f"Trial {trial.code}", stamp=stamp)


def waits_kept(trial: Trial, *, slack: float = 0.2) -> tuple[str, ...]:
    """A sentence for each wait that was ticked off otherwise than it was to be tried, by more than a fifth of it."""
    ticked = {tick.key: _moment(tick) for tick in trial.ticks}
    told = []
    for step in steps_of(trial):
        at, before = ticked.get(step.key), ticked.get(step.after)
        if not step.exact or at is None or before is None:
            continue
        duration_min = (step.end - step.start).total_seconds() / 60
        was_min = (at - before).total_seconds() / 60 - duration_min
        if abs(was_min - step.wait_min) > max(2.0, slack * step.wait_min):
            told.append(
                f"{step.key}: {max(was_min, 0):.0f} min after the step before, {step.wait_min:g} were to be tried."
            )
    return tuple(told)


def running(trial: Trial, now: datetime) -> tuple[tuple[Step, float], ...]:
    """The next step of each patch with the minutes until it is due, below zero where it is late; soonest first.

    A wait counts from the tick of the step before; what waits for no tick is due as planned.
    """
    ticked = {tick.key: _moment(tick) for tick in trial.ticks}
    due: dict[tuple[str, ...], tuple[Step, float]] = {}
    for step in steps_of(trial):
        if step.key in ticked or step.patches in due:
            continue
        before = ticked.get(step.after)
        if step.after and before is None:
            due[step.patches] = (step, float("inf"))
            continue
        at = step.start if before is None else before + timedelta(minutes=step.wait_min)
        due[step.patches] = (step, (at - now).total_seconds() / 60)
    return tuple(sorted(due.values(), key=lambda one: one[1]))


def _moment(tick: StepDone) -> datetime:
    return datetime.fromisoformat(tick.at).replace(tzinfo=None)


def _where(step: Step) -> str:
    return f"{step.patches[0]}: " if len(step.patches) == 1 else ""


def _wait_words(step: Step) -> str:
    if not step.after:
        return ""
    return f"{'Exactly' if step.exact else 'At least'} {step.wait_min:g} min after “{step.after}”."


def _closed(trial: Trial, begin: datetime) -> np.ndarray:
    """Minutes from ``begin`` on in which nobody is there."""
    minutes = np.arange(_HORIZON_DAYS * 24 * 60)
    of_day = (begin.hour * 60 + begin.minute + minutes) % (24 * 60)
    opens, closes = 60 * trial.workday.opens_h, 60 * trial.workday.closes_h
    if closes - opens < 60:  # a day without hours to work in is no help here
        return np.zeros(len(minutes), bool)
    closed: np.ndarray = (of_day < opens) | (of_day >= closes)
    return closed


def _open(trial: Trial, moment: datetime) -> datetime:
    """The first moment from then on when somebody is there."""
    hours = moment.hour + moment.minute / 60
    day = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    if hours < trial.workday.opens_h:
        return day + timedelta(hours=trial.workday.opens_h)
    return moment if hours < trial.workday.closes_h else day + timedelta(days=1, hours=trial.workday.opens_h)


def _placed(one: TrialPatch, links: Sequence[_Link], busy: np.ndarray, begin: datetime) -> list[Step]:
    """The steps of one patch at the first time at which its whole chain fits; ``busy`` is marked with them."""
    offsets, at = [], 0
    for link in links:
        at += round(link.wait_min)
        offsets.append(at)
        at += max(1, round(link.duration_min))
    if not links:
        return []
    needed = np.concatenate(
        [np.arange(at, at + max(1, round(link.duration_min))) for at, link in zip(offsets, links, strict=True)]
    )
    room = len(busy) - int(needed[-1]) - 1
    taken = np.zeros(max(room, 1), bool)
    for minute in needed:
        taken |= busy[minute : minute + len(taken)]
    free = np.flatnonzero(~taken)
    start = int(free[0]) if len(free) else int(np.flatnonzero(busy)[-1]) + 1
    busy[start + needed] = True
    steps: list[Step] = []
    counts: dict[str, int] = {}
    for offset, link in zip(offsets, links, strict=True):
        counts[link.kind] = counts.get(link.kind, 0) + 1
        number = f" {counts[link.kind]}" if link.kind == "coat" else ""
        begins = begin + timedelta(minutes=start + offset)
        steps.append(
            Step(key=f"{one.label} {link.kind}{number}", patches=(one.label,), kind=link.kind, words=link.words,
                 start=begins, end=begins + timedelta(minutes=max(1, round(link.duration_min))),
                 after=steps[-1].key if steps else "burn", wait_min=link.wait_min, exact=link.exact)
        )  # fmt: skip
    return steps
