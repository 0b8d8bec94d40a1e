"""The figures of machines, stocks and recipes: what people call them, their units, what values make sense."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from core.burning.machines import Machine
from core.errors import UnreadableError
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure. ``name``: of the field; ``words``: for people; low to high makes sense; the rest is for editors.

    Bounds keep slips of the finger out; they are no advice.
    """

    name: str
    words: str
    unit: str
    low: float
    high: float
    places: int = 2
    step: float = 1.0
    group: str = ""
    about: str = ""


MACHINE_FIGURES: tuple[Figure, ...] = (
    Figure(
        name="rated_power_w", words="Rated power", unit="W", low=0.1, high=100_000, group="Beam",
        about="At 100 %, where no power table says otherwise",
    ),
    Figure(
        name="spot_mm", words="Spot", unit="mm", low=0.001, high=10, places=4, step=0.005, group="Beam",
        about="Diameter of the focused beam at the coat (1/e²)",
    ),
    Figure(
        name="wavelength_um", words="Wavelength", unit="µm", low=0.1, high=20, places=3, step=0.1, group="Beam",
        about="10.6 for CO2",
    ),
    Figure(name="focal_length_mm", words="Focal length", unit="mm", low=1, high=2_000, group="Beam"),
    Figure(
        name="beam_quality_m2", words="Beam quality M²", unit="", low=1, high=1_000, step=0.1, group="Beam",
        about="1 is the best there can be",
    ),
    Figure(
        name="max_speed_mm_s", words="Greatest speed", unit="mm/s", low=0.1, high=100_000, step=10, group="Movement",
    ),
    Figure(
        name="scan_acceleration_mm_s2", words="Acceleration of rows", unit="mm/s²", low=1, high=10_000_000, step=100,
        places=1, group="Movement", about="Of the head along a scan row",
    ),
    Figure(
        name="turn_round_s", words="Row turn-round", unit="s", low=0, high=60, places=4, step=0.001, group="Movement",
        about="Lost at each row's end beside braking and speeding up",
    ),
    Figure(
        name="scan_jerk_mm_s3", words="Jerk of rows", unit="mm/s³", low=0, high=10_000_000_000, step=10_000,
        places=0, group="Movement", about="How fast the acceleration of rows may change; 0 for no limit",
    ),
    Figure(
        name="line_acceleration_mm_s2", words="Acceleration of lines", unit="mm/s²", low=1, high=10_000_000, step=100,
        places=1, group="Movement", about="Along cut and score lines",
    ),
    Figure(
        name="line_jerk_mm_s3", words="Jerk of lines", unit="mm/s³", low=0, high=10_000_000_000, step=10_000,
        places=0, group="Movement", about="The same along lines and on the way between them; 0 for no limit",
    ),
    Figure(
        name="jump_speed_mm_s", words="Speed between lines", unit="mm/s", low=0.1, high=100_000, step=10,
        group="Movement", about="With the beam off",
    ),
    Figure(
        name="corner_deviation_mm", words="Corner rounding", unit="mm", low=0.0001, high=10, places=4, step=0.005,
        group="Movement", about="How far a path may leave a corner, which sets the speed there",
    ),
    Figure(
        name="line_error_mm", words="Line placement error", unit="mm", low=0, high=10, places=4, step=0.001,
        group="Movement", about="How far a scan line may lie from its place (standard deviation)",
    ),
    Figure(name="bed_width_mm", words="Bed width", unit="mm", low=1, high=100_000, step=10, group="Bed"),
    Figure(name="bed_height_mm", words="Bed height", unit="mm", low=1, high=100_000, step=10, group="Bed"),
)  # fmt: skip

STOCK_FIGURES: tuple[Figure, ...] = (
    Figure(name="thickness_mm", words="Thickness", unit="mm", low=0.01, high=1_000, step=0.1, group="Sheet"),
    Figure(
        name="kerf_mm", words="Kerf", unit="mm", low=0, high=10, places=3, step=0.01, group="Sheet",
        about="Width that a cut removes",
    ),
    Figure(
        name="clearing_dose_j_mm2", words="Clearing dose", unit="J/mm²", low=0.0001, high=10_000, places=4, step=0.01,
        group="Coat", about="From here on the coat comes off",
    ),
    Figure(
        name="frosting_dose_j_mm2", words="Frosting dose", unit="J/mm²", low=0.0001, high=10_000, places=4, step=0.01,
        group="Coat", about="From here on the sheet behind the coat suffers",
    ),
)  # fmt: skip

