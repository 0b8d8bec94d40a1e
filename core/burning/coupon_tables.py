"""Which recipes the patches of a coupon try, richest first."""

import math
from collections.abc import Sequence
from dataclasses import replace

from core.burning.beam import (
    cleared_width_mm,
    fill_verdict,
    power_w,
    rayleigh_range_mm,
    spot_at_coat_mm,
    threshold_power_w,
)
from core.burning.coupon import COMBS, LINE_DISTANCE_MM, CouponKind, Table
from core.burning.dose_window import power_pct_for
from core.burning.machines import Machine
from core.burning.patches import Patch
from core.burning.row_combs import BOTH_WAY_STEP_MM, DELAY_STEP_MM
from core.errors import JobError
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH, pitch_mm_from_lpi

REACH = 1.5
"""Line dose over clearing dose of the starting recipe for mirrored acrylic on its own machine (20 W over 13 W)."""


def tables_for(kind: CouponKind, stock: Stock, machine: Machine, recipe: Recipe | None) -> list[Table]:
    """What the coupon could hold, richest first."""
    if kind in ("cut-ladder", "kerf-strips"):
        if stock.cut is None:
            raise JobError(f"{stock.name} must not be cut by the laser.", hint="Cut it by other means.")
        cut = _burning(recipe or stock.cut)
        if kind == "kerf-strips":
            return [[[_strips_patch(cut, count)]] for count in (10, 8, 6)]
        return [[_cut_patches(cut, machine, count)] for count in (10, 8, 6, 4)]
    fill = _burning(recipe or recipe_in_reach(stock.fill, machine, stock))
    fill_verdict(fill, machine, stock)  # settings that mean nothing are told here
    if kind == "pitch-ladder":
        return [[_pitch_patches(fill, machine, stock, count)] for count in (10, 8, 6, 4)]
    if kind == "line-widths":
        return [[_line_patches(fill, machine, stock, count)] for count in (10, 8, 6, 5)]
    if kind == "two-angles":
        return [_angle_table(fill, machine, stock, count) for count in (5, 4, 3, 2)]
    if kind == "passes":
        return [_passes_table(fill, machine, stock, count) for count in (5, 4, 3)]
    if kind in COMBS:
        return [_comb_table(kind, fill, machine, stock, count) for count in (5, 4, 3)]
    if kind == "focus-ladder":
        return [_focus_table(fill, machine, stock, count) for count in (9, 7, 5)]
    return [_speed_power_table(fill, machine, stock, rows, columns) for rows, columns in _GRIDS]


def _burning(recipe: Recipe) -> Recipe:
    """The recipe. Raises JobError when it has no power, so that nothing can be tried around it."""
    if recipe.power_pct > 0:
        return recipe
    raise JobError("A recipe without power burns nothing.", hint="Give it a power above 0 %, or try around another.")


def recipe_in_reach(fill: Recipe, machine: Machine, stock: Stock) -> Recipe:
    """The fill recipe as this machine can burn it: unchanged where it bares coat, else one whose lines just would.

    Power first, then speed, so that a line's axis gets ``REACH`` times the clearing dose.
    """
    fill = replace(fill, speed_mm_s=min(fill.speed_mm_s, machine.max_speed_mm_s))
    if cleared_width_mm(fill, machine, stock) > 0:
        return fill
    spot, dose = spot_at_coat_mm(fill, machine), REACH * stock.clearing_dose_j_mm2 / fill.passes
    wanted_w = threshold_power_w(clearing_dose_j_mm2=dose, speed_mm_s=fill.speed_mm_s, spot_mm=spot)
    full_w = power_w(machine, 100.0)
    if wanted_w <= full_w:
        return replace(fill, power_pct=math.ceil(power_pct_for(machine, wanted_w)))
    return replace(fill, power_pct=100.0, speed_mm_s=_round_down(fill.speed_mm_s * full_w / wanted_w))


_GRIDS = ((6, 6), (5, 6), (5, 5), (4, 5), (4, 4), (3, 4), (3, 3), (2, 3))


def _pitch_patches(fill: Recipe, machine: Machine, stock: Stock, count: int) -> list[Patch]:
    """Pitches from well over the cleared width down to where it should frost, the recipe's own among them."""
    width = cleared_width_mm(fill, machine, stock) or spot_at_coat_mm(fill, machine) / 2
    coarse = 1.7 * max(width, fill.pitch_mm)
    fine = 0.8 * power_w(machine, fill.power_pct) * fill.passes / (fill.speed_mm_s * stock.frosting_dose_j_mm2)
    fine = min(max(fine, 0.25 * width), 0.8 * fill.pitch_mm)
    lines = _with_own([MM_PER_INCH / p for p in _geometric(coarse, fine, count)], fill.lines_per_inch, step=5.0)
    recipes = [replace(fill, pitch_mm=pitch_mm_from_lpi(lpi)) for lpi in sorted(lines)]
    return [_fill_patch(recipe, f"{recipe.lines_per_inch:.0f} LPI", machine, stock) for recipe in recipes]


