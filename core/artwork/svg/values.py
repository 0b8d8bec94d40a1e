"""Numbers, lengths, transforms and viewports as SVG attributes write them."""

import math
import re
from functools import lru_cache

from core.artwork.svg.limits import MAX_TRANSFORM_CHARS
from core.geometry.affine import IDENTITY, Affine, compose, rotation, scaling, translation

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z%]*)\s*")

PX_PER_UNIT = {
    "": 1.0,
    "px": 1.0,
    "in": 96.0,
    "cm": 96 / 2.54,
    "mm": 96 / 25.4,
    "q": 96 / 101.6,
    "pt": 96 / 72,
    "pc": 16.0,
}
"""W3C CSS Values and Units, absolute lengths."""

EM_PER_EX = 0.5
"""Used where no font is asked: half an em (CSS Values and Units, 6.1.1)."""


@lru_cache(maxsize=4096)
def split_length(text: str) -> tuple[float, str] | None:
    """(number, unit in lower case) of one length, or None where it is none."""
    match = _LENGTH.fullmatch(text)
    if not match:
        return None
    value = float(match.group(1))
    return (value, match.group(2).lower()) if math.isfinite(value) else None


def length_px(
    text: str | None,
    *,
    percent_of: float,
    font_size_px: float,
    root_font_size_px: float = 16.0,
    viewport: tuple[float, float] = (0.0, 0.0),
) -> float | None:
    """A length in user units; None where it is missing, auto or makes no sense."""
    if text is None:
        return None
    parts = split_length(text)
    if parts is None:
        return None
    value, unit = parts
    if unit in PX_PER_UNIT:
        return value * PX_PER_UNIT[unit]
    if unit == "%":
        return value * percent_of / 100
    if unit == "em":
        return value * font_size_px
    if unit in ("ex", "ch"):
        return value * font_size_px * EM_PER_EX
    if unit == "rem":
        return value * root_font_size_px
    if unit == "vw":
        return value * viewport[0] / 100
    if unit == "vh":
        return value * viewport[1] / 100
    if unit in ("vmin", "vmax"):
        return value * (min if unit == "vmin" else max)(viewport) / 100
    return None


def diagonal(viewport: tuple[float, float]) -> float:
    """What percentages refer to that are neither widths nor heights (SVG 2, 8.9)."""
    return math.hypot(*viewport) / math.sqrt(2)


def number_list(text: str) -> list[float]:
    """All leading numbers of a list; stops at the first thing that is no number."""
    numbers: list[float] = []
    at = 0
    separator = re.compile(r"[\s,]*")
    while True:
        at = separator.match(text, at).end()  # type: ignore[union-attr]
        match = _NUMBER.match(text, at)
        if not match:
            return numbers
        numbers.append(float(match.group()))
        at = match.end()


def opacity_value(text: str | None, default: float = 1.0) -> float:
    """An opacity, clamped to 0..1; percentages too."""
    if text is None:
        return default
    parts = split_length(text)
    if parts is None or parts[1] not in ("", "%"):
        return default
    value = parts[0] / 100 if parts[1] == "%" else parts[0]
    return min(max(value, 0.0), 1.0)


_SIMPLE_TRANSFORM = re.compile(rf"\s*(translate|matrix)\(\s*({NUMBER}(?:[\s,]+{NUMBER})*)\s*\)\s*")
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z0-9]+)\s*\(([^()]*)\)\s*")
_ANGLE_TO_DEG = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_ARGUMENT = re.compile(rf"\s*,?\s*({NUMBER})([a-zA-Z%]*)")


