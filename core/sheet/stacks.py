"""What a coat with paint on it stands: figures learned on a painted scrap, or guessed from its parts until then."""

from dataclasses import dataclass

from core.figures import figure
from core.sheet.recipes import STARTING_POINT, Origin, Recipe


@dataclass(frozen=True, slots=True, kw_only=True)
class StackFigures:
    """Figures of a stock's coat under these paints, the first painted first. fill: a recipe set by hand, or None."""

    paints: tuple[str, ...]
    clearing_dose_j_mm2: float = figure(words="Clearing dose under paint", unit="J/mm²", least=0.0001, most=10_000)
    frosting_dose_j_mm2: float = figure(words="Frosting dose under paint", unit="J/mm²", least=0.0001, most=10_000)
    fill: Recipe | None = None
    origin: Origin = STARTING_POINT