def _speed_power_table(fill: Recipe, machine: Machine, stock: Stock, rows: int, columns: int) -> Table:
    """Speeds down, powers across, the recipe's own among them; fewer of them reach less far."""
    fastest = min(machine.max_speed_mm_s, 1.5 * fill.speed_mm_s)
    slowest = (0.7 - 0.05 * rows) * fill.speed_mm_s
    speeds = _with_own(_geometric(fastest, slowest, rows), fill.speed_mm_s, step=10.0)
    reach = 1.0 + columns / 6
    most = min(100.0, fill.power_pct * reach)
    powers = _with_own(_geometric(fill.power_pct / reach, most, columns), fill.power_pct, step=1.0)
    return [
        [
            _fill_patch(replace(fill, speed_mm_s=speed, power_pct=power), f"{speed:.4g}/{power:.4g}", machine, stock)
            for power in sorted(powers)
        ]
        for speed in sorted(speeds, reverse=True)
    ]


def _angle_table(fill: Recipe, machine: Machine, stock: Stock, count: int) -> Table:
    """Two scan angles down, pitches across."""
    width = cleared_width_mm(fill, machine, stock)
    pitches = _geometric(1.3 * max(width, fill.pitch_mm), 0.8 * fill.pitch_mm, count)
    lines = _with_own([MM_PER_INCH / pitch for pitch in pitches], fill.lines_per_inch, step=10.0)
    return [
        [
            _fill_patch(
                replace(fill, pitch_mm=pitch_mm_from_lpi(lpi), scan_angle_deg=angle),
                f"{lpi:.0f} {angle:g}°",
                machine,
                stock,
            )
            for lpi in sorted(lines)
        ]
        for angle in (0.0, 90.0)
    ]


def _line_patches(fill: Recipe, machine: Machine, stock: Stock, count: int) -> list[Patch]:
    """Lines far apart, burned as a fill is, from a power that should bare nothing to several times the threshold."""
    spot = spot_at_coat_mm(fill, machine)
    speed, rated_w = fill.speed_mm_s, power_w(machine, 100.0) * fill.passes
    threshold_w = threshold_power_w(clearing_dose_j_mm2=stock.clearing_dose_j_mm2, speed_mm_s=speed, spot_mm=spot)
    if 4.0 * threshold_w > rated_w:  # too fast for this machine to bare wide lines
        speed = _round_down(speed * rated_w / (4.0 * threshold_w))
        threshold_w *= speed / fill.speed_mm_s
    steps_w = _geometric(0.8 * threshold_w, min(5.0 * threshold_w, rated_w), count)
    percents = {max(0.5, round(2 * power_pct_for(machine, watts / fill.passes)) / 2) for watts in steps_w}
    distance = max(LINE_DISTANCE_MM, math.ceil(5 * spot))
    patches = []
    for power in sorted(percents):
        recipe = replace(fill, speed_mm_s=speed, power_pct=power, pitch_mm=distance, edge_inset_mm=0.0)
        patches.append(_line_patch(recipe, f"{power:.4g} %", machine, stock))
    return patches


def _passes_table(fill: Recipe, machine: Machine, stock: Stock, count: int) -> Table:
    """One pass, two and four down, powers across: from where one pass does not reach to where four should frost."""
    powers = _geometric(0.45 * fill.power_pct, min(1.35 * fill.power_pct, 100.0), count)
    percents = sorted({max(0.5, round(2 * power) / 2) for power in powers})
    return [
        [
            _fill_patch(replace(fill, passes=passes, power_pct=power), f"{passes} x {power:.4g} %", machine, stock)
            for power in percents
        ]
        for passes in (1, 2, 4)
    ]


