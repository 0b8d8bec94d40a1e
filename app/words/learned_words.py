"""What readings and timed jobs tell, in words, for the window and the command line."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from app.words.figure_words import recipe_text
from app.words.wording import rounded
from core.burning.machines import WideGaps

if TYPE_CHECKING:
    from core.burning.calibration import Estimate
    from core.burning.coupon_reading import Learned


def learned_lines(learned: "Learned") -> list[str]:
    """What a reading of a coupon tells: figures, recipes it proved, doubts."""
    figures = (
        ("Spot", learned.spot_mm, "mm"),
        ("Clearing dose", learned.clearing_dose_j_mm2, "J/mm²"),
        ("Frosting dose", learned.frosting_dose_j_mm2, "J/mm²"),
        ("S of the coat", learned.coat_adding_s, ""),
        ("S of the sheet", learned.sheet_adding_s, ""),
        ("Kerf", learned.kerf_mm, "mm"),
        ("Best focus above the height taken for 0", learned.focus_offset_mm, "mm"),
        ("Beam quality M²", learned.beam_quality_m2, ""),
        ("Beam delay", learned.beam_delay_ms, "ms"),
        ("Both-way offset", learned.both_way_offset_mm, "mm"),
    )
    lines = [f"{name} {estimate_text(one, unit)}" for name, one, unit in figures if one]
    for name, recipe, fill in (("Fill", learned.fill, True), ("Cut", learned.cut, False)):
        if recipe:
            lines.append(f"{name} recipe {recipe_text(recipe, fill=fill)}")
    return [*lines, *(f"{finding.severity.capitalize()}: {finding.message}" for finding in learned.findings)]


def estimate_text(estimate: "Estimate", unit: str) -> str:
    """``"0.1382 ± 0.00076 mm (95 %: 0.1282 to 0.1475 mm)"``. What has no finite error was not told, and is kept."""
    if not math.isfinite(estimate.standard_error):
        return f"{rounded(estimate.value, 4)} {unit} (not told by these; kept)"
    value, error, low, high = (
        rounded(figure, digits)
        for figure, digits in (
            (estimate.value, 4), (estimate.standard_error, 2), (estimate.low, 4), (estimate.high, 4)
        )
    )  # fmt: skip
    unit = f" {unit}" if unit else ""
    between = f"{low} to {high}{unit}" if math.isfinite(estimate.high) else f"{low}{unit} and more"
    return f"{value} ± {error}{unit} (95 %: {between})"


def wide_gaps_text(way: WideGaps) -> str:
    """How a machine crosses wide gaps, as timed jobs tell, to go on after a sentence; "" where they don't."""
    ways: dict[WideGaps, str] = {
        "unknown": "",
        "apart": " It burns far parts of a row apart.",
        "swept": " It sweeps its rows from end to end, gaps too.",
    }
    return ways[way]


def changed_words(names: Sequence[str]) -> str:
    """Which profiles of the book a reading changed."""
    if not names:
        return "It changes no figure in the shop book."
    return f"{' and '.join(names)} in the shop book {'has' if len(names) == 1 else 'have'} learned from it."
