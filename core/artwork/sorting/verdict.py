"""What sorting says of one shape: its purpose, and why."""

from typing import NamedTuple

from core.artwork.drawing import Shape
from core.purposes import UNDECIDED, Suggestion


class Verdict(NamedTuple):
    """A purpose and a sentence that gives its reasons."""

    purpose: Suggestion
    why: str


def ask(why: str) -> Verdict:
    """Undecided, and the question."""
    return Verdict(UNDECIDED, why)


def width_text(shape: Shape) -> str:
    """The stroke's width in words; a shape without a stroke has none."""
    return f"{shape.stroke.width_mm:.2f} mm" if shape.stroke is not None else "0 mm"


def line_text(shape: Shape) -> str:
    """The line in words."""
    if shape.stroke is not None and shape.stroke.width_mm > 0:
        return f"line {width_text(shape)} wide"
    return "hairline"


def is_wide_line(shape: Shape, line_width_mm: float) -> bool:
    """Whether it is a stroke over the line limit and nothing else."""
    unfilled = shape.fill is None and shape.area is None
    return unfilled and shape.stroke is not None and shape.stroke.width_mm > line_width_mm
