"""Stocks: what kind of sheet it is, what its coat stands, how it is cut."""

from dataclasses import dataclass

from core.burning.recipes import STARTING_POINT, Origin, Recipe
from core.units import pitch_mm_from_lpi


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A kind of sheet at one thickness. Doses are J/mm² at the coat.

    cut may be None: the sheet must not be cut by the laser (glass). ``refused`` gives the reason why it must not
    be burned at all, or is empty. ``caution_codes`` name what the hand-over adds to its list for this stock.
    kerf_mm: width the cut removes.
    """

    name: str
    kind: str
    thickness_mm: float
    coat: str
    clearing_dose_j_mm2: float
    frosting_dose_j_mm2: float
    fill: Recipe
    score: Recipe
    cut: Recipe | None
    kerf_mm: float = 0.15
    caution_codes: tuple[str, ...] = ()
    refused: str = ""
    origin: Origin = STARTING_POINT
    figure_origins: tuple[tuple[str, Origin], ...] = ()


_FILL = Recipe(speed_mm_s=800.0, power_pct=20.0, pitch_mm=pitch_mm_from_lpi(600))
_SCORE = Recipe(speed_mm_s=200.0, power_pct=15.0)
_CUT_3 = Recipe(speed_mm_s=12.0, power_pct=75.0, air="high")

MIRRORED_ACRYLIC_3 = Stock(
    name="mirrored acrylic 3 mm",
    kind="mirrored acrylic",
    thickness_mm=3.0,
    coat="metal with a paint backing",
    clearing_dose_j_mm2=0.19,
    frosting_dose_j_mm2=0.80,
    fill=_FILL,
    score=_SCORE,
    cut=_CUT_3,
    caution_codes=("reflection", "solvent-on-coat"),
)
