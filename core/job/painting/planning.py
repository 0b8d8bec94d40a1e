"""The paint plan: colours in an order, a mask for each, why, and what it takes.

What each step must keep off: areas that wait for another colour, areas that stay bare, and painted areas whose paint
hides so weakly that this colour would show through. That depends only on which colours are done, not on their order.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.finishing.amounts import Amount, amount_of
from core.finishing.checks import check_finishing
from core.finishing.explaining import counted, order_reasons, weak_words
from core.finishing.fine_masks import fine_opening
from core.finishing.masks import (
    NOTHING,
    Ground,
    MaskFigures,
    ground_around,
    grown,
    mask_figures,
    mask_opening,
    needed_opening,
    simple_cover,
)
from core.finishing.order import EXACT_UP_TO, Order, best_order, step_costs, swap_costs
from core.finishing.paints import BARE, Finishing, MaskOptions, Paint, is_weak
from core.finishing.steps import Colouring, PaintPlan, PaintStep
from core.finishing.tight_places import TightPlace, ways_out
from core.finishing.weeding import Speck, specks_of, without_specks
from core.geometry.engine import shared, subtracted, united
from core.job.painting.colouring import colouring, paints_of_shapes
from core.job.painting.ways import burn_of_places, burn_reasons
from core.job.painting.weighing import Weighing, weighing_of
from core.job.plan import Plan
from core.job.remembering import cached
from core.progress import Progress, part, silent

_SPRAY_MARGIN_MM = 10.0
_NO_FIGURES = MaskFigures(
    cut_length_mm=0.0,
    openings=0,
    islands=0,
    effort_min=0.0,
)


def paint_plan(plan: Plan, *, progress: Progress = silent) -> PaintPlan:
    """The plan for the job's colours, in the maker's order or the cheapest. No steps where nothing is painted.

    Raises UnreadableError where a figure makes no sense, Cancelled when the progress callback does.
    """
    finishing = plan.job.finishing
    check_finishing(finishing)
    decided = paints_of_shapes(plan)
    key = _key(plan, decided[0])
    coloured = cached(("colouring", key), lambda: colouring(plan, decided, progress=part(progress, 0.0, 0.2)))
    coloured = _with_paints(coloured, decided[1])
    ground = ground_around(coloured.outline, coloured.filled, finishing.masks, plan.datum)
    weighing = weighing_of(plan, coloured, ground, key, progress=part(progress, 0.2, 0.4))
    count = len(coloured.areas)
    best, best_cost = best_order(count, weighing.step_cost, progress=part(progress, 0.4, 0.6))
    worst_cost = _worst_cost(count, weighing) if count <= EXACT_UP_TO else None
    names = tuple(area.paint.name for area in coloured.areas)
    order = _wanted_order(finishing.order, names, best)
    burns = burn_of_places(order, names, finishing) if plan.job.stock.coat else (1,) * count
    steps = _steps(plan, weighing, ground, order, burns, key, progress=part(progress, 0.6, 1.0))
    cost = sum(step.effort_min for step in steps)
    return PaintPlan(
        colouring=coloured,
        ground=ground,
        steps=steps,
        order=tuple(names[i] for i in order),
        effort_min=cost,
        best_order=tuple(names[i] for i in best),
        best_effort_min=best_cost,
        worst_effort_min=worst_cost,
        exact=count <= EXACT_UP_TO,
        reasons=burn_reasons([coloured.areas[i].paint.name for i in order], burns)
        if max(burns, default=1) > 1
        else order_reasons(
            [coloured.areas[i].paint for i in order],
            costs=step_costs(order, weighing.step_cost),
            swaps=swap_costs(order, weighing.step_cost),
            kept_off=[step.kept_off for step in steps],
            best_min=best_cost,
            worst_min=worst_cost,
            exact=count <= EXACT_UP_TO,
        ),
        amounts=_amounts(steps, coloured, finishing),
        findings=_findings(plan, steps, coloured, finishing),
    )


def painted_region(step: PaintStep, masks: MaskOptions, outline: BaseGeometry) -> BaseGeometry:
    """Where a step's paint comes down on the piece, front frame; without a mask, its areas with a margin for spray."""
    if step.floods:
        return outline
    if step.opening is not None:
        return shared(step.opening, outline)
    margin_mm = _SPRAY_MARGIN_MM if step.area.paint.kind == "spray" else masks.bleed_mm
    if not margin_mm:
        return shared(step.area.region, outline)
    # part by part: ten thousand parts that come to overlap take a buffer of them all tens of gigabytes
    parts = shapely.simplify(shapely.get_parts(step.area.region), margin_mm / 50)
    return shared(shapely.union_all(shapely.buffer(parts, margin_mm, quad_segs=4)), outline)


