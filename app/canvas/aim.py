"""Where the loupe looks."""

from dataclasses import dataclass

LENS_PX = 240


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What is looked at: a front point, the window's width in mm, the paint ("#rrggbb") seen from the front."""

    x_mm: float
    y_mm: float
    span_mm: float
    paint: str | None
