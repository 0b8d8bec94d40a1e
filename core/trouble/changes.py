"""What to change next time, as a job: one function for each key that a cause names."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from core.burning.dose_window import remedies
from core.errors import JobError, TainError, UnreadableError
from core.figures import check_figures
from core.finishing.paints import Paint
from core.job.datum import with_datum
from core.job.decisions import with_keep_size, with_recipe
from core.job.job import Job
from core.job.painting.colouring import paints_of_shapes
from core.job.painting.decisions import with_bond, with_masks, with_paint
from core.job.plan import Plan
from core.trouble.case.noted import Noted
from core.trouble.causes.cause import Cause

LONGER = 1.5
"""A wait that may have been too short is made so many times as long. Ours."""
LEAST_WAIT_MIN = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What Tain can change for next time. key: of the cause's change. job: the job with it done."""

    key: str
    words: str
    job: Job


def change_for(plan: Plan, cause: Cause, noted: Noted) -> Change | None:
    """The change that the cause asks for in this job; None where there is none, or where it is so already."""
    if not cause.change:
        return None
    try:
        found = _CHANGES[cause.change](plan, noted)
        if found is None or found[1] == plan.job:
            return None
        check_figures(found[1])
    except TainError:
        return None
    return Change(key=cause.change, words=found[0], job=found[1])


Found = tuple[str, Job] | None


def _paint_meant(plan: Plan, noted: Noted, *, several_coats: bool = False) -> Paint:
    """The paint at fault, or the only one. Raises UnreadableError where it is not plain which."""
    paints = [paint for paint in paints_of_shapes(plan)[1] if paint.kind != "film"]
    if several_coats:
        paints = [paint for paint in paints if paint.coats > 1]
    named = [paint for paint in paints if paint.name.casefold() == noted.paint.casefold()]
    if noted.paint and named:
        return named[0]
    if len(paints) == 1 and not noted.paint:
        return paints[0]
    raise UnreadableError("Which paint is at fault is not said.", hint="Name it.")


def _longer_wait(plan: Plan, noted: Noted) -> Found:
    paint = _paint_meant(plan, noted, several_coats=True)
    wait_min = max(LEAST_WAIT_MIN, round(LONGER * paint.between_coats_min))
    if paint.recoat_within_min:
        wait_min = min(wait_min, paint.recoat_within_min)
    words = f"{paint.name}: wait {wait_min:g} min between coats, not {paint.between_coats_min:g}"
    return words, with_paint(plan, paint.name, replace(paint, between_coats_min=float(wait_min)))


def _within_limit(plan: Plan, noted: Noted) -> Found:
    """One piece at a time keeps to a limit that a batch does not."""
    paint = _paint_meant(plan, noted, several_coats=True)
    if not paint.recoat_within_min:
        return None
    if plan.job.finishing.pieces > 1:
        words = f"Finish the pieces one at a time: {paint.name} keeps its limit of {paint.recoat_within_min:g} min"
        return words, replace(plan.job, finishing=replace(plan.job.finishing, pieces=1))
    if paint.between_coats_min > paint.recoat_within_min:
        words = f"{paint.name}: the next coat after {paint.recoat_within_min:g} min, as the can allows"
        return words, with_paint(plan, paint.name, replace(paint, between_coats_min=paint.recoat_within_min))
    return None


def _thinner(plan: Plan, noted: Noted) -> Found:
    paint = _paint_meant(plan, noted)
    if not paint.spreading_rate_m2_l:
        return None
    rate = round(1.5 * paint.spreading_rate_m2_l, 1)
    words = (
        f"{paint.name}: {paint.coats + 1} coats of about {1000 / rate:.0f} µm wet, not {paint.coats} of "
        f"{1000 / paint.spreading_rate_m2_l:.0f}"
    )
    return words, with_paint(plan, paint.name, replace(paint, spreading_rate_m2_l=rate, coats=paint.coats + 1))


def _more_coats(plan: Plan, noted: Noted) -> Found:
    paint = _paint_meant(plan, noted)
    coats = max(paint.coats + 1, paint.hides_in_coats)
    return f"{paint.name}: {coats} coats, not {paint.coats}", with_paint(plan, paint.name, replace(paint, coats=coats))


def _longer_mask(plan: Plan, noted: Noted) -> Found:
    paint = _paint_meant(plan, noted)
    wait_min = round(LONGER * paint.mask_after_min) or 60
    words = f"{paint.name}: wait {wait_min:g} min before the next mask, not {paint.mask_after_min:g}"
    return words, with_paint(plan, paint.name, replace(paint, mask_after_min=float(wait_min)))


