"""Scraps made up from the model's own beliefs and errors, to hold what it learns against the truth."""

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from core.burning.beam import Floats, power_w
from core.burning.chance import OUTCOMES, limits
from core.burning.learning import UNKNOWNS, WRONG_SHARE, LineSeen, LookSeen, Model, Seen
from core.burning.machines import Machine
from core.burning.unknowns import LEARNED, Beliefs
from core.sheet.recipes import Recipe

Kind = Literal["looks", "widths"]


def simulated(
    prior: Beliefs, machine: Machine, asked: Sequence[tuple[Recipe, Kind]], random: np.random.Generator
) -> tuple[Floats, tuple[Seen, ...]]:
    """Figures drawn from the prior (5,), on their scales, and what such a scrap would show."""
    model = Model(prior, machine, ())
    point = random.standard_normal((1, UNKNOWNS))
    seen: list[Seen] = []
    for number, (recipe, kind) in enumerate(asked):
        if kind == "looks":
            look = _look(model, machine, recipe, point, random)
            seen.append(LookSeen(label=str(number), recipe=recipe, look=look))
        else:
            width_mm = model.read_width_mm(recipe, point, random)
            seen.append(LineSeen(label=str(number), recipe=recipe, width_mm=width_mm))
    return model.scaled(point[:, : len(LEARNED)])[0], tuple(seen)


def _look(model: Model, machine: Machine, recipe: Recipe, point: Floats, random: np.random.Generator):
    wrong = random.random() < WRONG_SHARE
    dose = math.exp(random.logistic() / float(model.slope(point)[0]))
    any_look = OUTCOMES[int(random.integers(len(OUTCOMES)))]
    if wrong:
        return any_look
    energy, at = (
        power_w(machine, recipe.power_pct) / recipe.speed_mm_s * dose,
        limits(recipe, machine, model.draws(point)),
    )
    if energy >= at.frost[0]:
        return "frosts"
    if energy < at.reach[0]:
        return "not reached"
    return "leaves lines" if energy < at.clear[0] else "clean"
