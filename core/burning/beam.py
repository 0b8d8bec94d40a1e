"""From a recipe to the strip of coat that one scan line bares, and to the dose that many lines add up to.

A Gaussian beam of 1/e² radius w that moves in a straight line leaves, at distance x from the line, the dose
``P/v · √(2/π)/w · exp(-2x²/w²)`` (the irradiance ``2P/(πw²) exp(-2r²/w²)`` integrated over time; A. E. Siegman, Lasers,
1986, ch. 17). The coat comes off where that exceeds its clearing dose (threshold law: J. M. Liu, Opt. Lett. 7, 196,
1982). Left-over coat is judged by each line and pass alone, frosting by the sum of all: the careful side of both (see
``dose`` for what hits count for together).
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.burning.dose import ClearingLine, line_peak_j_mm2
from core.burning.machines import Machine
from core.errors import JobError
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

Verdict = Literal["clean", "leaves lines", "frosts", "not reached"]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FillVerdict:
    """What a fill recipe does to the coat.

    spot_mm: 1/e² diameter at the coat, defocus included. cleared_width_mm, line_peak_dose_j_mm2 (on its axis): of one
    line in one pass. mean_dose, peak_dose, least_dose (J/mm²): of the sum of many lines and all passes; the peak lies
    on a line, the least midway.
    width_margin_pct: how far the cleared width exceeds the pitch (negative: lines stay). frosting_margin_pct: how far
    the peak stays below the frosting dose (negative: it frosts). wide_left_over_pct: share of the coat that stays in
    a fill much wider than the pitch. pitch_under_spot: the rule of thumb that is not enough by itself.
    words: the verdict in a sentence or two. of_tones: the fill is a screen, and judged by its tones.
    """

    verdict: Verdict
    words: str
    spot_mm: float
    cleared_width_mm: float
    line_peak_dose_j_mm2: float
    mean_dose_j_mm2: float
    peak_dose_j_mm2: float
    width_margin_pct: float
    frosting_margin_pct: float
    wide_left_over_pct: float
    pitch_under_spot: bool
    of_tones: bool = False


def focused_spot_mm(
    *, wavelength_um: float, focal_length_mm: float, input_diameter_mm: float, beam_quality_m2: float = 1.0
) -> float:
    """Spot diameter (1/e²) at the focus of a lens, ``4 M² λ f / (π D)``.

    Source: Siegman, Lasers, ch. 17; H. Kogelnik, T. Li, Appl. Opt. 5, 1550 (1966). Holds without aberration or
    clipping, for a focal length well below the input beam's Rayleigh range. A measured spot is better.
    """
    return 4e-3 * beam_quality_m2 * wavelength_um * focal_length_mm / (math.pi * input_diameter_mm)


def rayleigh_range_mm(*, spot_mm: float, wavelength_um: float, beam_quality_m2: float = 1.0) -> float:
    """Distance from the focus at which the spot has grown by √2, ``π d² / (4 M² λ)`` (source as above)."""
    return math.pi * spot_mm**2 / (4e-3 * beam_quality_m2 * wavelength_um)


def defocused_spot_mm(*, spot_mm: float, focus_mm: float, wavelength_um: float, beam_quality_m2: float = 1.0) -> float:
    """Spot diameter at ``focus_mm`` above or below the focus, ``d √(1 + (z/z_R)²)`` (source as above)."""
    z_r = rayleigh_range_mm(spot_mm=spot_mm, wavelength_um=wavelength_um, beam_quality_m2=beam_quality_m2)
    return spot_mm * math.hypot(1.0, focus_mm / z_r)


def spot_at_coat_mm(recipe: Recipe, machine: Machine) -> float:
    """The machine's spot, widened by the recipe's focus height."""
    return defocused_spot_mm(
        spot_mm=machine.spot_mm,
        focus_mm=recipe.focus_mm - machine.focus_offset_mm,
        wavelength_um=machine.wavelength_um,
        beam_quality_m2=machine.beam_quality_m2,
    )


def power_w(machine: Machine, power_pct: float) -> float:
    """Watts at a power setting: by the machine's table, else a straight line up to the rated power.

    The table starts at (0, 0) unless it says otherwise; beyond its last row power stays in proportion to that row.
    Raises JobError outside 0..100 %.
    """
    if not 0.0 <= power_pct <= 100.0:
        raise JobError(f"A power of {power_pct:g} % can't be set.", hint="Give a power from 0 to 100 %.")
    if not machine.power_table:
        return machine.rated_power_w * power_pct / 100.0
    percents, watts = (list(column) for column in zip(*machine.power_table, strict=True))
    if percents[0] > 0.0:
        percents, watts = [0.0, *percents], [0.0, *watts]
    if power_pct > percents[-1]:
        return float(watts[-1] * power_pct / percents[-1])
    return float(np.interp(power_pct, percents, watts))


def line_dose_j_mm2(x_mm: ArrayLike, *, power_w: float, speed_mm_s: float, spot_mm: float) -> Floats:
    """Dose of one line at distances ``x_mm`` from its axis; same shape."""
    w = spot_mm / 2
    x = np.asarray(x_mm, float)
    result: Floats = power_w / speed_mm_s * math.sqrt(2 / math.pi) / w * np.exp(-2 * (x / w) ** 2)
    return result


def threshold_power_w(*, clearing_dose_j_mm2: float, speed_mm_s: float, spot_mm: float) -> float:
    """Power at which a line's axis just reaches the clearing dose, ``D v w √(π/2)``."""
    return clearing_dose_j_mm2 * speed_mm_s * spot_mm / 2 * math.sqrt(math.pi / 2)