def _longer_cure(plan: Plan, noted: Noted) -> Found:
    paint = _paint_meant(plan, noted)
    cure_h = max(12.0, LONGER * paint.cure_h)
    words = f"{paint.name}: let it cure {cure_h:g} h, not {paint.cure_h:g}"
    return words, with_paint(plan, paint.name, replace(paint, cure_h=cure_h))


def _clean_dose(plan: Plan, noted: Noted) -> Found:
    """The first setting that alone makes each unclean fill clean at the best figures."""
    job, told = plan.job, []
    for layer in plan.layers:
        if layer.verdict is None or not layer.shape_ids:
            continue
        offers = remedies(layer.layer.recipe, job.machine, job.stock)
        if offers:
            told.append(f"{layer.layer.name}: {offers[0].words}")
            job = with_recipe(job, layer.layer.id, offers[0].recipe)
    return (" ".join(told), job) if told else None


def _focus(plan: Plan, noted: Noted) -> Found:
    job = plan.job
    for layer in plan.layers:
        if layer.verdict is not None and layer.layer.recipe.focus_mm:
            job = with_recipe(job, layer.layer.id, replace(layer.layer.recipe, focus_mm=0.0))
    return "Set the focus on the coat", job


def _edges(plan: Plan, noted: Noted) -> Found:
    job = plan.job
    for layer in plan.layers:
        if layer.verdict is not None and layer.layer.recipe.edges != "compensated":
            job = with_recipe(job, layer.layer.id, replace(layer.layer.recipe, edges="compensated"))
    return "Move outlines so that what is bared ends where drawn", job


def _pins(plan: Plan, noted: Noted) -> Found:
    datum = replace(plan.job.datum, kind="pins", places=())
    return "Lay every file by pins", with_datum(plan.job, datum)


def _slower_cut(plan: Plan, noted: Noted) -> Found:
    job, told = plan.job, []
    for layer in plan.layers:
        if layer.layer.purpose == "cut" and layer.paths:
            recipe = layer.layer.recipe
            speed = round(0.85 * recipe.speed_mm_s, 1)
            told.append(f"{layer.layer.name} at {speed:g} mm/s, not {recipe.speed_mm_s:g}")
            job = with_recipe(job, layer.layer.id, replace(recipe, speed_mm_s=speed))
    return ("; ".join(told), job) if told else None


def _air(plan: Plan, noted: Noted) -> Found:
    job = plan.job
    for layer in plan.layers:
        if layer.layer.purpose == "cut" and layer.layer.recipe.air == "off":
            job = with_recipe(job, layer.layer.id, replace(layer.layer.recipe, air="high"))
    return "Air high for the cuts, as the machine's manual allows", job


def _size_kept(plan: Plan, noted: Noted) -> Found:
    job = plan.job
    for layer in plan.layers:
        if layer.layer.purpose == "cut" and not layer.layer.keep_size:
            job = with_keep_size(job, layer.layer.id, True)
    return f"Move cut lines for the kerf of {job.stock.kerf_mm:g} mm, so that parts keep their drawn size", job


def _tape(plan: Plan, noted: Noted) -> Found:
    if not plan.job.finishing.joint:
        raise JobError("No joint is chosen.")
    return "Hold the joint with transfer tape", with_bond(
        plan.job, joint=plan.job.finishing.joint, adhesive="transfer tape"
    )


def _film_off(plan: Plan, noted: Noted) -> Found:
    return "Take the sheet's film off before the burn", with_masks(
        plan.job, replace(plan.job.finishing.masks, film_stays_on=False)
    )


_CHANGES: dict[str, Callable[[Plan, Noted], Found]] = {
    "longer wait": _longer_wait,
    "within the limit": _within_limit,
    "thinner coats": _thinner,
    "one more coat": _more_coats,
    "longer before the mask": _longer_mask,
    "longer cure": _longer_cure,
    "a clean dose": _clean_dose,
    "focus on the coat": _focus,
    "compensated edges": _edges,
    "pins as datum": _pins,
    "a slower cut": _slower_cut,
    "air for cuts": _air,
    "size kept": _size_kept,
    "tape on the coat": _tape,
    "tape on the joint": _tape,
    "film off": _film_off,
}
CHANGE_KEYS = tuple(_CHANGES)
