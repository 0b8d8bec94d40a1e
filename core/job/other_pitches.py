"""A fill's recipe beside itself at other pitches: how each would come out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.burning.beam import FillVerdict, fill_verdict
from core.burning.chance import Chance, fill_chance
from core.burning.machines import Machine
from core.burning.screens.layer_screen import LayerScreen
from core.burning.screens.tone_verdict import TonesAt, tones_at
from core.burning.unknowns import beliefs_of, draws_of
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import pitch_mm_from_lpi

COMPARED_LPI = (300, 400, 600, 800, 1200)
_DRAWS = 2048


@dataclass(frozen=True, slots=True, kw_only=True)
class AtPitch:
    """The recipe at another pitch; all of them are judged by the same draws.

    tones: how it holds those of a screened picture, where the fill is one and the recipe burns rows at all; its chance
    is theirs then.
    """

    recipe: Recipe
    verdict: FillVerdict
    chance: Chance
    tones: TonesAt | None = None

    def good(self, wanted_chance: float) -> bool:
        """Whether it comes off clean, or holds all tones, by the likeliest figures, and as surely as is wanted."""
        holds = self.verdict.verdict == "clean" if self.tones is None else self.tones.holds_all
        return holds and self.chance.clean >= wanted_chance


def at_other_pitches(
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    screen: LayerScreen | None = None,
    lines_per_inch: Sequence[int] = COMPARED_LPI,
) -> tuple[AtPitch, ...]:
    """The recipe at each of these rulings, in their order; all else stays. screen: of a screened picture."""
    draws = draws_of(beliefs_of(machine, stock), machine, count=_DRAWS)
    found = []
    for lpi in lines_per_inch:
        one = replace(recipe, pitch_mm=pitch_mm_from_lpi(lpi))
        verdict = fill_verdict(one, machine, stock)
        judged_by_tones = screen is not None and verdict.verdict in ("clean", "leaves lines")
        tones = tones_at(one, machine, stock, screen) if screen is not None and judged_by_tones else None
        chance = fill_chance(one, machine, stock, draws=draws) if tones is None else tones.chance
        found.append(AtPitch(recipe=one, verdict=verdict, chance=chance, tones=tones))
    return tuple(found)
