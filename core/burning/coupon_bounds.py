"""Bounds of a dose from patches that were over or under it, and doubts where they contradict each other."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from core.artwork.drawing import Finding
from core.burning.beam import fill_verdict, line_dose_j_mm2, power_w, spot_at_coat_mm
from core.burning.coupon_seen import PatchLook
from core.burning.machines import Machine
from core.burning.patches import Patch
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """A dose lies above ``low`` and at or below ``high`` (J/mm²); 0 and infinity where nothing bounds it.

    ``low_label`` and ``high_label`` name the patches that say so.
    """

    low: float = 0.0
    high: float = math.inf
    low_label: str = ""
    high_label: str = ""

    @property
    def closed(self) -> bool:
        """Bounded on both sides, and not against itself."""
        return 0.0 < self.low < self.high < math.inf

    @property
    def contradicted(self) -> bool:
        """One patch says above, another at or below."""
        return self.low >= self.high


NO_BOUNDS = Bounds()


def clearing_bounds(fills: Iterable[tuple[Patch, PatchLook]], machine: Machine) -> Bounds:
    """What looks say of the clearing dose, each line for itself: clean means that the dose midway between two lines,
    from either alone, was enough; lines, that it was not; not reached, that not even the line's axis got enough."""
    above: list[tuple[float, str]] = []
    below: list[tuple[float, str]] = []
    for patch, look in fills:
        axis, midway = line_doses(patch.recipe, machine)
        if look == "clean":
            below.append((midway, patch.label))
        elif look == "leaves lines":
            above.append((midway, patch.label))
            below.append((axis, patch.label))
        elif look == "not reached":
            above.append((axis, patch.label))
    return _bounds(above, below)


def frosting_bounds(fills: Iterable[tuple[Patch, PatchLook]], machine: Machine, stock: Stock) -> Bounds:
    """What looks say of the frosting dose, judged by the peak of the sum of all lines."""
    above: list[tuple[float, str]] = []
    below: list[tuple[float, str]] = []
    for patch, look in fills:
        peak = fill_verdict(patch.recipe, machine, stock).peak_dose_j_mm2
        (below if look == "frosts" else above).append((peak, patch.label))
    return _bounds(above, below)


def line_doses(recipe: Recipe, machine: Machine) -> tuple[float, float]:
    """One line's dose on its axis and midway to the next line, all passes, J/mm²."""
    spot = spot_at_coat_mm(recipe, machine)
    watts = power_w(machine, recipe.power_pct) * recipe.passes
    axis, midway = line_dose_j_mm2(
        [0.0, recipe.pitch_mm / 2], power_w=watts, speed_mm_s=recipe.speed_mm_s, spot_mm=spot
    )
    return float(axis), float(midway)


def _bounds(above: list[tuple[float, str]], below: list[tuple[float, str]]) -> Bounds:
    low, low_label = max(above, default=(0.0, ""))
    high, high_label = min(below, default=(math.inf, ""))
    return Bounds(low=low, high=high, low_label=low_label, high_label=high_label)


def doubts(bounds: Bounds, what: str) -> list[Finding]:
    """What is odd about bounds of a dose, as findings."""
    if bounds.contradicted:
        return [
            warning(
                "patches-contradict",
                f"Patch {bounds.low_label} puts the {what} dose above {bounds.low:.3f} J/mm², patch "
                f"{bounds.high_label} below {bounds.high:.3f}. Look at both again; one of them may be a misreading.",
            )
        ]
    if bounds.closed and bounds.high > 1.5 * bounds.low:
        return [
            note(
                "wide-bounds",
                f"The {what} dose lies between {bounds.low:.3f} (patch {bounds.low_label}) and {bounds.high:.3f} J/mm² "
                f"(patch {bounds.high_label}); patches with doses between them would tell more.",
            )
        ]
    if bounds.low > 0 and math.isinf(bounds.high):
        return [note("one-sided", f"The {what} dose is above {bounds.low:.3f} J/mm²; no patch says how far.")]
    if bounds.low == 0 and bounds.high < math.inf:
        return [note("one-sided", f"The {what} dose is at most {bounds.high:.3f} J/mm²; no patch says how low.")]
    return []


def warning(code: str, message: str) -> Finding:
    """A finding of a reading to be looked at."""
    return Finding(code=code, message=message)


def note(code: str, message: str) -> Finding:
    """A finding of a reading that is good to know."""
    return Finding(code=code, message=message, severity="note")
