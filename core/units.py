"""Lengths, pitches and sheet sizes as people type them; mm inside."""

import math
import re

from core.errors import UnreadableError

MM_PER_INCH = 25.4
"""Exact since 1 July 1959 (NBS Circular 572 addendum; NIST SP 811 App. B)."""

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
    "pt": MM_PER_INCH / 72,
    "pc": MM_PER_INCH / 6,
    "px": MM_PER_INCH / 96,
    "um": 0.001,
    "mil": MM_PER_INCH / 1000,
}
"""mm per unit; px, pt and pc as in W3C CSS Values and Units, absolute lengths."""

GREATEST_LENGTH_MM = 1e6
"""A kilometre: nothing typed here is longer, and sums of such lengths never run over."""

_LENGTH = re.compile(
    r"\s*([-+]?)\s*(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)\s*([a-zµ\"']*)\s*|\s*([-+]?[\d.]+(?:e[-+]?\d+)?)\s*([a-zµ\"']*)\s*",
    re.IGNORECASE | re.ASCII,
)
_ALIASES = {'"': "in", "inch": "in", "inches": "in", "'": "ft", "µm": "um", "": ""}


def parse_length_mm(
    text: str, *, default_unit: str = "mm", least_mm: float = -GREATEST_LENGTH_MM, most_mm: float = GREATEST_LENGTH_MM
) -> float:
    """``"3"``, ``"3 mm"``, ``"1/8 in"``, ``"1 1/2 in"`` or ``'0.5"'`` in mm.

    Raises UnreadableError when it is no length, or none between ``least_mm`` and ``most_mm``.
    """
    match = _LENGTH.fullmatch(text)
    if not match:
        raise UnreadableError(f"“{text.strip()}” is not a length.", hint="Write it like 3, 3 mm or 1/8 in.")
    sign, whole, top, bottom, unit_of_fraction, number, unit_of_number = match.groups()
    try:
        if number is None:
            value = int(whole or 0) + int(top) / int(bottom)
            value = -value if sign == "-" else value
        else:
            value = float(number)
    except (ValueError, ZeroDivisionError):
        value = math.nan
    unit = (unit_of_number or unit_of_fraction or "").lower()
    unit = _ALIASES.get(unit, unit) or default_unit
    if unit not in MM_PER_UNIT:
        raise UnreadableError(
            f"“{unit}” in “{text.strip()}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}."
        )
    value_mm = value * MM_PER_UNIT[unit]
    if not math.isfinite(value_mm):
        raise UnreadableError(f"“{text.strip()}” is not a finite length.", hint="Write it like 3, 3 mm or 1/8 in.")
    if not least_mm <= value_mm <= most_mm:
        raise UnreadableError(f"{value_mm:g} mm makes no sense here.", hint=f"Give {least_mm:g} to {most_mm:g} mm.")
    return value_mm


def parse_sheet_size_mm(text: str) -> tuple[float, float, float | None]:
    """``"300x200x3"`` or ``"12x8x1/8 in"`` as (width, height, thickness or None), mm.

    A unit at the very end holds for all parts that have none of their own.
    """
    parts = [part.strip() for part in re.split(r"\s*[x×*]\s*", text.strip().lower())]
    if len(parts) not in (2, 3):
        raise UnreadableError(
            f"“{text}” is not a sheet size.", hint="Write it like 300x200x3 (width x height x thickness, mm)."
        )
    unit = re.search(r"[a-z\"']+$", parts[-1])
    default_unit = _ALIASES.get(unit.group(), unit.group()) if unit else "mm"
    sizes_mm = [parse_length_mm(part, default_unit=default_unit) for part in parts]
    if min(sizes_mm) <= 0:
        raise UnreadableError(
            f"The sheet size “{text}” has a side that is not above zero.", hint="Write it like 300x200x3."
        )
    return sizes_mm[0], sizes_mm[1], sizes_mm[2] if len(sizes_mm) == 3 else None


def pitch_mm_from_lpi(lines_per_inch: float) -> float:
    """Pitch in mm of so many scan lines an inch. Raises UnreadableError when not above zero."""
    if not (math.isfinite(lines_per_inch) and lines_per_inch > 0):
        raise UnreadableError(
            f"{lines_per_inch:g} lines per inch make no fill.", hint="Give a number above zero, like 600."
        )
    return MM_PER_INCH / lines_per_inch


def lpi_from_pitch_mm(pitch_mm: float) -> float:
    """Scan lines an inch at this pitch. Raises UnreadableError when the pitch is not above zero."""
    if not (math.isfinite(pitch_mm) and pitch_mm > 0):
        raise UnreadableError(
            f"A pitch of {pitch_mm:g} mm makes no fill.", hint="Give a pitch above zero, like 0.042 mm."
        )
    return MM_PER_INCH / pitch_mm


def length_text(length_mm: float, *, inches: bool = False, places: int = 1) -> str:
    """A length for people, ``"12.3 mm"`` or ``"0.484 in"`` (two more places for inches)."""
    if inches:
        return f"{length_mm / MM_PER_INCH:.{places + 2}f} in"
    return f"{length_mm:.{places}f} mm"


def duration_text(time_s: float) -> str:
    """A duration for people: ``"8 s"``, ``"6 min 40 s"``, ``"1 h 05 min"``."""
    seconds = round(time_s)
    if seconds < 60:
        return f"{seconds} s"
    if seconds < 3600:
        return f"{seconds // 60} min {seconds % 60:02d} s"
    return f"{seconds // 3600} h {seconds % 3600 // 60:02d} min"


def parse_duration_s(text: str) -> float:
    """``"6:40"``, ``"1:05:00"`` or ``"48"`` in seconds. Raises UnreadableError."""
    parts = text.split(":") if text.isascii() else []
    try:
        if any(not 0 <= float(part) < 60 for part in parts[1:]):
            raise ValueError
        seconds = sum(float(part) * 60.0**power for power, part in enumerate(reversed(parts)))
    except ValueError:
        seconds = 0.0
    if not 0 < seconds < 1e7 or len(parts) > 3:
        raise UnreadableError(f"“{text}” is no running time.", hint="Write minutes:seconds, like 6:40.")
    return seconds
