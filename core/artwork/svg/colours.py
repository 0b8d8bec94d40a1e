"""Colours and paints as CSS writes them."""

import re
from dataclasses import dataclass
from functools import lru_cache

import tinycss2.color4

Rgba = tuple[float, float, float, float]
"""Red, green, blue, alpha, each 0..1, sRGB."""

BLACK: Rgba = (0.0, 0.0, 0.0, 1.0)
_HEX = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")
_URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)\s]*))\s*\)\s*(.*)""", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """What ``fill`` or ``stroke`` says: nothing, a colour, ``currentColor``, or a paint server with what to use
    where that is missing. ``context`` is "fill" or "stroke" for context-fill and context-stroke."""

    colour: Rgba | None = None
    current: bool = False
    server: str | None = None
    context: str = ""
    has_fallback: bool = False


NO_PAINT = Paint()


@lru_cache(maxsize=4096)
def parse_colour(text: str) -> Rgba | None:
    """An sRGB colour, None where it is none (currentColor too)."""
    text = text.strip()
    match = _HEX.fullmatch(text)
    if match:
        digits = match.group(1)
        if len(digits) == 3:
            digits = "".join(digit * 2 for digit in digits)
        return (int(digits[:2], 16) / 255, int(digits[2:4], 16) / 255, int(digits[4:], 16) / 255, 1.0)
    if len(text) > 200:
        return None
    try:
        colour = tinycss2.color4.parse_color(text)
    except (ValueError, TypeError, ArithmeticError):
        return None
    if colour is None or isinstance(colour, str):
        return None
    try:
        red, green, blue = (min(max(float(part), 0.0), 1.0) for part in colour.to("srgb").coordinates)
        return (red, green, blue, min(max(float(colour.alpha), 0.0), 1.0))
    except (ValueError, TypeError, NotImplementedError):
        return None


@lru_cache(maxsize=4096)
def parse_paint(text: str) -> Paint | None:
    """A paint; None where the value makes no sense."""
    text = text.strip()
    lowered = text.lower()
    if lowered == "none":
        return NO_PAINT
    if lowered == "currentcolor":
        return Paint(current=True)
    if lowered in ("context-fill", "context-stroke"):
        return Paint(context=lowered[8:])
    if lowered.startswith("url("):
        match = _URL.match(text)
        if not match:
            return None
        target = next((part for part in match.groups()[:3] if part is not None), "").strip()
        fallback = parse_paint(match.group(4)) if match.group(4).strip() else None
        if fallback is None:
            return Paint(server=target)
        return Paint(server=target, colour=fallback.colour, current=fallback.current, has_fallback=True)
    colour = parse_colour(text)
    return Paint(colour=colour) if colour is not None else None


def url_target(text: str | None) -> str | None:
    """The id that ``url(#id)`` names; None where the value is no such reference."""
    if not text:
        return None
    match = _URL.match(text.strip())
    if not match:
        return None
    target = next((part for part in match.groups()[:3] if part is not None), "").strip()
    return target[1:] if target.startswith("#") else None


@lru_cache(maxsize=4096)
def hex_colour(colour: Rgba) -> str:
    """``#rrggbb``, alpha left out."""
    return "#" + "".join(f"{round(part * 255):02x}" for part in colour[:3])


def luminance(colour: Rgba) -> float:
    """What a mask makes of a colour, alpha left out (SVG 1.1, 14.4; CSS Masking, luminance)."""
    return 0.2125 * colour[0] + 0.7154 * colour[1] + 0.0721 * colour[2]


def linear_rgb_luminance(colour: Rgba) -> float:
    """The same where the mask says ``color-interpolation: linearRGB``."""
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour[:3])
    return luminance((red, green, blue, 1.0))
