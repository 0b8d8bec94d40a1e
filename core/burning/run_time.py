"""How long a layer runs."""

from collections.abc import Sequence

from core.artwork.flattening import path_length_mm
from core.artwork.path import Path
from core.burning.machines import Machine
from core.burning.recipes import Recipe
from core.burning.scan_rows import ScanRows


def fill_time_s(rows: ScanRows, recipe: Recipe, machine: Machine) -> float:
    """Time to burn the rows, all passes."""
    return recipe.passes * rows.length_mm / recipe.speed_mm_s


def lines_time_s(
    paths: Sequence[Path], recipe: Recipe, machine: Machine, *, start_mm: tuple[float, float] = (0.0, 0.0)
) -> float:
    """Time to burn the paths in the order given, all passes."""
    return recipe.passes * sum(map(path_length_mm, paths)) / recipe.speed_mm_s
