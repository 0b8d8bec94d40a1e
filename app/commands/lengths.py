"""Lengths among the arguments of a command: checked as they are read, whether the step at hand needs them or not."""

import argparse
from collections.abc import Callable

from core.errors import UnreadableError
from core.units import parse_length_mm

MOST_MM = 10_000.0


def length_mm(*, least_mm: float = 0.0, most_mm: float = MOST_MM) -> Callable[[str], float]:
    """What argparse is to make of a length: mm, or a refusal in one sentence."""

    def length(text: str) -> float:
        try:
            return parse_length_mm(text, least_mm=least_mm, most_mm=most_mm)
        except UnreadableError as error:
            raise argparse.ArgumentTypeError(str(error)) from None

    return length


def count(text: str) -> int:
    """What argparse is to make of how many: 1 or more."""
    if not (text.isascii() and text.strip().isdecimal()) or len(text) > 6 or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text[:40]}” is no number of pieces. Give 1 or more.")
    return int(text)