@lru_cache(maxsize=2048)
def parse_transform(text: str, font_size_px: float = 16.0) -> Affine | None:
    """The matrix of a transform list, attribute or CSS syntax. None where it can't be understood (then SVG
    ignores the attribute). Percentages are not understood here."""
    simple = _SIMPLE_TRANSFORM.fullmatch(text)
    if simple:
        numbers = [float(number) for number in _NUMBER.findall(simple.group(2))]
        if simple.group(1) == "translate" and len(numbers) in (1, 2):
            return translation(numbers[0], numbers[1] if len(numbers) == 2 else 0.0)
        if simple.group(1) == "matrix" and len(numbers) == 6 and all(map(math.isfinite, numbers)):
            a, b, c, d, e, f = numbers
            return (a, b, c, d, e, f)
    text = text.strip()
    if not text or text == "none":
        return IDENTITY
    if len(text) > MAX_TRANSFORM_CHARS:
        return None
    at, matrix = 0, IDENTITY
    while at < len(text):
        match = _FUNCTION.match(text, at)
        if not match:
            return None
        step = _transform_function(match.group(1).lower(), match.group(2), font_size_px)
        if step is None or not all(map(math.isfinite, step)):
            return None
        matrix = compose(matrix, step)
        at = match.end()
    return matrix


def _transform_function(name: str, arguments: str, font_size_px: float) -> Affine | None:
    numbers: list[tuple[float, str]] = []
    at = 0
    arguments = arguments.strip()
    while at < len(arguments):
        match = _ARGUMENT.match(arguments, at)
        if not match:
            return None
        numbers.append((float(match.group(1)), match.group(2).lower()))
        at = match.end()
    values = [value for value, _ in numbers]
    count = len(values)

    def length(i: int) -> float | None:
        value, unit = numbers[i]
        if unit in PX_PER_UNIT:
            return value * PX_PER_UNIT[unit]
        return value * font_size_px if unit == "em" else None

    def angle(i: int) -> float | None:
        value, unit = numbers[i]
        return value * _ANGLE_TO_DEG[unit] if unit in _ANGLE_TO_DEG else None

    if name == "matrix" and count == 6:
        return (values[0], values[1], values[2], values[3], values[4], values[5])
    if name in ("translate", "translatex", "translatey") and count in (1, 2):
        first, second = length(0), length(1) if count == 2 else 0.0
        if first is None or second is None:
            return None
        return translation(0.0, first) if name == "translatey" else translation(first, second)
    if name == "scale" and count in (1, 2):
        return scaling(values[0], values[-1])
    if name == "scalex" and count == 1:
        return scaling(values[0], 1.0)
    if name == "scaley" and count == 1:
        return scaling(1.0, values[0])
    if name in ("rotate", "skewx", "skewy", "skew") and count:
        turn = angle(0)
        if turn is None:
            return None
        if name == "rotate" and count in (1, 3):
            matrix = rotation(turn)
            if count == 3:
                matrix = compose(
                    compose(translation(values[1], values[2]), matrix), translation(-values[1], -values[2])
                )
            return matrix
        if name == "skewx" and count == 1:
            return (1.0, 0.0, math.tan(math.radians(turn)), 1.0, 0.0, 0.0)
        if name == "skewy" and count == 1:
            return (1.0, math.tan(math.radians(turn)), 0.0, 1.0, 0.0, 0.0)
    return None


def parse_view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """(x, y, width, height); None where missing or not usable (a size that is not above zero)."""
    if not text:
        return None
    numbers = number_list(text)
    if len(numbers) < 4 or not all(map(math.isfinite, numbers[:4])) or numbers[2] <= 0 or numbers[3] <= 0:
        return None
    return (numbers[0], numbers[1], numbers[2], numbers[3])


def view_box_matrix(
    view_box: tuple[float, float, float, float], width: float, height: float, fit: str | None
) -> Affine:
    """The map from the viewBox into (0, 0, width, height) (SVG 2, 8.2), and whether ``fit`` says slice."""
    words = (fit or "").split()
    if words and words[0] == "defer":
        words = words[1:]
    align = words[0] if words else "xMidYMid"
    sx, sy = width / view_box[2], height / view_box[3]
    if align != "none":
        sx = sy = max(sx, sy) if "slice" in words else min(sx, sy)
    share_x = 0.0 if "xMin" in align else 1.0 if "xMax" in align else 0.5
    share_y = 0.0 if "YMin" in align else 1.0 if "YMax" in align else 0.5
    if align == "none":
        share_x = share_y = 0.0
    tx = (width - view_box[2] * sx) * share_x - view_box[0] * sx
    ty = (height - view_box[3] * sy) * share_y - view_box[1] * sy
    return (sx, 0.0, 0.0, sy, tx, ty)