def line_width_mm(*, power_w: float, speed_mm_s: float, spot_mm: float, clearing_dose_j_mm2: float) -> float:
    """Width that one line bares, ``w √(2 ln(P/P_th))``; 0 at or below the threshold power (Liu 1982)."""
    threshold_w = threshold_power_w(clearing_dose_j_mm2=clearing_dose_j_mm2, speed_mm_s=speed_mm_s, spot_mm=spot_mm)
    if power_w <= threshold_w:
        return 0.0
    return spot_mm / 2 * math.sqrt(2 * math.log(power_w / threshold_w))


def hatch_ratio(share_of_pitch: ArrayLike, *, pitch_mm: float, spot_mm: float) -> Floats:
    """Dose of endless parallel lines over their mean ``P/(v p)``, at ``x = share · pitch`` from a line; same shape.

    The sum over lines and its Poisson series ``1 + 2 Σ exp(-π²k²w²/2p²) cos(2πkx/p)`` are equal; whichever
    converges sooner is summed, to below 1e-16.
    """
    u = np.asarray(share_of_pitch, float)
    u = u - np.round(u)
    ratio = pitch_mm / (spot_mm / 2)
    if ratio < 1.25:
        k = np.arange(1, math.ceil(2.9 * ratio) + 1)
        terms = np.exp(-((math.pi * k / ratio) ** 2) / 2) * np.cos(2 * math.pi * k * u[..., None])
        series: Floats = 1.0 + 2.0 * terms.sum(-1)
        return series
    reach = math.ceil(4.5 / ratio) + 1
    n = np.arange(-reach, reach + 1)
    direct: Floats = ratio * math.sqrt(2 / math.pi) * np.exp(-2 * ((u[..., None] - n) * ratio) ** 2).sum(-1)
    return direct


def cleared_width_mm(recipe: Recipe, machine: Machine, stock: Stock) -> float:
    """Width that one scan line of the recipe bares in one pass; 0 where the coat stays. Raises JobError.

    Whether further passes help the coat off is not known (``dose``), so none is counted on.
    """
    return clearing_line(recipe, machine, stock).cleared_width_mm


def clearing_line(recipe: Recipe, machine: Machine, stock: Stock) -> ClearingLine:
    """One scan line of the recipe against the stock's coat. Raises JobError on settings that mean nothing."""
    _check(recipe)
    spot = spot_at_coat_mm(recipe, machine)
    peak = line_peak_j_mm2(power_w=power_w(machine, recipe.power_pct), speed_mm_s=recipe.speed_mm_s, spot_mm=spot)
    return ClearingLine(
        spot_mm=spot, peak_j_mm2=float(peak), clearing_dose_j_mm2=stock.clearing_dose_j_mm2, passes=recipe.passes
    )


