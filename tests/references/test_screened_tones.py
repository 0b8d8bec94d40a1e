"""Screened tones against the dose itself, on a raster, and dot gain as the trade tells it.

A wedge of 21 steps is screened for three recipes; every span's own dose (``D(x, y)`` of a line from a to b, the time
integral of a moving Gaussian: A. E. Siegman, Lasers, 1986, ch. 17) is worked out on a grid of points and a place counts
as bared where one span alone reaches the clearing dose. Nothing of the screens' own figures is used.

A. Murray, Monochrome reproduction in photoengraving, J. Franklin Inst. 221, 721 (1936), from an equation of E. R.
Davies: the share of dark in a screen follows from densities, a = (1 - 10^-Dt) / (1 - 10^-Ds). J. A. C. Yule and W. J.
Nielsen, The penetration of light into paper and its effect on halftone reproduction, TAGA Proc. 3, 65 (1951): with the
densities over n; n = 1 where no light spreads under the edges, which is Murray-Davies. Neither was read again: the
worked figures below are exact by the mixing of reflectances that both start from.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import erf

from core.artwork.picture_decisions import ScreenOptions
from core.artwork.tone_map import Tones
from core.burning.beam import clearing_line
from core.burning.dose import ClearingLine
from core.burning.machines import CO2_FLATBED
from core.burning.screens.screening import Screened, screen_of, screened
from core.burning.screens.spans import Spans
from core.burning.screens.tone_source import tone_source
from core.geometry.affine import IDENTITY
from core.sheet.stock import MIRRORED_ACRYLIC_3

STEP_MM = 6.0
RECIPES = {"300 LPI": (300, 800.0, 20.0), "600 LPI": (600, 800.0, 20.0), "400 LPI, slower": (400, 600.0, 20.0)}
KINDS = ("lines", "dots", "grain")


def line_of(recipe: str) -> tuple[ClearingLine, float]:
    lpi, speed_mm_s, power_pct = RECIPES[recipe]
    settings = replace(MIRRORED_ACRYLIC_3.fill, pitch_mm=25.4 / lpi, speed_mm_s=speed_mm_s, power_pct=power_pct)
    return clearing_line(settings, CO2_FLATBED, MIRRORED_ACRYLIC_3), settings.pitch_mm


def wedge() -> Tones:
    """21 squares from nothing to all, side by side."""
    wanted = np.repeat(np.linspace(0, 1, 21, dtype=np.float32), 20)[None, :].repeat(20, axis=0)
    return Tones(wanted=wanted, to_mm=(STEP_MM / 20, 0.0, 0.0, STEP_MM / 20, 0.0, 0.0))


def of_recipe(recipe: str, options: ScreenOptions) -> tuple[Screened, ClearingLine]:
    line, pitch_mm = line_of(recipe)
    return screened(wedge(), options, line, pitch_mm=pitch_mm, drawing_to_scan=IDENTITY), line


def bared_by_raster(spans: Spans, line: ClearingLine, left: float, right: float, top: float, bottom: float) -> float:
    """Share of a window in which a span alone reaches the clearing dose, by points 8 µm apart."""
    radius, step = line.spot_mm / 2, 0.008
    x = np.arange(left + step / 2, right, step)
    y = np.arange(top + step / 2, bottom, step)
    bared = np.zeros((len(y), len(x)), bool)
    reach = line.spot_mm
    for row, x0, x1 in zip(spans.row.tolist(), spans.x0_mm.tolist(), spans.x1_mm.tolist(), strict=True):
        axis = spans.y0_mm + row * spans.pitch_mm
        if x1 < left - reach or x0 > right + reach or not top - reach < axis < bottom + reach:
            continue
        i = slice(*np.searchsorted(x, [x0 - reach, x1 + reach]))
        j = slice(*np.searchsorted(y, [axis - reach, axis + reach]))
        along = (erf(np.sqrt(2) * (x[i] - x0) / radius) - erf(np.sqrt(2) * (x[i] - x1) / radius)) / 2
        across = np.exp(-2 * (y[j] - axis) ** 2 / radius**2)
        bared[j, i] |= line.peak_j_mm2 * across[:, None] * along[None, :] >= line.clearing_dose_j_mm2
    return float(bared.mean())


def steps_bared(made: Screened, line: ClearingLine) -> np.ndarray:
    """Bared share of each step, its borders left out: whole blocks of eight cells, over which thresholds repeat."""
    block_mm = 8 * 25.4 / made.lines_per_inch
    width_mm = block_mm * np.floor((STEP_MM - 0.5) / block_mm)
    height_mm = 8 * made.spans.pitch_mm * np.floor((STEP_MM - 0.5) / 8 / made.spans.pitch_mm)
    left, top = (STEP_MM - width_mm) / 2, (STEP_MM - height_mm) / 2
    return np.array(
        [
            bared_by_raster(made.spans, line, n * STEP_MM + left, n * STEP_MM + left + width_mm, top, top + height_mm)
            for n in range(21)
        ]
    )


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("recipe", list(RECIPES))
def test_a_wedge_bares_what_is_wanted(recipe: str, kind: str) -> None:
    made, line = of_recipe(recipe, ScreenOptions(kind=kind))  # type: ignore[arg-type]
    wanted = np.minimum(np.linspace(0, 1, 21), made.curve.darkest)
    found = steps_bared(made, line)
    assert np.abs(found - wanted).max() < 0.02


@pytest.mark.parametrize("recipe", list(RECIPES))
def test_a_line_screen_bares_as_much_at_its_edges_as_within(recipe: str) -> None:
    """Cells that the picture's edge cuts, over widths that cut them everywhere; in cells' worths of the tone's area."""
    line, pitch_mm = line_of(recipe)
    over = []
    for tone in (0.1, 0.25, 0.4, 0.55):
        for cut in range(4):
            cell_mm = 25.4 / 80
            width_mm = 6.0 + cut * cell_mm / 4
            tones = Tones(wanted=np.full((9, 9), tone, np.float32), to_mm=(width_mm / 9, 0, 0, 3 / 9, 0, 0))
            options = ScreenOptions(kind="lines", lines_per_inch=80.0)
            made = screened(tones, options, line, pitch_mm=pitch_mm, drawing_to_scan=IDENTITY)
            assert made.spans.x0_mm.min() >= 0 and made.spans.x1_mm.max() <= width_mm
            rows = 8 * pitch_mm, 16 * pitch_mm
            within = bared_by_raster(made.spans, line, 4 * cell_mm, 12 * cell_mm, *rows)
            whole = bared_by_raster(made.spans, line, -0.2, width_mm + 0.2, *rows) * (width_mm + 0.4) / width_mm
            over.append((whole - within) / tone * width_mm / cell_mm / 2)
    assert abs(np.mean(over)) < 0.08  # 0.2 too little where spans are cut off
    assert np.abs(over).max() < 0.2