def _key(plan: Plan, paint_of: Mapping[str, str]) -> Hashable:
    """All that the geometry of the paint plan depends on."""
    job = plan.job
    drawing = (job.source, job.reading, job.repairs, job.sorting, tuple(plan.layer_of.items()))
    return (drawing, plan.copies_to_front, job.sheet, bool(job.stock.coat), tuple(paint_of.items()), plan.datum)


def _with_paints(coloured: Colouring, now: Sequence[Paint]) -> Colouring:
    """The remembered areas with the paints as they are now."""
    paints = {paint.name: paint for paint in now}
    return replace(coloured, areas=tuple(replace(area, paint=paints[area.paint.name]) for area in coloured.areas))


def _worst_cost(count: int, weighing: Weighing) -> float:
    return abs(best_order(count, lambda colour, done: -weighing.step_cost(colour, done))[1])


def _wanted_order(wanted: Sequence[str], names: Sequence[str], best: Order) -> Order:
    """The maker's order as far as it goes; colours it does not name come where the best order has them, at the end."""
    chosen = list(dict.fromkeys(names.index(name) for name in wanted if name in names))
    return (*chosen, *(colour for colour in best if colour not in chosen))


def _steps(
    plan: Plan,
    weighing: Weighing,
    ground: Ground,
    order: Order,
    burns: Sequence[int],
    key: Hashable,
    *,
    progress: Progress,
) -> tuple[PaintStep, ...]:
    steps = []
    bare_later = max(burns, default=1) > 1 and plan.job.finishing.burned_later(BARE)
    for place, colour in enumerate(order):
        share = part(progress, place / len(order), (place + 1) / len(order))
        done = frozenset(order[:place])
        later = {order[i] for i, burn in enumerate(burns) if burn > burns[place]}
        coated = frozenset(later | {len(order)} if bare_later else later)
        step = _step(plan, weighing, ground, colour, done, coated, key, progress=share)
        steps.append(replace(step, burn=burns[place], floods=bool(later) and step.opening is None))
    return tuple(steps)


def _step(
    plan: Plan,
    weighing: Weighing,
    ground: Ground,
    colour: int,
    done: frozenset[int],
    coated: frozenset[int],
    key: Hashable,
    *,
    progress: Progress,
) -> PaintStep:
    masks, area = plan.job.finishing.masks, weighing.areas[colour]
    kept_off = weighing.kept_off(colour, done, coated)
    names = tuple(_name(weighing, other) for other in sorted(kept_off))
    by_laser = masks.film_stays_on and not done
    opening, patches, figures = None, NOTHING, _NO_FIGURES
    specks: tuple[Speck, ...] = ()
    if by_laser:
        opening = area.region
        patches = patches_over(area.region, weighing.region(kept_off), ground, masks) if kept_off else NOTHING
        figures = mask_figures(patches) if kept_off else _NO_FIGURES
    elif kept_off:
        opening = cached(
            ("mask", key, masks, colour, kept_off),
            lambda: _opening(weighing, colour, kept_off, ground, masks, progress=progress),
        )
        opening, islands = without_specks(opening, masks.least_bridge_mm)
        if islands:
            named = [(_name(weighing, other), weighing.region(frozenset({other}))) for other in sorted(kept_off)]
            specks = specks_of(islands, named)
        figures = mask_figures(opening)
    return PaintStep(
        number=len(done) + 1,
        area=area,
        opening=opening,
        made_by="laser" if by_laser else "knife" if kept_off else "none",
        patches=patches,
        kept_off=names,
        figures=figures,
        tight_places=_tight_places(weighing, colour, done, kept_off),
        effort_min=weighing.handwork_min(colour, kept_off),
        specks=specks,
    )


def _opening(
    weighing: Weighing,
    colour: int,
    kept_off: frozenset[int],
    ground: Ground,
    masks: MaskOptions,
    *,
    progress: Progress,
) -> BaseGeometry:
    if weighing.fine:
        own, waiting = weighing.fine[colour], [weighing.fine[other] for other in sorted(kept_off)]
        return fine_opening(own, waiting, ground, masks, progress=progress)
    return mask_opening(weighing.areas[colour].region, weighing.region(kept_off), ground, masks, progress=progress)


def patches_over(own: BaseGeometry, waiting: BaseGeometry, ground: Ground, masks: MaskOptions) -> BaseGeometry:
    """Pieces of film laid over what waits where the sheet's own film is the mask; never over ``own``."""
    covered = united([waiting, grown(waiting, masks.clearance_mm)])
    cover = simple_cover(covered, ground.film, masks)
    return united([subtracted(cover, needed_opening(own, waiting, masks)), subtracted(waiting, own)])


