"""The coat under paint as a stock of its own, and a recipe for it."""

import math
from dataclasses import replace

import numpy as np

from core.burning.beam import fill_verdict, hatch_ratio, power_w, spot_at_coat_mm
from core.burning.chance import fill_chance
from core.burning.coupon import Coupon
from core.burning.coupons import make_coupon
from core.burning.dose_window import power_pct_for
from core.burning.machines import Machine
from core.burning.patches import Side
from core.burning.recipe_advice import fastest_recipe
from core.errors import JobError
from core.finishing.binders import burn_refusal
from core.finishing.paints import Paint
from core.geometry.region import BaseGeometry
from core.sheet.placement import Turn
from core.sheet.recipes import Origin, Recipe
from core.sheet.stacks import StackFigures
from core.sheet.stock import Stock

_GUESSED = Origin(note="The coat's dose and each paint's added up, no source; a painted scrap settles it.")
_ROOMIEST = Origin(kind="set by hand", note="Worked out for the coat with paint on it; prove it on a painted scrap.")


def learned_stack(stock: Stock, under: tuple[str, ...]) -> StackFigures | None:
    """What was learned of this very stack; None while nothing was."""
    return next((one for one in stock.stacks if one.paints == under), None)


def stack_stock(stock: Stock, under: tuple[Paint, ...]) -> Stock:
    """The stock with so much paint on its coat, as a stock to plan and to try: learned figures win over the sum."""
    if not under:
        return stock
    names = tuple(paint.name for paint in under)
    known = learned_stack(stock, names)
    paint_j_mm2 = sum(paint.burn_dose_j_mm2 for paint in under)
    clearing = stock.clearing_dose_j_mm2 + paint_j_mm2 if known is None else known.clearing_dose_j_mm2
    frosting = stock.frosting_dose_j_mm2 + paint_j_mm2 if known is None else known.frosting_dose_j_mm2
    return replace(
        stock,
        name=f"{stock.name} under {', '.join(names)}",
        coat=f"{stock.coat} under {', '.join(names)}",
        clearing_dose_j_mm2=clearing,
        frosting_dose_j_mm2=frosting,
        fill=stock.fill if known is None or known.fill is None else known.fill,
        origin=_GUESSED if known is None else known.origin,
        figure_origins=(),
        learned_together=(),
        learned_on="",
    )


def with_stack_learned(stock: Stock, figures: StackFigures) -> Stock:
    """The stock with figures of a stack in place of older ones."""
    others = tuple(one for one in stock.stacks if one.paints != figures.paints)
    return replace(stock, stacks=(*others, figures))


def stack_recipe(
    recipe: Recipe, region_bed: BaseGeometry, machine: Machine, stock: Stock, under: tuple[Paint, ...], *, wanted: float
) -> Recipe:
    """A recipe for a fill through that stack: set by hand, else what the dose model holds for surest.

    That is the quickest with the chance that is wanted, or the one that stands farthest off both lines and frost.
    """
    if not under:
        return recipe
    known = learned_stack(stock, tuple(paint.name for paint in under))
    if known is not None and known.fill is not None:
        return known.fill
    stack = stack_stock(stock, under)
    roomy = roomiest_recipe(recipe, machine, stack)
    advised = fastest_recipe(region_bed, roomy, machine, stack, wanted=wanted).recipe
    tried = [roomy] if advised is None else [advised, roomy]
    return max(
        tried,
        key=lambda one: (
            fill_verdict(one, machine, stack).verdict == "clean",
            min(fill_chance(one, machine, stack).clean, wanted),
        ),
    )


def painted_scrap(
    stock: Stock,
    machine: Machine,
    paints: tuple[Paint, ...],
    *,
    width_mm: float = 120.0,
    height_mm: float = 80.0,
    read_from: Side = "front",
    turn: Turn = "sideways",
    made: str = "",
) -> Coupon:
    """The coupon that settles the doses of that stack, burned on a scrap with these paints on its coat, fully cured.

    Raises JobError where one of them must not be burned through, or the scrap is too small.
    """
    for paint in paints:
        if why := burn_refusal(maker=paint.maker, binder=paint.binder, sheet_read=paint.sheet_read):
            raise JobError(f"{paint.name} must not be burned through: {why}.", hint="Fill in what it is, or mask.")
    stack = replace(stack_stock(stock, paints), name=stock.name, stacks=())
    return make_coupon(
        "painted-scrap",
        stack,
        machine,
        width_mm=width_mm,
        height_mm=height_mm,
        recipe=roomiest_recipe(stock.fill, machine, stack),
        read_from=read_from,
        turn=turn,
        made=made,
        paints=tuple(paint.name for paint in paints),
    )


def roomiest_recipe(recipe: Recipe, machine: Machine, stack: Stock) -> Recipe:
    """The recipe's speed with the pitch and power that stand farthest, as ratios, from leaving lines and from frosting.

    At a pitch of x spot radii lines meet from exp(x²/2) of the clearing dose on (Liu 1982); the dose of all lines is
    then √(π/2)/x times that of one, but for its ripple, and must stay below the frosting dose. Slower where there is
    no more power.
    """
    spot = spot_at_coat_mm(recipe, machine)
    x = np.linspace(0.4, 1.2, 81)
    ripple = np.array([float(hatch_ratio(0.0, pitch_mm=one * spot / 2, spot_mm=spot)) for one in x])
    least = np.exp(x**2 / 2)
    most = stack.frosting_dose_j_mm2 / stack.clearing_dose_j_mm2 * x / math.sqrt(math.pi / 2) / ripple
    best = int(np.argmax(most / least))
    peak = stack.clearing_dose_j_mm2 * math.sqrt(float(least[best] * most[best]))
    speed_mm_s = min(recipe.speed_mm_s, machine.max_speed_mm_s)
    wanted_w = peak * speed_mm_s * spot / 2 / math.sqrt(2 / math.pi)
    full_w = power_w(machine, 100.0)
    if wanted_w > full_w:
        speed_mm_s, wanted_w = speed_mm_s * full_w / wanted_w, full_w
    return replace(
        recipe,
        speed_mm_s=speed_mm_s,
        power_pct=round(min(100.0, power_pct_for(machine, wanted_w)), 1),
        pitch_mm=float(x[best]) * spot / 2,
        passes=1,
        origin=_ROOMIEST,
    )