def _focus_table(fill: Recipe, machine: Machine, stock: Stock, count: int) -> Table:
    """Two powers down, heights of the focus across, to a Rayleigh range and a half on either side."""
    reach = 1.5 * rayleigh_range_mm(
        spot_mm=machine.spot_mm, wavelength_um=machine.wavelength_um, beam_quality_m2=machine.beam_quality_m2
    )
    heights = sorted({round(reach * (2 * k / (count - 1) - 1), 1) for k in range(count)})
    strong = _line_patches(fill, machine, stock, 5)
    rows: Table = []
    for recipe in (strong[-2].recipe, strong[-1].recipe):
        lines = [replace(recipe, focus_mm=height) for height in heights]
        rows.append([_line_patch(line, f"{line.focus_mm:g}/{line.power_pct:.4g}", machine, stock) for line in lines])
    return rows


def _comb_table(kind: CouponKind, fill: Recipe, machine: Machine, stock: Stock, count: int) -> Table:
    """Speeds down, each at the power at which its bars end where they are drawn, or all there is."""
    step = BOTH_WAY_STEP_MM if kind == "both-way-comb" else DELAY_STEP_MM
    fastest = machine.max_speed_mm_s
    table: Table = []
    for speed in sorted({float(round(fastest * (k + 1) / count)) or fastest for k in range(count)}, reverse=True):
        threshold_w = threshold_power_w(
            clearing_dose_j_mm2=stock.clearing_dose_j_mm2, speed_mm_s=speed, spot_mm=spot_at_coat_mm(fill, machine)
        )
        watts = min(2.0 * threshold_w, power_w(machine, 100.0))
        if watts < REACH * threshold_w:  # bares too little to be looked at
            continue
        power = min(100.0, max(0.5, round(2 * power_pct_for(machine, watts)) / 2))
        recipe = replace(
            fill, speed_mm_s=speed, power_pct=power, passes=1, pitch_mm=LINE_DISTANCE_MM, scan_angle_deg=0.0,
            edge_inset_mm=0.0, edges="as drawn",
        )  # fmt: skip
        rows = "which pair of each row" if kind == "both-way-comb" else "which pair"
        looks = f"{rows} has its line midway in the gap? Count from the long line, to the left below zero"
        caption = f"{speed:.4g} mm/s"
        patch = Patch(label="", caption=caption, purpose="fill", recipe=recipe, expected=looks, comb_step_mm=step)
        table.append([patch])
    if len(table) < 2:
        raise JobError("This machine is too weak to bare lines at its speeds.", hint="Try a stock that needs less.")
    return table


def _line_patch(recipe: Recipe, caption: str, machine: Machine, stock: Stock) -> Patch:
    width = cleared_width_mm(recipe, machine, stock)
    looks = f"lines {width:.3f} mm wide" if width else "nothing bared"
    return Patch(label="", caption=caption, purpose="fill", recipe=recipe, expected=looks)


def _strips_patch(cut: Recipe, strips: int) -> Patch:
    """One rectangle parted into strips."""
    looks = f"{strips} strips fall out; push them together and measure the gap"
    return Patch(label="", caption=f"{strips} strips", purpose="cut", recipe=cut, expected=looks, strips=strips)


def _cut_patches(cut: Recipe, machine: Machine, count: int) -> list[Patch]:
    """One power, speeds about the recipe's own."""
    fastest = min(machine.max_speed_mm_s, 2.0 * cut.speed_mm_s)
    speeds = _with_own(_geometric(0.5 * cut.speed_mm_s, fastest, count), cut.speed_mm_s, step=0.5)
    patches = []
    for speed in sorted(speeds):
        looks = "falls out" if speed <= cut.speed_mm_s else "may hold on"
        recipe = replace(cut, speed_mm_s=speed)
        patches.append(Patch(label="", caption=f"{speed:.4g} mm/s", purpose="cut", recipe=recipe, expected=looks))
    return patches


def _fill_patch(recipe: Recipe, caption: str, machine: Machine, stock: Stock) -> Patch:
    verdict = fill_verdict(recipe, machine, stock)
    return Patch(
        label="", caption=caption, purpose="fill", recipe=recipe, expected=verdict.words, verdict=verdict.verdict
    )


def _round_down(speed_mm_s: float) -> float:
    """The speed cut to two figures, which a person can read off a label and set."""
    step = 10.0 ** (math.floor(math.log10(speed_mm_s)) - 1)
    return round(math.floor(speed_mm_s / step + 1e-9) * step, 9)


def _geometric(first: float, last: float, count: int) -> list[float]:
    return [first * (last / first) ** (k / (count - 1)) for k in range(count)]


def _with_own(values: Sequence[float], own: float, *, step: float) -> set[float]:
    """The values rounded to the step, the one nearest to ``own`` replaced by it."""
    rounded = {max(step, round(value / step) * step) for value in values}
    rounded.remove(min(rounded, key=lambda value: abs(math.log(value / own))))
    return rounded | {own}