def _specks_finding(step: PaintStep, finishing: Finishing) -> Finding:
    """Which colours get a step's paint where film is too narrow to hold."""
    names = sorted({name for speck in step.specks for name in speck.covers})
    widest = max(step.specks, key=lambda speck: speck.width_mm)
    return Finding(
        code="specks-dropped",
        message=f"Mask {step.number}, {step.area.paint.name}: {counted(len(step.specks), 'speck')} of film over "
        f"{', '.join(names)} would be narrower than {finishing.masks.least_bridge_mm:g} mm and are left out, so "
        f"{step.area.paint.name} comes down there. Paint {' and '.join(names)} first, or burn it later.",
        x_mm=widest.x_mm,
        y_mm=widest.y_mm,
    )


def _name(weighing: Weighing, colour: int) -> str:
    return weighing.areas[colour].paint.name if colour < len(weighing.areas) else BARE


def _tight_places(
    weighing: Weighing, colour: int, done: frozenset[int], kept_off: frozenset[int]
) -> tuple[TightPlace, ...]:
    own = weighing.areas[colour]
    own_areas = shapely.area(shapely.get_parts(own.region))
    places = []
    for other in sorted(kept_off):
        name = _name(weighing, other)
        region = weighing.areas[other].region if other < len(weighing.areas) else weighing.kept_clear
        other_areas = shapely.area(shapely.get_parts(region))
        for near in weighing.close[colour, other]:
            smaller = near.other_part < len(other_areas) and other_areas[near.other_part] < own_areas[near.part]
            places.append(
                TightPlace(
                    own=own.paint.name,
                    kept_off=name,
                    x_mm=near.x_mm,
                    y_mm=near.y_mm,
                    distance_mm=near.distance_mm,
                    stretch_mm=near.stretch_mm,
                    ways_out=ways_out(
                        own.paint.name,
                        name,
                        near.distance_mm,
                        waits=other not in done,
                        kept_off_is_smaller=bool(smaller),
                    ),
                )
            )
    return tuple(sorted(places, key=lambda place: (place.distance_mm, -place.stretch_mm)))


def _amounts(steps: Sequence[PaintStep], coloured: Colouring, finishing: Finishing) -> tuple[Amount, ...]:
    """What each paint takes, and each backing."""
    amounts = []
    paints = {paint.name: paint for paint in finishing.paints}
    for step in steps:
        paint = step.area.paint
        area_mm2 = painted_region(step, finishing.masks, coloured.outline).area
        amounts.append(amount_of(paint, area_mm2, pieces=finishing.pieces))
        if paint.backing_coats and paint.backing in paints:
            backing: Paint = paints[paint.backing]
            amounts.append(amount_of(backing, area_mm2, coats=paint.backing_coats, pieces=finishing.pieces))
    return tuple(amounts)


def _findings(plan: Plan, steps: Sequence[PaintStep], coloured: Colouring, finishing: Finishing) -> tuple[Finding, ...]:
    findings = []
    if steps and not plan.job.stock.coat:
        findings.append(
            Finding(
                code="paint-without-coat",
                message=f"{plan.job.stock.name} has no coat that hides paint beside an area: every edge shows as it is "
                "cut, so each opening ends exactly at its area.",
            )
        )
    known = {paint.name for paint in finishing.paints}
    for step in steps:
        paint = step.area.paint
        if is_weak(paint):
            findings.append(Finding(code="weak-paint", message=weak_words(paint)))
        if paint.backing_coats and paint.backing not in known:
            findings.append(
                Finding(code="no-backing", message=f"{paint.name} is to be backed with a paint this job does not have.")
            )
    tight = [place for step in steps for place in step.tight_places]
    if tight:
        nearest = min(tight, key=lambda place: place.distance_mm)
        findings.append(
            Finding(
                code="tight-mask",
                message=f"{len(tight)} places are closer than the film's least bridge of "
                f"{finishing.masks.least_bridge_mm:g} mm; the closest: {nearest.own} and {nearest.kept_off}, "
                f"{nearest.distance_mm:.2f} mm.",
                x_mm=nearest.x_mm,
                y_mm=nearest.y_mm,
            )
        )
    findings += [_specks_finding(step, finishing) for step in steps if step.specks]
    gone = [name for name in finishing.order if name not in {area.paint.name for area in coloured.areas}]
    if gone:
        findings.append(
            Finding(
                code="order-names-unused",
                message=f"The chosen order names {', '.join(gone)}, which nothing is painted with.",
                severity="note",
            )
        )
    return tuple(findings)
