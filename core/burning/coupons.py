"""Coupons: test pieces that fit the offcut at hand, each patch with its label and the look that is expected of it.

A coupon is laid out as it is read: in the front frame, or, for labels read from the back, in the bed frame.
``core.job.coupon_job`` makes an ordinary job of it, so that it is prepared, shown and exported like any other.
"""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from core.burning.beam import (
    cleared_width_mm,
    fill_verdict,
    power_w,
    rayleigh_range_mm,
    spot_at_coat_mm,
    threshold_power_w,
)
from core.burning.dose_window import power_pct_for
from core.burning.machines import Machine
from core.burning.row_combs import BOTH_WAY_STEP_MM, DELAY_STEP_MM
from core.burning.score_letters import text_width_mm
from core.errors import JobError
from core.purposes import Purpose
from core.sheet.placement import Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH, pitch_mm_from_lpi

CouponKind = Literal[
    "pitch-ladder", "speed-power", "line-widths", "cut-ladder", "two-angles", "passes", "focus-ladder", "kerf-strips",
    "both-way-comb", "beam-delay",
    "painted-scrap",
]  # fmt: skip
Side = Literal["front", "back"]

COUPON_KINDS: dict[CouponKind, str] = {
    "pitch-ladder": "Fills at one dose a line, from wide to narrow pitch: where do lines go, where does it frost?",
    "speed-power": "Fills at one pitch over speeds and powers: which is clean?",
    "line-widths": "Single lines at several powers: their widths, read through a loupe, give spot and clearing dose.",
    "cut-ladder": "Small squares cut at several speeds: which fall out?",
    "two-angles": "Fills along x and along y at several pitches: do both come out alike?",
    "passes": "Fills burned once, twice and four times at several powers: how do passes add up in coat and sheet?",
    "focus-ladder": "Single lines at several heights and two powers: their widths give best focus and Rayleigh range.",
    "painted-scrap": "Fills through cured paint and coat over speeds and powers: the dose that a later burn needs.",
    "kerf-strips": "Strips cut side by side: pushed together, the gap they leave, measured once, gives the kerf.",
    "both-way-comb": "Two rows against a fixed comb at several speeds: which pairs line up gives offset and delay.",
    "beam-delay": "Single rows against a fixed comb at several speeds: which pairs line up gives the beam's delay.",
}
COMBS: tuple[CouponKind, ...] = ("both-way-comb", "beam-delay")

MARGIN_MM = 2.5
GAP_MM = 2.0
TEXT_MM, LEAST_TEXT_MM = 2.2, 1.4
LEAST_PATCH_MM: dict[CouponKind, tuple[float, float]] = {
    "pitch-ladder": (6.0, 5.0),
    "speed-power": (6.0, 5.0),
    "line-widths": (8.0, 4.0),
    "cut-ladder": (6.0, 6.0),
    "two-angles": (6.0, 6.0),
    "passes": (6.0, 5.0),
    "focus-ladder": (8.0, 4.0),
    "kerf-strips": (20.0, 8.0),
    "both-way-comb": (22.0, 2.0),
    "beam-delay": (22.0, 1.0),
    "painted-scrap": (6.0, 5.0),
}
"""Less can't be judged by eye, or held."""
MOST_PATCH_MM = 20.0
"""More only takes longer."""
REACH = 1.5
"""Line dose over clearing dose of the starting recipe for mirrored acrylic on its own machine (20 W over 13 W)."""
SQUARE_MM = 12.0
"""Side of a cut ladder's squares at most."""
_STRIPS_MM = (60.0, 20.0)
"""The rectangle of the kerf strips at most."""
_COMB_MM = 66.0
"""A comb's length at most."""
LINES_EACH = 4
LINE_DISTANCE_MM = 1.0
_CAPTIONS_MEAN: dict[CouponKind, str] = {
    "speed-power": " (mm/s / %)",
    "painted-scrap": " (mm/s / %)",
    "two-angles": " (LPI, angle)",
    "passes": " (passes x %)",
    "focus-ladder": " (mm / %)",
    "both-way-comb": " (mm/s)",
    "beam-delay": " (mm/s)",
}
_CODE_LETTERS = "23456789ABCDEFGHJKMNPQRTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """One patch: where it lies in the frame the coupon is read in, what is burned, what is expected.

    label: "B3"; caption: what stands under it. strips: into how many a cut patch is parted. comb_step_mm: by how much
    the gaps of a comb lie further from their lines from pair to pair; 0: no comb. expected: the look that is
    foretold, in words; verdict: of the fill's dose model, empty for cuts and single lines.
    """

    label: str
    caption: str
    purpose: Purpose
    recipe: Recipe
    expected: str
    verdict: str = ""
    strips: int = field(default=1, metadata={"omit_default": True})
    comb_step_mm: float = field(default=0.0, metadata={"omit_default": True})
    x_mm: float = 0.0
    y_mm: float = 0.0
    width_mm: float = 0.0
    height_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A scored line of text; (x, y) is its cap line's left end in the frame the coupon is read in."""

    text: str
    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """A laid-out coupon. ``code`` stands on it and finds it again in the shop book; ``made`` is an ISO date.

    paints: what lies on the coat of a painted scrap, first painted first; its stock then holds that stack's figures.
    """

    code: str
    kind: CouponKind
    made: str
    width_mm: float
    height_mm: float
    read_from: Side
    turn: Turn
    stock: Stock
    machine: Machine
    patches: tuple[Patch, ...]
    labels: tuple[Label, ...]
    paints: tuple[str, ...] = field(default=(), metadata={"omit_default": True})

    def patch(self, label: str) -> Patch:
        """The patch of that label. Raises JobError when there is none."""
        for patch in self.patches:
            if patch.label == label.strip().upper():
                return patch
        raise JobError(
            f"Coupon {self.code} has no patch {label}.", hint=f"It has {', '.join(p.label for p in self.patches)}."
        )

    def patch_at(self, x_mm: float, y_mm: float) -> Patch | None:
        """The patch at a place of the frame the coupon is read in; None beside all of them."""
        for patch in self.patches:
            if 0 <= x_mm - patch.x_mm <= patch.width_mm and 0 <= y_mm - patch.y_mm <= patch.height_mm:
                return patch
        return None


