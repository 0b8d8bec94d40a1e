"""The dose window of a fill recipe: for which pitches, speeds and powers it comes off clean, and how to get there.

All follows from two numbers of the recipe: the energy one line gets per length in all passes, ``E = N P/v``, and the
pitch. One line clears ``w √(2 ln(E/(N E_th)))`` in one pass, which must reach the pitch; the sum of all lines and
passes peaks at ``E/p · R(p/w)``, which must stay below the frosting dose (see ``beam``).
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.burning.beam import (
    Floats,
    Verdict,
    cleared_width_mm,
    fill_verdict,
    hatch_ratio,
    power_w,
    rayleigh_range_mm,
    spot_at_coat_mm,
    threshold_power_w,
)
from core.burning.chance import chance_grid
from core.burning.machines import Machine
from core.burning.unknowns import Draws
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH

WindowAxis = Literal["speed", "power"]

REGIONS: tuple[Verdict, ...] = ("clean", "leaves lines", "frosts", "not reached")
"""What the numbers in ``DoseWindow.regions`` mean."""
LEAST_POWER_PCT = 0.1
"""Less can't be set."""
COMFORT = 0.10
"""Share by which a changed setting is put inside its clean range, where the range is wide enough."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoseWindow:
    """The plot of pitch against speed (mm/s) or power (%), every other setting as in the recipe.

    pitch_mm (n,) rising; values (m,) rising; regions (m, n): index into ``REGIONS``. time_s (m, n): run time,
    or None where nothing tells it. chances (m, n, 4): shares of ``chance.OUTCOMES`` at each place, or None where
    nobody asked for them.
    """

    axis: WindowAxis
    pitch_mm: Floats
    values: Floats
    regions: NDArray[np.uint8]
    time_s: Floats | None
    chances: Floats | None = None

    def time_contours(self, times_s: Sequence[float]) -> tuple[Floats, ...]:
        """For each time the pitch (m,) at which it is reached, one for each value; run time goes as 1/pitch."""
        if self.time_s is None:
            return ()
        products = self.time_s[:, 0] * self.pitch_mm[0]
        return tuple(products / time for time in times_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One setting that alone makes the fill clean, and the range in which it does.

    setting: "pitch", "speed", "power" or "focus"; low and high in its unit (mm, mm/s, %, mm). recipe: the recipe with
    that setting inside the range, as near to the present one as is comfortable.
    """

    setting: Literal["pitch", "speed", "power", "focus"]
    low: float
    high: float
    words: str
    recipe: Recipe


def dose_window(
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    axis: WindowAxis = "speed",
    shape: tuple[int, int] = (96, 128),
    time_of: Callable[[Recipe], float] | None = None,
    draws: Draws | None = None,
) -> DoseWindow:
    """The window around a recipe. shape: how many (values, pitches). time_of: run time of a recipe at its pitch.

    draws: of what is not known, for the chances of every place.

    Raises JobError on settings that mean nothing.
    """
    fill_verdict(recipe, machine, stock)
    spot = spot_at_coat_mm(recipe, machine)
    own = recipe.speed_mm_s if axis == "speed" else recipe.power_pct
    most = max(machine.max_speed_mm_s, own) if axis == "speed" else 100.0
    values = np.linspace(most / shape[0], most, shape[0])
    pitch_mm = np.geomspace(min(0.1 * spot, 0.6 * recipe.pitch_mm), max(2.0 * spot, 1.6 * recipe.pitch_mm), shape[1])
    recipes = [_with(recipe, axis, float(value)) for value in values]
    energy = np.array([line_energy_j_mm(one, machine) for one in recipes])
    width = np.array([cleared_width_mm(one, machine, stock) for one in recipes])
    peak = energy[:, None] / pitch_mm * peak_ratio(pitch_mm / (spot / 2))
    regions = np.zeros(shape, np.uint8)
    regions[pitch_mm > width[:, None]] = REGIONS.index("leaves lines")
    regions[width == 0] = REGIONS.index("not reached")
    regions[peak >= stock.frosting_dose_j_mm2] = REGIONS.index("frosts")
    time_s = None
    if time_of:
        times = np.array([time_of(one) for one in recipes]) if axis == "speed" else np.full(shape[0], time_of(recipe))
        time_s = times[:, None] * recipe.pitch_mm / pitch_mm
    chances = None
    if draws is not None:
        once = [power_w(machine, one.power_pct) / one.speed_mm_s for one in recipes]
        chances = chance_grid(recipe, machine, draws, pitches_mm=pitch_mm.tolist(), energies_j_mm=once)
    return DoseWindow(
        axis=axis,
        pitch_mm=pitch_mm,
        values=values,
        regions=regions,
        time_s=time_s,
        chances=chances,
    )