RECIPE_FIGURES: tuple[Figure, ...] = (
    Figure(name="speed_mm_s", words="Speed", unit="mm/s", low=0.01, high=100_000, step=5),
    Figure(name="power_pct", words="Power", unit="%", low=0, high=100),
    Figure(name="passes", words="Passes", unit="", low=1, high=99, places=0),
    Figure(name="focus_mm", words="Focus", unit="mm", low=-50, high=50, step=0.5, about="Above the coat; 0 is on it"),
    Figure(name="pitch_mm", words="Pitch", unit="mm", low=0.001, high=25.4, places=4, step=0.005),
    Figure(name="scan_angle_deg", words="Scan angle", unit="°", low=-360, high=360, step=15),
    Figure(name="edge_inset_mm", words="Edge inset", unit="mm", low=0, high=10, places=3, step=0.01),
)
FILL_ONLY = ("pitch_mm", "scan_angle_deg", "edge_inset_mm")
"""Figures of a recipe that matter to fills only."""


_LIKE = "Write percent = watts with both rising, like 10 = 8.2, 50 = 43, 100 = 91."


def figures_of(value: Any) -> tuple[Figure, ...]:
    """The figures of a machine, stock or recipe; none of anything else."""
    known = ((Machine, MACHINE_FIGURES), (Stock, STOCK_FIGURES), (Recipe, RECIPE_FIGURES))
    return next((figures for kind, figures in known if isinstance(value, kind)), ())


def check_figure(figure: Figure, value: float, *, of: str) -> None:
    """Raise UnreadableError when the value makes no sense; ``of`` says of what."""
    if not (math.isfinite(value) and figure.low <= value <= figure.high):
        unit = f" {figure.unit}" if figure.unit else ""
        raise UnreadableError(
            f"{figure.words} of {of} can't be {value:g}{unit}.",
            hint=f"Give {figure.low:g} to {figure.high:,g}{unit}.".replace(",", "\u202f"),
        )


def check_profile(profile: Machine | Stock) -> None:
    """Raise UnreadableError on the first thing of a machine or stock that makes no sense."""
    name = profile.name.strip()
    if not name:
        raise UnreadableError("A machine or stock needs a name.", hint="Give one that nothing else in the book has.")
    for figure in figures_of(profile):
        check_figure(figure, getattr(profile, figure.name), of=name)
    if isinstance(profile, Machine):
        check_power_table(profile.power_table)
        return
    for purpose, recipe in (("fill", profile.fill), ("score", profile.score), ("cut", profile.cut)):
        for figure in RECIPE_FIGURES if recipe is not None else ():
            check_figure(figure, getattr(recipe, figure.name), of=f"the {purpose} recipe of {name}")
    if profile.frosting_dose_j_mm2 <= profile.clearing_dose_j_mm2:
        raise UnreadableError(
            f"The frosting dose of {name} ({profile.frosting_dose_j_mm2:g} J/mm²) is not above its clearing dose "
            f"({profile.clearing_dose_j_mm2:g} J/mm²).",
            hint="Nothing could be cleared without frosting; look at both again.",
        )


def check_power_table(rows: Sequence[tuple[float, float]]) -> None:
    """Raise UnreadableError unless percents and watts both rise, percents from 0 to 100."""
    for percent, watts in rows:
        if not (math.isfinite(percent) and math.isfinite(watts) and 0 <= percent <= 100 and watts >= 0):
            raise UnreadableError(
                f"{percent:g} % giving {watts:g} W makes no sense.", hint="Percent from 0 to 100, watts above 0."
            )
    for (percent, watts), (next_percent, next_watts) in itertools.pairwise(rows):
        if next_percent <= percent or next_watts <= watts:
            raise UnreadableError(
                f"The power table does not rise from {percent:g} % ({watts:g} W) to {next_percent:g} % "
                f"({next_watts:g} W).",
                hint="Write the rows with rising percent; the watts must rise, too.",
            )
    if rows and rows[-1][1] <= 0:
        raise UnreadableError("The power table gives no power.", hint=_LIKE)


def power_table_text(rows: Sequence[tuple[float, float]]) -> str:
    """``"10 = 8.2, 50 = 43"``: percent = watts."""
    return ", ".join(f"{percent:g} = {watts:g}" for percent, watts in rows)


def power_table_from(text: str) -> tuple[tuple[float, float], ...]:
    """The rows of such a text; none for an empty one. Raises UnreadableError when they make no sense."""
    rows = []
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        percent, _, watts = part.partition("=")
        try:
            rows.append((float(percent.strip(" %")), float(watts.strip(" W"))))
        except ValueError:
            raise UnreadableError(
                f"“{part}” is no row of a power table.", hint="Write it like 10 = 8.2, 50 = 43, 100 = 91."
            ) from None
    check_power_table(rows)
    return tuple(rows)