def share_of_dark(tint: float, solid: float, n: float = 1.0) -> float:
    """Yule-Nielsen's share from densities over those of the bright ground; Murray-Davies for n = 1."""
    return float((1 - 10 ** (-tint / n)) / (1 - 10 ** (-solid / n)))


def density(reflectance: float) -> float:
    return float(-np.log10(reflectance))


def test_the_formulas_by_worked_figures() -> None:
    # ground 1, solid 1/50, half of it dark: 51/100 come back
    assert share_of_dark(density(0.51), density(0.02)) == pytest.approx(0.5, rel=1e-12)
    # n = 2: the roots mix, (1/2 + 1/2 * 1/5)^2 = 36/100; Murray-Davies sees 64/96 there, a gain of a sixth
    assert share_of_dark(density(0.36), density(0.04), n=2.0) == pytest.approx(0.5, rel=1e-12)
    assert share_of_dark(density(0.36), density(0.04)) == pytest.approx(2 / 3, rel=1e-12)
    assert share_of_dark(0.3, 1.5) == pytest.approx(0.515102, rel=1e-5)


@pytest.mark.parametrize(
    ("recipe", "kind"), [("300 LPI", "lines"), ("300 LPI", "dots"), ("300 LPI", "grain"), ("400 LPI, slower", "dots")]
)
def test_dot_gain_that_would_be_without_compensation(recipe: str, kind: str) -> None:
    """Screens told the wanted share as it is, seen by a meter: bared places reflect 80 %, standing coat 4 %."""
    made, line = of_recipe(recipe, ScreenOptions(kind=kind))  # type: ignore[arg-type]
    screen, _ = screen_of(ScreenOptions(kind=kind), made.held, line)  # type: ignore[arg-type]
    left_alone = replace(made, spans=screen.spans(tone_source(wedge(), IDENTITY), lambda share: share))
    bared = steps_bared(left_alone, line)
    told = made.curve.without(np.linspace(0, 1, 21))
    for seen, expected in zip(bared.tolist(), told.tolist(), strict=True):
        tint, solid = (density(reflectance / 0.80) for reflectance in (seen * 0.80 + (1 - seen) * 0.04, 0.04))
        assert 1 - share_of_dark(tint, solid) == pytest.approx(expected, abs=0.02)


def test_dot_gain_of_the_starting_recipe() -> None:
    made, _ = of_recipe("300 LPI", ScreenOptions(kind="lines"))
    assert 0.2 < float(made.curve.without(np.array([0.5]))[0]) < 0.3, "half of each cell burned bares a quarter"
    assert float(made.curve.nominal(np.array([0.5]))[0]) > 0.75, "to bare half, most of each cell is burned"