def fill_verdict(recipe: Recipe, machine: Machine, stock: Stock) -> FillVerdict:
    """Whether a fill comes off clean. Raises JobError on settings that mean nothing (speed 0, pitch 0, ...).

    *leaves lines*: the cleared width of one line in one pass is below the pitch. *frosts*: the sum of all lines and
    passes reaches the frosting dose somewhere. *not reached*: no line clears anything. Frosting is told first: it can't
    be mended.
    """
    line = clearing_line(recipe, machine, stock)
    width, spot = line.cleared_width_mm, line.spot_mm
    watts = power_w(machine, recipe.power_pct) * recipe.passes
    mean = watts / (recipe.speed_mm_s * recipe.pitch_mm)
    (most,) = mean * hatch_ratio([0.0], pitch_mm=recipe.pitch_mm, spot_mm=spot)
    verdict: Verdict = "clean"
    if most >= stock.frosting_dose_j_mm2:
        verdict = "frosts"
    elif width == 0.0:
        verdict = "not reached"
    elif recipe.pitch_mm > width:
        verdict = "leaves lines"
    figures = FillVerdict(
        verdict=verdict,
        words="",
        spot_mm=spot,
        cleared_width_mm=width,
        line_peak_dose_j_mm2=line.peak_j_mm2,
        mean_dose_j_mm2=mean,
        peak_dose_j_mm2=float(most),
        width_margin_pct=100 * (width / recipe.pitch_mm - 1),
        frosting_margin_pct=100 * (1 - float(most) / stock.frosting_dose_j_mm2),
        wide_left_over_pct=100 * max(0.0, 1 - width / recipe.pitch_mm),
        pitch_under_spot=recipe.pitch_mm < spot,
    )
    return replace(figures, words=_words(figures, recipe, stock))


def _words(figures: FillVerdict, recipe: Recipe, stock: Stock) -> str:
    gap = (
        f"each line bares {figures.cleared_width_mm:.3f} mm of a pitch of {recipe.pitch_mm:.3f} mm, "
        f"so {_percent(figures.wide_left_over_pct)} of the coat stays"
    )
    if figures.verdict == "clean":
        return (
            f"Clean: cleared width {_percent(figures.width_margin_pct)} over the pitch, "
            f"dose {_percent(figures.frosting_margin_pct)} below frosting."
        )
    if figures.verdict == "frosts":
        also = f" Lines stay all the same: {gap}." if figures.width_margin_pct < 0 else ""
        return (
            f"Frosts: the dose reaches {figures.peak_dose_j_mm2:.2f} J/mm², "
            f"{_percent(-figures.frosting_margin_pct)} over the frosting dose of {stock.frosting_dose_j_mm2:.2f}.{also}"
        )
    if figures.verdict == "not reached":
        short_pct = 100 * (1 - figures.line_peak_dose_j_mm2 / stock.clearing_dose_j_mm2)
        passes = " More passes are not counted on." if recipe.passes > 1 else ""
        return (
            f"Not reached: a line gives {figures.line_peak_dose_j_mm2:.2f} J/mm² at most, "
            f"{_percent(short_pct)} below the clearing dose of {stock.clearing_dose_j_mm2:.2f}.{passes}"
        )
    thumb = f" The pitch is under the spot of {figures.spot_mm:.3f} mm; that alone is not enough."
    return f"Leaves lines: {gap}.{thumb if figures.pitch_under_spot else ''}"


def _percent(percent: float) -> str:
    """A margin for people; a small one is not told as none."""
    return f"{percent:.0f} %" if percent >= 0.5 else "under 1 %"


def _check(recipe: Recipe) -> None:
    """Raise JobError on settings that no fill can have."""
    for name, value, unit, example in (
        ("speed", recipe.speed_mm_s, " mm/s", "800 mm/s"),
        ("pitch", recipe.pitch_mm, " mm", "0.042 mm"),
        ("number of passes", recipe.passes, "", "1"),
    ):
        if not (math.isfinite(value) and value > 0):
            raise JobError(
                f"A {name} of {value:g}{unit} can't be burned.", hint=f"Give one above zero, like {example}."
            )
