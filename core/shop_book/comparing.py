"""Two recipes, machines or stocks side by side."""

from dataclasses import dataclass, fields
from typing import Any

from core.burning.beam import FillVerdict, fill_verdict
from core.burning.machines import Machine
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure that differs; ``figure`` is the field's name, unit and all."""

    figure: str
    first: Any
    second: Any


def differences(first: Any, second: Any) -> tuple[Difference, ...]:
    """What differs between two values of one class, in the order of its fields; where figures come from is left out.

    Raises TypeError when they are not of one class.
    """
    if type(first) is not type(second):
        raise TypeError(f"{type(first).__name__} and {type(second).__name__} can't be compared")
    pairs = (
        (field.name, getattr(first, field.name), getattr(second, field.name))
        for field in fields(first)
        if field.name not in ("origin", "figure_origins")
    )
    return tuple(Difference(figure=name, first=one, second=two) for name, one, two in pairs if one != two)


def compared_fills(
    first: Recipe, second: Recipe, machine: Machine, stock: Stock
) -> tuple[FillVerdict, FillVerdict, float]:
    """Verdicts on two fill recipes, and the second one's burning time over the first one's, run-ups left out."""
    seconds_per_mm2 = [recipe.passes / (recipe.speed_mm_s * recipe.pitch_mm) for recipe in (first, second)]
    verdicts = [fill_verdict(recipe, machine, stock) for recipe in (first, second)]
    return verdicts[0], verdicts[1], seconds_per_mm2[1] / seconds_per_mm2[0]
