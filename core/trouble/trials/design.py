"""Which patch gets which treatment: all levels crossed, as many times as wanted, by lot within each repeat.

Every repeat is a block: patches next to each other that hold each treatment once, so that what differs from place to
place and hour to hour falls on all treatments alike (R. A. Fisher, The Design of Experiments, 1935).
"""

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass

from core.errors import UnreadableError
from core.trouble.trials.factors import MOST_FACTORS, Factor

MOST_PATCHES, MOST_REPEATS = 96, 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One patch to be: its block from 1, the level of each factor, its place by lot in the order of work, from 1."""

    block: int
    levels: tuple[str, ...]
    turn: int


def crossed(factors: Sequence[Factor], *, repeats: int, seed: int, first_block: int = 1) -> tuple[Cell, ...]:
    """All cells in the order of work, block after block. The same seed gives the same order, here and elsewhere.

    Raises UnreadableError where there are no factors, too many of them, or too many patches.
    """
    if not 1 <= len(factors) <= MOST_FACTORS:
        raise UnreadableError(
            f"A trial varies one or two things, not {len(factors)}.", hint="Leave the others as they are."
        )
    if len({factor.name for factor in factors}) < len(factors):
        raise UnreadableError("A factor is there twice.", hint="Name each factor once.")
    if not 1 <= repeats <= MOST_REPEATS:
        raise UnreadableError(f"{repeats} repeats can't be.", hint=f"Give 1 to {MOST_REPEATS}.")
    treatments = list(itertools.product(*(factor.levels for factor in factors)))
    if len(treatments) * repeats > MOST_PATCHES:
        raise UnreadableError(
            f"That comes to {len(treatments) * repeats} patches.",
            hint=f"At most {MOST_PATCHES}: fewer levels or repeats.",
        )
    lot = random.Random(seed)  # its random() keeps its sequence in every version of Python
    cells: list[Cell] = []
    for block in range(first_block, first_block + repeats):
        drawn = sorted((lot.random(), treatment) for treatment in treatments)
        cells += [
            Cell(block=block, levels=treatment, turn=len(cells) + place)
            for place, (_, treatment) in enumerate(drawn, 1)
        ]
    return tuple(cells)
