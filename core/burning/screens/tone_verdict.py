"""The verdict and the chance of a screened fill: whether its tones come out, not whether rows close up."""

from dataclasses import dataclass, replace

import numpy as np
import scipy

from core.burning.beam import FillVerdict, cleared_width_mm, clearing_line, power_w
from core.burning.chance import Chance, chance_of_outcomes, limits, spots_at_coat_mm
from core.burning.dose import line_peak_j_mm2
from core.burning.machines import Machine
from core.burning.screens.layer_screen import LayerScreen
from core.burning.unknowns import beliefs_of, draws_of
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

CLIPPED_SHARE = 0.005
"""From this share of a picture on, tones that the recipe can't bare are told."""
TONE_OFF = 0.15
"""Tones count as held where lines bare within this share of the width they are made up for: common practice, no
source."""


def tone_verdict(verdict: FillVerdict, screen: LayerScreen, *, has_solid: bool) -> FillVerdict:
    """The verdict of a fill whose pictures are screened. has_solid: something else is filled on the layer too.

    Rows that do not close up are what a screen's darkest tones are made of: that spoils nothing unless the picture asks
    for darker ones, or solid shapes lie beside it.
    """
    if verdict.verdict in ("frosts", "not reached"):
        return verdict
    held = f"tones from {_pct(screen.lightest)} to {_pct(screen.darkest)} bared"
    clipped = screen.clipped_share
    if verdict.verdict == "leaves lines" and has_solid:
        return replace(verdict, words=f"{verdict.words} That counts for what is solid; the picture holds {held}.")
    if clipped > CLIPPED_SHARE and verdict.verdict == "leaves lines":
        words = f"Leaves lines in {_pct(clipped)} of the picture, which asks for more than the {held}."
        return replace(verdict, words=words, of_tones=True)
    frosting = f"dose {max(verdict.frosting_margin_pct, 0.0):.0f} % below frosting"
    return replace(verdict, verdict="clean", words=f"Holds its {held}; {frosting}.", of_tones=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class TonesAt:
    """most: the darkest tone, as a share bared, that a recipe holds. holds_all: whether the picture asks for no darker
    ones, but for ``CLIPPED_SHARE`` of it. chance: that tones come out."""

    most: float
    holds_all: bool
    chance: Chance


def tones_at(recipe: Recipe, machine: Machine, stock: Stock, screen: LayerScreen) -> TonesAt:
    """How another recipe, at another pitch say, would hold a screen's tones."""
    line = clearing_line(recipe, machine, stock)
    most = min(1.0, line.cleared_width_mm / recipe.pitch_mm)
    shortest_mm = max(part.made.held.span_mm for part in screen.parts)
    asked = sum(float((part.made.source.wanted > most + 0.005).mean()) * part.region.area for part in screen.parts)
    total = sum(part.region.area for part in screen.parts)
    return TonesAt(
        most=most,
        holds_all=asked <= CLIPPED_SHARE * total,
        chance=tone_chance(recipe, machine, stock, shortest_mm=shortest_mm),
    )


def tone_chance(recipe: Recipe, machine: Machine, stock: Stock, *, shortest_mm: float) -> Chance:
    """The chance that the tones come out: no frost, spans of the shortest length bare, and lines as wide as they were
    made up for, to ``TONE_OFF``. Each line counts alone, as the tones were worked out."""
    draws = draws_of(beliefs_of(machine, stock), machine)
    watts = power_w(machine, recipe.power_pct)
    spots = spots_at_coat_mm(recipe, machine, draws)
    peak = line_peak_j_mm2(power_w=watts * draws.power_share, speed_mm_s=recipe.speed_mm_s, spot_mm=spots)
    ratio = peak / draws.clearing_dose_j_mm2
    width = spots / 2 * np.sqrt(2 * np.log(np.maximum(ratio, 1.0)))
    middle = scipy.special.erf(np.sqrt(2) * shortest_mm / spots)
    made_for = max(cleared_width_mm(recipe, machine, stock), 1e-9)
    off = (np.abs(width / made_for - 1) > TONE_OFF) | (ratio * middle < 1)
    outcome = np.zeros(len(draws), np.uint8)
    outcome[off] = 1
    outcome[ratio <= 1] = 3
    energy = watts / recipe.speed_mm_s
    outcome[energy >= limits(recipe, machine, draws).frost] = 2
    return replace(chance_of_outcomes(outcome, draws), of_tones=True)


def _pct(share: float) -> str:
    pct = 100 * share
    return f"{pct:.1f} %" if 0 < pct < 2 else f"{pct:.0f} %"