def line_energy_j_mm(recipe: Recipe, machine: Machine) -> float:
    """Energy that a line gets per length, all passes, J/mm."""
    return power_w(machine, recipe.power_pct) * recipe.passes / recipe.speed_mm_s


def peak_ratio(ratio: ArrayLike) -> Floats:
    """Peak dose of endless lines over their mean, at ``ratio`` = pitch over spot radius; same shape."""
    r = np.asarray(ratio, float)
    table_r, table_g = _peak_table()
    result: Floats = r * np.exp(np.interp(np.log(r), table_r, table_g))
    return result


def frosting_pitch_mm(line_energy_j_mm: ArrayLike, *, spot_mm: float, frosting_dose_j_mm2: float) -> Floats:
    """The pitch at which the sum of lines just peaks at the frosting dose; infinite where one line does. Same shape.

    The peak ``E/w · g(p/w)``, ``g(r) = R(r)/r``, falls steadily with the pitch, so there is one such pitch.
    """
    energy = np.asarray(line_energy_j_mm, float)
    w = spot_mm / 2
    table_r, table_g = _peak_table()
    with np.errstate(divide="ignore"):
        wanted = np.log(frosting_dose_j_mm2 * w / energy)
    alone = energy / w * math.sqrt(2 / math.pi) >= frosting_dose_j_mm2
    pitch = w * np.exp(np.interp(-wanted, -table_g, table_r))
    dense = wanted > table_g[0]  # lines so close that their sum is flat
    pitch = np.where(dense, energy / frosting_dose_j_mm2, pitch)
    result: Floats = np.where(alone, np.inf, pitch)
    return result


def power_pct_for(machine: Machine, watts: float) -> float:
    """The power setting that gives these watts, by the machine's table; 100 where it gives less."""
    low, high = 0.0, 100.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if power_w(machine, middle) < watts else (low, middle)
    return high


def remedies(recipe: Recipe, machine: Machine, stock: Stock) -> tuple[Remedy, ...]:
    """Settings that alone would make the fill clean, each with its range; empty where none can, or it is clean."""
    if fill_verdict(recipe, machine, stock).verdict == "clean":
        return ()
    too_fast = recipe.speed_mm_s > machine.max_speed_mm_s  # then no other setting can do it alone
    finders = (_speed_remedy,) if too_fast else (_pitch_remedy, _speed_remedy, _power_remedy, _focus_remedy)
    found = (find(recipe, machine, stock) for find in finders)
    clean = (remedy for remedy in found if remedy is not None and _is_clean(remedy.recipe, machine, stock))
    return tuple(_settable(remedy, machine, stock) for remedy in clean)


def _is_clean(recipe: Recipe, machine: Machine, stock: Stock) -> bool:
    return fill_verdict(recipe, machine, stock).verdict == "clean"


def _settable(remedy: Remedy, machine: Machine, stock: Stock) -> Remedy:
    """The remedy at a value as people set it, where that is in its range and clean, too."""
    recipe = remedy.recipe
    field, value = {
        "pitch": ("pitch_mm", MM_PER_INCH / max(1, round(recipe.lines_per_inch))),
        "speed": ("speed_mm_s", float(max(1, round(recipe.speed_mm_s)))),
        "power": ("power_pct", round(recipe.power_pct, 1)),
        "focus": ("focus_mm", round(recipe.focus_mm, 2)),
    }[remedy.setting]
    if not remedy.low <= value <= remedy.high:
        return remedy
    rounded = replace(recipe, **{field: value})  # type: ignore[arg-type]  # all four are floats
    return replace(remedy, recipe=rounded) if _is_clean(rounded, machine, stock) else remedy


def clean_energy_j_mm(recipe: Recipe, machine: Machine, stock: Stock) -> tuple[float, float]:
    """Range of energies per length that are clean at the recipe's pitch and spot; empty where low > high, J/mm.

    Of all passes together. From the lower on each line clears its strip in one pass; below the upper the sum does not
    frost.
    """
    spot = spot_at_coat_mm(recipe, machine)
    threshold = threshold_power_w(clearing_dose_j_mm2=stock.clearing_dose_j_mm2, speed_mm_s=1.0, spot_mm=spot)
    exponent = (recipe.pitch_mm / spot) ** 2 * 2
    low = recipe.passes * threshold * math.exp(exponent) if exponent < 700 else math.inf
    ripple = float(hatch_ratio(0.0, pitch_mm=recipe.pitch_mm, spot_mm=spot))
    return low, stock.frosting_dose_j_mm2 * recipe.pitch_mm / ripple


