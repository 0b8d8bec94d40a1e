"""Advice on every fill of a plan."""

from dataclasses import dataclass, replace
from typing import Any

import shapely

from core.burning.advice import (
    InsetFigures,
    ThinPart,
    angle_advice,
    edge_inset_figures,
    thin_parts,
)
from core.burning.beam import FillVerdict
from core.burning.chance import Chance
from core.burning.coverage import Coverage
from core.burning.dose_window import Remedy, remedies
from core.burning.headline import Headline
from core.burning.machines import Machine
from core.burning.next_coupon import CouponOffer, next_coupon
from core.burning.recipe_advice import RecipeAdvice, fastest_recipe, pitch_advice
from core.burning.region_sample import sample_of
from core.geometry.affine import apply_to_region, compose
from core.job.as_data import to_data
from core.job.headlines import layer_headline
from core.job.plan import LayerPlan, Plan
from core.job.remembering import cached
from core.job.report import chance_data
from core.progress import Progress, part, silent
from core.sheet.faces import turn_matrix
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerAdvice:
    """Advice on one fill layer. ``remedies`` is empty where the present recipe is clean. Places: bed frame.

    inset: None for screened pictures, whose spans are as long as their tones need. held_on: in words, the part of very
    large artwork that inset and thin parts were looked for in; empty for all of it.
    """

    layer_id: str
    layer_name: str
    verdict: FillVerdict
    headline: Headline
    next_coupon: CouponOffer | None
    chance: Chance
    remedies: tuple[Remedy, ...]
    pitch: RecipeAdvice
    fastest: RecipeAdvice
    angle: RecipeAdvice
    inset: InsetFigures | None
    thin_parts: tuple[ThinPart, ...]
    held_on: str = ""


def advise(plan: Plan, *, progress: Progress = silent) -> tuple[LayerAdvice, ...]:
    """Advice on each fill layer that holds anything, in burn order. Raises Cancelled when progress does."""
    fills = [layer for layer in plan.layers if layer.layer.purpose == "fill" and not layer.region.is_empty]
    return tuple(
        advise_layer(plan, layer, progress=part(progress, number / len(fills), (number + 1) / len(fills)))
        for number, layer in enumerate(fills)
    )


def advise_layer(plan: Plan, layer: LayerPlan, *, progress: Progress = silent) -> LayerAdvice:
    """Advice on one fill layer."""
    job, recipe = plan.job, layer.layer.recipe
    wanted = job.wanted_chance
    region_bed = apply_to_region(turn_matrix(job.turn, job.sheet), layer.region)
    machine, stock = job.machine, job.stock
    assert layer.verdict is not None and layer.chance is not None
    unsure = layer.chance.clean < wanted and not stock.refused
    scrap = _scrap(layer.chance, recipe, machine, stock, part(progress, 0.0, 0.05)) if unsure else None
    whole = layer.coverage if recipe.edge_inset_mm == 0 else None
    solid_bed, holds_tones = region_bed, layer.screen is not None and layer.verdict.verdict == "clean"
    if layer.screen is not None:
        solid_bed = apply_to_region(turn_matrix(job.turn, job.sheet), layer.outlines)
        to_bed = compose(turn_matrix(job.turn, job.sheet), plan.drawing_to_front)
        region_bed = shapely.union_all([solid_bed, apply_to_region(to_bed, layer.screen.swept())])
    for_solid = _as_it_is if layer.screen is None else _for_solid
    looked_at = sample_of(solid_bed, progress=part(progress, 0.05, 0.05))
    inset = None
    if layer.screen is None:
        before = whole if looked_at.is_whole else None
        step = part(progress, 0.6, 0.9)
        inset = edge_inset_figures(looked_at.region, recipe, machine, stock, before=before, progress=step)
    return LayerAdvice(
        layer_id=layer.layer.id,
        layer_name=layer.layer.name,
        verdict=layer.verdict,
        headline=layer_headline(job, layer),
        next_coupon=scrap,
        chance=layer.chance,
        remedies=() if holds_tones else remedies(recipe, machine, stock),
        pitch=for_solid(
            pitch_advice(region_bed, recipe, machine, stock, wanted=wanted, progress=part(progress, 0.05, 0.2))
        ),
        fastest=for_solid(
            fastest_recipe(region_bed, recipe, machine, stock, wanted=wanted, progress=part(progress, 0.2, 0.4))
        ),
        angle=angle_advice(region_bed, recipe, machine, stock, progress=part(progress, 0.4, 0.6)),
        inset=inset,
        thin_parts=thin_parts(looked_at.region, recipe, machine, stock, progress=part(progress, 0.9, 1.0)),
        held_on=looked_at.words,
    )


def _as_it_is(advice: RecipeAdvice) -> RecipeAdvice:
    return advice


def _for_solid(advice: RecipeAdvice) -> RecipeAdvice:
    """Advice by the chance of closed rows, said of a screen: its tones do not need them."""
    return replace(advice, words=f"Where solid areas shall come off clean too: {advice.words}")


def _scrap(now: Chance, recipe: Recipe, machine: Machine, stock: Stock, progress: Progress) -> CouponOffer | None:
    """Most of the advice's work, and the same whatever the artwork is: worked out once for a recipe."""
    return cached(
        ("next coupon", recipe), lambda: next_coupon(recipe, machine, stock, now, progress=progress), machine, stock
    )


def advice_data(advice: LayerAdvice) -> dict[str, Any]:
    """The advice as plain data for JSON."""
    return {
        "layer": advice.layer_name,
        "verdict": advice.verdict.verdict,
        "words": advice.verdict.words,
        "headline": advice.headline.words,
        **chance_data(advice.chance),
        "next_coupon": _offer_data(advice.next_coupon),
        "remedies": [to_data(remedy) for remedy in advice.remedies],
        "coarsest_pitch": _recipe_data(advice.pitch),
        "fastest_recipe": _recipe_data(advice.fastest),
        "scan_angle": _recipe_data(advice.angle),
        "held_on": advice.held_on,
        "edge_inset": _inset_data(advice.inset),
        "thin_parts": [to_data(thin) for thin in advice.thin_parts],
    }


def _inset_data(inset: InsetFigures | None) -> dict[str, Any] | None:
    if inset is None:
        return None
    return {
        "edge_inset_mm": inset.recipe.edge_inset_mm,
        "before": _coverage_data(inset.before),
        "after": _coverage_data(inset.after),
    }


def _offer_data(offer: CouponOffer | None) -> dict[str, Any] | None:
    return None if offer is None else {**to_data(offer), "words": offer.words}


def _recipe_data(advice: RecipeAdvice) -> dict[str, Any]:
    data: dict[str, Any] = to_data(replace(advice, chance=None))
    data |= chance_data(advice.chance) if advice.chance is not None else {}
    if advice.recipe:
        data["recipe"]["lines_per_inch"] = advice.recipe.lines_per_inch
    return data


def _coverage_data(coverage: Coverage) -> dict[str, float]:
    return {
        "left_over_mm2": coverage.left_over_mm2,
        "left_over_pct": coverage.left_over_pct,
        "spill_mm2": coverage.spill_mm2,
        "lost_features": coverage.lost_features,
    }
