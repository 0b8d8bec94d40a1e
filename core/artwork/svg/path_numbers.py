"""Lists of numbers as path data has them (SVG 2, 9.3.9): packed, with commas or spaces, and where a mistake stands."""

import re

import numpy as np

from core.artwork.svg.values import NUMBER
from core.geometry.path import Floats

COMMA_OR_SPACE = r"\s*(?:,\s*)?"
DOUBLE_COMMA = re.compile(r",\s*,")
"""A mistake, as is a comma before a command's first number; one after its last number does no harm."""
_NUMBER = re.compile(NUMBER)
_SEPARATORS = str.maketrans("", "", " \t\r\n\f,")
_SEPARATOR = re.compile(COMMA_OR_SPACE)
_NOT_PLAIN = str.maketrans("", "", "0123456789+-. \t\r\n\f,")
_END = 7e77


def numbers_at_once(text: str) -> list[float] | None:
    """The numbers of a command that holds no characters but those of numbers; None where there is a mistake."""
    try:
        return [float(word) for word in text.replace(",", " ").replace("-", " -").split()]
    except ValueError:  # packed as in ``.5.5``, a negative exponent, or a mistake
        tokens, error_at = numbers_of(text)
        return list(map(float, tokens)) if error_at is None else None


def numbers_of(text: str) -> tuple[list[str], int | None]:
    """The numbers of one command, and where the first thing stands that is none."""
    tokens = _NUMBER.findall(text)
    stray_comma = text.lstrip().startswith(",") or DOUBLE_COMMA.search(text)
    if not stray_comma and sum(map(len, tokens)) == len(text.translate(_SEPARATORS)):
        return tokens, None
    good: list[str] = []
    at = len(text) - len(text.lstrip())
    while True:
        match = _NUMBER.match(text, at)
        if not match:
            return good, at
        good.append(match.group())
        at = _SEPARATOR.match(text, match.end()).end()  # type: ignore[union-attr]


def plain_numbers(text: str) -> Floats | None:
    """The numbers of a long text at once, where they are written plainly: no exponents, none packed as in ``.5.5``."""
    if text.translate(_NOT_PLAIN):
        return None
    spaced = text.replace(",", " ").replace("-", " -")
    try:
        numbers = np.fromstring(f"{spaced} {_END}", sep=" ")
    except (ValueError, DeprecationWarning):
        return None
    return numbers[:-1] if numbers[-1] == _END else None  # older numpy stops silently at a mistake