@cache
def _peak_table() -> tuple[Floats, Floats]:
    """ln r and ln g(r) for g(r) = R(r)/r, r = pitch over spot radius: steadily falling, straight at both ends."""
    r = np.geomspace(1e-3, 30.0, 6000)
    ratio = np.array([float(hatch_ratio(0.0, pitch_mm=one, spot_mm=2.0)) for one in r])
    return np.log(r), np.log(ratio / r)


def _with(recipe: Recipe, axis: WindowAxis, value: float) -> Recipe:
    return replace(recipe, speed_mm_s=value) if axis == "speed" else replace(recipe, power_pct=value)


def _inside(value: float, low: float, high: float) -> float:
    """The value, moved to inside the range by ``COMFORT`` of its ends, or to the middle of a narrow one."""
    lower, upper = low * (1 + COMFORT), high * (1 - COMFORT)
    if lower > upper:
        return math.sqrt(low * high) if low > 0 else high / 2
    return min(max(value, lower), upper)


def _pitch_remedy(recipe: Recipe, machine: Machine, stock: Stock) -> Remedy | None:
    energy, spot = line_energy_j_mm(recipe, machine), spot_at_coat_mm(recipe, machine)
    high = cleared_width_mm(recipe, machine, stock)
    low = float(frosting_pitch_mm(energy, spot_mm=spot, frosting_dose_j_mm2=stock.frosting_dose_j_mm2))
    if not low < high:
        return None
    pitch = _inside(recipe.pitch_mm, low, high)
    words = (
        f"Pitch: {low:.4f} to {high:.4f} mm ({MM_PER_INCH / high:.0f} to {MM_PER_INCH / low:.0f} LPI) is clean, "
        f"now {recipe.pitch_mm:.4f} mm."
    )
    return Remedy(setting="pitch", low=low, high=high, words=words, recipe=replace(recipe, pitch_mm=pitch))


def _speed_remedy(recipe: Recipe, machine: Machine, stock: Stock) -> Remedy | None:
    least, most = clean_energy_j_mm(recipe, machine, stock)
    watts = power_w(machine, recipe.power_pct) * recipe.passes
    if not (least < most and watts > 0):
        return None
    low, high = watts / most, min(watts / least, machine.max_speed_mm_s)
    if not low < high:
        return None
    speed = _inside(recipe.speed_mm_s, low, high)
    words = f"Speed: {low:.0f} to {high:.0f} mm/s is clean, now {recipe.speed_mm_s:.4g} mm/s."
    return Remedy(setting="speed", low=low, high=high, words=words, recipe=replace(recipe, speed_mm_s=speed))


def _power_remedy(recipe: Recipe, machine: Machine, stock: Stock) -> Remedy | None:
    least, most = (energy * recipe.speed_mm_s / recipe.passes for energy in clean_energy_j_mm(recipe, machine, stock))
    full = power_w(machine, 100.0)
    if not (least < most and least < full):
        return None
    low, high = power_pct_for(machine, least), power_pct_for(machine, min(most, full))
    if high < LEAST_POWER_PCT:
        return None
    power = _inside(recipe.power_pct, low, high)
    words = f"Power: {low:.1f} to {high:.1f} % is clean, now {recipe.power_pct:g} %."
    return Remedy(setting="power", low=low, high=high, words=words, recipe=replace(recipe, power_pct=power))


def _focus_remedy(recipe: Recipe, machine: Machine, stock: Stock) -> Remedy | None:
    """By trying heights up to three Rayleigh ranges; a spot out of focus is wider and weaker."""
    reach = 3 * rayleigh_range_mm(
        spot_mm=machine.spot_mm, wavelength_um=machine.wavelength_um, beam_quality_m2=machine.beam_quality_m2
    )
    heights = np.linspace(0.0, reach, 61).tolist()
    clean = [z for z in heights if _is_clean(replace(recipe, focus_mm=z), machine, stock)]
    if not clean:
        return None
    low, high = clean[0], clean[-1]
    if high - low > (len(clean) - 1) * heights[1] * (1 + 1e-9):  # not one range: keep to its lower part
        high = next(z for z, after in itertools.pairwise(clean) if after - z > 1.5 * heights[1])
    now = abs(recipe.focus_mm)
    focus = low if now < low else min(now, high)
    words = f"Focus: {low:.2f} to {high:.2f} mm off the coat is clean, now {now:.2f} mm."
    return Remedy(setting="focus", low=low, high=high, words=words, recipe=replace(recipe, focus_mm=focus))
