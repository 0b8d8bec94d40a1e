"""The dose across the rows of a fill, from row to row: what bares the coat, and what may frost the sheet."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.beam import hatch_ratio, line_dose_j_mm2, power_w, spot_at_coat_mm
from core.burning.machines import Machine
from core.sheet.recipes import Recipe

ROWS_SHOWN, STEPS_A_ROW = 4, 48


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoseAcross:
    """At ``y_mm`` from a row: the dose of the nearest line in one pass alone, and of all lines and passes together."""

    y_mm: NDArray[np.float64]
    nearest_j_mm2: NDArray[np.float64]
    together_j_mm2: NDArray[np.float64]


def dose_across_rows(recipe: Recipe, machine: Machine) -> DoseAcross:
    """Over ROWS_SHOWN pitches, deep within a fill. What clears counts the nearest alone (the careful S = 1 of the
    coat), what frosts all together, as in ``beam.fill_verdict``. The recipe's figures are more than 0.
    """
    spot_mm, watts = spot_at_coat_mm(recipe, machine), power_w(machine, recipe.power_pct)
    share = np.linspace(0.0, ROWS_SHOWN, ROWS_SHOWN * STEPS_A_ROW + 1)
    apart_mm = (share - np.round(share)) * recipe.pitch_mm
    nearest = line_dose_j_mm2(apart_mm, power_w=watts, speed_mm_s=recipe.speed_mm_s, spot_mm=spot_mm)
    mean = watts * recipe.passes / (recipe.speed_mm_s * recipe.pitch_mm)
    together = mean * hatch_ratio(share, pitch_mm=recipe.pitch_mm, spot_mm=spot_mm)
    return DoseAcross(y_mm=share * recipe.pitch_mm, nearest_j_mm2=nearest, together_j_mm2=together)