def make_coupon(
    kind: CouponKind,
    stock: Stock,
    machine: Machine,
    *,
    width_mm: float = 120.0,
    height_mm: float = 80.0,
    recipe: Recipe | None = None,
    read_from: Side = "front",
    turn: Turn = "sideways",
    made: str = "",
    paints: tuple[str, ...] = (),
) -> Coupon:
    """A coupon of that kind for the stock and machine, as rich as the size allows.

    recipe: what is tried around; the stock's own where None. Raises JobError when the stock must not be burned so,
    or when the size is too small, naming the least that would do.
    """
    if kind not in COUPON_KINDS:
        raise JobError(f"There is no coupon “{kind}”.", hint=f"Choose one of {', '.join(COUPON_KINDS)}.")
    if stock.refused:
        raise JobError(f"{stock.name}: {stock.refused}")
    if not all(math.isfinite(side) and side > 0 for side in (width_mm, height_mm)):
        raise JobError(f"A coupon can't be {width_mm:g} x {height_mm:g} mm.", hint="Give a size like 120x80.")
    if paints and kind != "painted-scrap":
        raise JobError("Only a painted scrap has paints on its coat.", hint="Choose that kind, or name none.")
    tables = _tables(kind, stock, machine, recipe)
    under = f" under {', '.join(paints)}" if paints else ""
    title = f"{kind}{_CAPTIONS_MEAN.get(kind, '')} {stock.name}{under} {made}".strip()
    for table in tables:
        laid = _laid_out(kind, table, title, width_mm, height_mm)
        if laid:
            break
    else:
        need = _least_size(kind, tables[-1], title)
        raise JobError(
            f"{width_mm:g} x {height_mm:g} mm is too small for the {kind} coupon.",
            hint=f"It needs about {need[0]:.0f} x {need[1]:.0f} mm.",
        )
    coupon = Coupon(
        code="",
        kind=kind,
        made=made,
        width_mm=width_mm,
        height_mm=height_mm,
        read_from=read_from,
        turn=turn,
        stock=stock,
        machine=machine,
        patches=laid[0],
        labels=laid[1],
        paints=paints,
    )
    return _with_code(coupon)


Table = list[list[Patch]]
"""Rows of patches, not laid out yet."""


def _tables(kind: CouponKind, stock: Stock, machine: Machine, recipe: Recipe | None) -> list[Table]:
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


# --- layout ----------------------------------------------------------------------------------------------------------


def _laid_out(
    kind: CouponKind, table: Table, title: str, width_mm: float, height_mm: float
) -> tuple[tuple[Patch, ...], tuple[Label, ...]] | None:
    """Patches and labels in the size given, or None when they do not fit. Long single rows are wrapped."""
    best: tuple[float, Table] | None = None
    for wrapped in _wrappings(table):
        width, height = _patch_size(wrapped, width_mm, height_mm)
        least_width, least_height = _least_patch(kind, wrapped)
        if width < least_width or height < least_height:
            continue
        roominess = min(min(width, MOST_PATCH_MM) / least_width, min(height, MOST_PATCH_MM) / least_height)
        if best is None or roominess > best[0]:
            best = (roominess, wrapped)
    if best is None:
        return None
    rows = best[1]
    most = _STRIPS_MM[0] if kind == "kerf-strips" else _COMB_MM if kind in COMBS else MOST_PATCH_MM
    cell, height = (min(side, most) for side in _patch_size(rows, width_mm, height_mm))
    width = cell
    if kind == "cut-ladder":
        width = height = min(cell, height, SQUARE_MM)
    if kind == "kerf-strips":
        width, height = min(cell, _STRIPS_MM[0]), min(height, _STRIPS_MM[1])
    if kind in COMBS:
        height = LEAST_PATCH_MM[kind][1]
    if kind in ("line-widths", "focus-ladder"):
        height = _lines_height(rows[0][0], height)
    return _placed(rows, _title(title, width_mm), cell, width, height)


