"""A paint plan as the bench has it: burn, mask, colour, wait, peel, and what is seen after each."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from core.finishing.bench_work import Task
from core.finishing.paints import Paint
from core.finishing.steps import FrontArea, PaintPlan, PaintStep
from core.finishing.timetable import Timetable
from core.geometry.engine import shared, subtracted
from core.geometry.region import BaseGeometry
from core.geometry.rings import NOTHING
from core.job.painting.burning import Burn, BurnPlan
from core.job.painting.stages import Stage, looks_after, stages_of
from core.job.plan import Plan

BenchKind = Literal["burn", "mask", "colour", "flood", "wait", "cure", "peel"]
_HANDS: dict[BenchKind, tuple[str, ...]] = {
    "mask": ("mask",),
    "colour": ("coat", "backing"),
    "flood": ("coat", "backing"),
    "peel": ("peel", "film"),
}
"""The kinds of handwork in the timetable that a step stands for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BenchStep:
    """One thing that is done at the bench or the machine, or waited for.

    colour: name of the paint that it belongs to; a burn belongs to the first colour it clears, one that leaves areas
    bare to the colour before it. figure: how many coats, how long. done: how many of ``stages_of`` are
    done after it. film: what lies on the back after it, front frame. begins: for the first piece, where the timetable
    has it.
    """

    kind: BenchKind
    colour: str
    figure: str
    done: int
    step: PaintStep | None = None
    burn: Burn | None = None
    film: BaseGeometry = NOTHING
    begins: datetime | None = None


def bench_steps(plan: Plan, painting: PaintPlan, burning: BurnPlan | None, table: Timetable) -> tuple[BenchStep, ...]:
    """Everything that is done, first to last; empty where nothing is painted."""
    if not painting.steps:
        return ()
    paints = {paint.name: paint for paint in plan.job.finishing.paints}
    stages = stages_of(painting, burning)
    begins = _begins(table)
    found: list[BenchStep] = []
    for done, stage in enumerate(stages, start=1):
        if stage.step is None:
            following = next((later.step for later in stages[done:] if later.step is not None), None)
            colour = (following or painting.steps[-1]).area.paint.name
            found.append(BenchStep(kind="burn", colour=colour, figure=_burn_time(stage), done=done, burn=stage.burn))
            continue
        cures = done == len(stages) or stages[done].kind == "burn"
        found += _of_colour(painting, stage.step, done, paints, begins, cures=cures)
    return tuple(found)


def looks_at(plan: Plan, painting: PaintPlan, burning: BurnPlan | None, at: BenchStep) -> tuple[FrontArea, ...]:
    """The front after a step, as far as it differs from bared sheet: coat that is burned later, and paints."""
    looks = looks_after(plan, painting, stages_of(painting, burning)[: at.done])
    filled = painting.colouring.filled
    later = [
        FrontArea(kind="coat", name=look.name, colour=None, region=shared(look.region, filled))
        for look in looks
        if look.kind == "coat"
    ]
    return tuple(look for look in (*later, *(one for one in looks if one.kind == "paint")) if not look.region.is_empty)


def next_at(painting: PaintPlan, table: Timetable) -> Mapping[str, datetime]:
    """By paint: when work goes on after it, on the first piece; after the last, when the piece may be handled."""
    own = [task for task in table.tasks if task.piece == 1]
    found = {}
    for step in painting.steps:
        last = max((n for n, task in enumerate(own) if task.link.step == step.number), default=None)
        if last is not None:
            found[step.area.paint.name] = own[last + 1].start if last + 1 < len(own) else table.done[0]
    return found


def _of_colour(
    painting: PaintPlan,
    step: PaintStep,
    done: int,
    paints: Mapping[str, Paint],
    begins: Mapping[tuple[int, str], datetime],
    *,
    cures: bool,
) -> list[BenchStep]:
    """Mask, colour, wait, peel, cure: those of them that this colour needs."""
    film = _film(painting, step)
    masked = not film.is_empty
    backing = paints.get(step.area.paint.backing) if step.area.paint.backing_coats else None
    wait_min = max(one.mask_after_min for one in (step.area.paint, backing) if one is not None)
    cure_h = max(one.cure_h for one in (step.area.paint, backing) if one is not None)

    def made(kind: BenchKind, figure: str, done: int, film: BaseGeometry = NOTHING) -> BenchStep:
        at = next(
            (begins[step.number, hands] for hands in _HANDS.get(kind, ()) if (step.number, hands) in begins), None
        )
        return BenchStep(
            kind=kind, colour=step.area.paint.name, figure=figure, done=done, step=step, film=film, begins=at
        )

    steps = [made("mask", "", done - 1, film)] if masked else []
    steps.append(made("flood" if step.floods else "colour", _coats(step.area.paint), done, film))
    if wait_min and (step.is_peeled or not cures):
        steps.append(made("wait", short_time(60 * wait_min), done, film))
    if step.is_peeled:
        steps.append(made("peel", "", done))
    if cures and cure_h:
        steps.append(made("cure", short_time(3600 * cure_h), done))
    return steps


def short_time(time_s: float) -> str:
    """A wait in as few letters as can be: ``"45 min"``, ``"1 h"``, ``"1.5 h"``."""
    if time_s < 3600:
        return f"{time_s / 60:.0f} min"
    return f"{time_s / 3600:.1f}".rstrip("0").rstrip(".") + " h"


def _burn_time(stage: Stage) -> str:
    return short_time(stage.burn.time_range.best_s) if stage.burn is not None else ""


def _coats(paint: Paint) -> str:
    coats = f"{paint.coats} coat" + ("s" if paint.coats != 1 else "")
    return f"{paint.coats} + {paint.backing_coats} coats" if paint.backing and paint.backing_coats else coats


def _film(painting: PaintPlan, step: PaintStep) -> BaseGeometry:
    """What a step's mask covers: film with its openings, or patches where the sheet's own film is the mask."""
    if step.made_by == "knife" and step.opening is not None:
        return subtracted(painting.ground.film, step.opening)
    return step.patches


def _begins(table: Timetable) -> dict[tuple[int, str], datetime]:
    """By colour's number and kind of handwork: when it begins on the first piece."""
    first: dict[tuple[int, str], Task] = {}
    for task in table.tasks:
        if task.piece == 1:
            first.setdefault((task.link.step, task.link.kind), task)
    return {key: task.start for key, task in first.items()}
