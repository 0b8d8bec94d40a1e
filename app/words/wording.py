"""Figures and words as the window shows them, mm or inch. Numbers group thousands with a narrow space."""

import math
import re

from core.purposes import Purpose
from core.units import MM_PER_INCH, duration_text, length_text

__all__ = ["duration_text", "length_text"]

PURPOSE_WORDS: dict[Purpose, str] = {
    "fill": "Fill: clear the coat over an area",
    "score": "Score: a line into the coat",
    "cut": "Cut: right through the sheet",
    "guide": "Guide: seen here, never burned",
}


SMALLEST_AREA = 1e-6
"""The least area that is told as a number, mm² or in²."""


def grouped(value: float, places: int = 0) -> str:
    """``12 345.6``, the groups parted by a narrow no-break space."""
    return f"{value:,.{places}f}".replace(",", "\u202f")


def area_text(area_mm2: float, *, inches: bool = False) -> str:
    """An area for people, ``"1 118 mm²"`` or ``"1.73 in²"``; small ones get more places."""
    value, unit = (area_mm2 / MM_PER_INCH**2, "in²") if inches else (area_mm2, "mm²")
    if 0 < value < SMALLEST_AREA:
        return f"under {SMALLEST_AREA:.6f} {unit}"
    if 0 < value < 1:
        places = min(2 - math.floor(math.log10(value)), 6)
    else:
        places = 0 if value >= 100 else 1 if value >= 10 else 2
    return f"{grouped(value, places)} {unit}"


def sheet_area_text(area_mm2: float, *, inches: bool = False) -> str:
    """An area of sheet, where fractions are of no account: ``"871 cm²"`` or ``"135 in²"``."""
    value, unit = (area_mm2 / MM_PER_INCH**2, "in²") if inches else (area_mm2 / 100, "cm²")
    return f"{grouped(value)} {unit}"


def size_text(width_mm: float, height_mm: float, *, inches: bool = False) -> str:
    """A size for people, ``"240.0 × 120.0 mm"``."""
    if inches:
        return f"{width_mm / MM_PER_INCH:.3f} × {height_mm / MM_PER_INCH:.3f} in"
    return f"{grouped(width_mm, 1)} × {grouped(height_mm, 1)} mm"


def place_text(x_mm: float, y_mm: float, *, inches: bool = False) -> str:
    """A place for people, ``"93.2, 41.0 mm"``."""
    if inches:
        return f"{x_mm / MM_PER_INCH:.3f}, {y_mm / MM_PER_INCH:.3f} in"
    return f"{x_mm:.1f}, {y_mm:.1f} mm"


def pitch_text(pitch_mm: float, *, inches: bool = False) -> str:
    """A pitch in both its forms, ``"0.0423 mm (600 LPI)"``."""
    return f"{length_text(pitch_mm, inches=inches, places=4)} ({MM_PER_INCH / pitch_mm:.4g} LPI)"


def rounded(value: float, digits: int) -> str:
    """A number with so many figures that count and no exponent, ``"1600"``, ``"0.0029"``."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, places):.{max(0, places)}f}"


def in_shown_units(text: str, *, inches: bool) -> str:
    """The text with its lengths, speeds, accelerations and areas in inches; figures must stand before their unit."""
    return _METRIC.sub(_in_inches, text) if inches else text


_METRIC = re.compile(
    r"(?<![\w.-])(?P<figures>-?[\d.]+(?:(?: to | ± )-?[\d.]+)*)(?P<gap>[ \u00a0])(?P<unit>mm(?:²|/s²|/s)?)(?![\w/²])"
)


def _in_inches(found: re.Match[str]) -> str:
    scale, more = (MM_PER_INCH**2, 3) if found["unit"] == "mm²" else (MM_PER_INCH, 2)

    def turned(figure: re.Match[str]) -> str:
        rest = figure.group().partition(".")[2]
        places, value = len(rest) + (1 if "/s" in found["unit"] and not rest else more), float(figure.group()) / scale
        needed = 2 - math.floor(math.log10(value)) if value else 0
        return f"{value:.{max(places, needed)}f}"

    return f"{re.sub(r'[0-9.]+', turned, found['figures'])}{found['gap']}{found['unit'].replace('mm', 'in')}"


def percent_text(share: float) -> str:
    """A share as a percentage with as many places as it needs to be told from 0 and 100."""
    percent = 100 * share
    if percent == 0 or percent >= 10:
        return f"{percent:.0f} %"
    return f"{percent:.1f} %" if percent >= 0.1 else "under 0.1 %"


def unbroken(text: str) -> str:
    """The text with figures kept on one line with their units."""
    return re.sub(r"(?<=\d) (?=%|mm|J/|in\b|LPI|W\b|°|min\b|h\b|s\b)", "\u00a0", text)


def count_text(count: int, one: str, many: str) -> str:
    """``"1 shape"``, ``"12 shapes"``."""
    return f"{grouped(count)} {one if count == 1 else many}"