def _wrappings(table: Table) -> list[Table]:
    """The table itself, or, for a single row, the row broken into 1, 2, 3 ... lines."""
    if len(table) > 1:
        return [table]
    row = table[0]
    return [
        [row[k : k + columns] for k in range(0, len(row), columns)]
        for columns in sorted({math.ceil(len(row) / lines) for lines in range(1, len(row) + 1)}, reverse=True)
    ]


def _header_height_mm() -> float:
    return TEXT_MM + GAP_MM


def _caption_height_mm() -> float:
    return TEXT_MM + 0.6


def _patch_size(rows: Table, width_mm: float, height_mm: float) -> tuple[float, float]:
    columns = max(map(len, rows))
    width = (width_mm - 2 * MARGIN_MM - (columns - 1) * GAP_MM) / columns
    height = (height_mm - 2 * MARGIN_MM - _header_height_mm() - (len(rows) - 1) * GAP_MM) / len(rows)
    return width, height - _caption_height_mm()


def _least_patch(kind: CouponKind, rows: Table) -> tuple[float, float]:
    """Least patch size: what the eye needs, and room for the captions at their least height."""
    captions = [_caption(r, c, patch) for r, row in enumerate(rows) for c, patch in enumerate(row)]
    widest = max(text_width_mm(caption, height_mm=LEAST_TEXT_MM) for caption in captions)
    return max(LEAST_PATCH_MM[kind][0], widest), LEAST_PATCH_MM[kind][1]


def _least_size(kind: CouponKind, table: Table, title: str) -> tuple[float, float]:
    """About the smallest size that holds the plainest coupon, as square as may be."""
    sizes = []
    for rows in _wrappings(table):
        width, height = _least_patch(kind, rows)
        columns = max(map(len, rows))
        need_width = 2 * MARGIN_MM + columns * width + (columns - 1) * GAP_MM
        need_height = (
            2 * MARGIN_MM + _header_height_mm() + len(rows) * (height + _caption_height_mm() + GAP_MM) - GAP_MM
        )
        sizes.append((math.ceil(need_width), math.ceil(need_height)))
    return min(sizes, key=max)


def _lines_height(patch: Patch, height: float) -> float:
    """Whole lines only, so that the rows fall where they are meant to."""
    return min(LINES_EACH, math.floor(height / patch.recipe.pitch_mm)) * patch.recipe.pitch_mm


def _caption(row: int, column: int, patch: Patch) -> str:
    return f"{_label(row, column)} {patch.caption}"


def _label(row: int, column: int) -> str:
    return f"{'ABCDEFGHJKLMNPQRSTUVWXYZ'[row]}{column + 1}"


def _title(words: str, width_mm: float) -> Label:
    """The head line as tall as it may be; words fall away from its end where it would get too small."""
    room = width_mm - 2 * MARGIN_MM
    while words and text_width_mm(f"WWWWW {words}", height_mm=LEAST_TEXT_MM) > room:
        words = words.rpartition(" ")[0]
    head_mm = min(TEXT_MM, TEXT_MM * room / text_width_mm(f"WWWWW {words}", height_mm=TEXT_MM))
    return Label(text=words, x_mm=MARGIN_MM, y_mm=MARGIN_MM, height_mm=head_mm)


def _placed(
    rows: Table, title: Label, cell: float, width: float, height: float
) -> tuple[tuple[Patch, ...], tuple[Label, ...]]:
    captions = [_caption(r, c, patch) for r, row in enumerate(rows) for c, patch in enumerate(row)]
    text_mm = min(TEXT_MM, *(TEXT_MM * cell / text_width_mm(caption, height_mm=TEXT_MM) for caption in captions))
    labels = [title]
    patches = []
    for r, row in enumerate(rows):
        y = MARGIN_MM + _header_height_mm() + r * (height + _caption_height_mm() + GAP_MM)
        for c, patch in enumerate(row):
            x = MARGIN_MM + c * (cell + GAP_MM)
            patches.append(replace(patch, label=_label(r, c), x_mm=x, y_mm=y, width_mm=width, height_mm=height))
            labels.append(Label(text=_caption(r, c, patch), x_mm=x, y_mm=y + height + 0.6, height_mm=text_mm))
    return tuple(patches), tuple(labels)


def _with_code(coupon: Coupon) -> Coupon:
    """The coupon with its code, which is a digest of all it holds, written before its title."""
    digest = hashlib.sha256(repr(coupon).encode()).digest()
    number = int.from_bytes(digest[:8], "big")
    code = ""
    for _ in range(5):
        number, rest = divmod(number, len(_CODE_LETTERS))
        code += _CODE_LETTERS[rest]
    title, *captions = coupon.labels
    return replace(coupon, code=code, labels=(replace(title, text=f"{code} {title.text}".strip()), *captions))
