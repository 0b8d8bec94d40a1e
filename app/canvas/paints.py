"""How the artwork itself paints its shapes. No Qt here."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.artwork.drawing import Shape

NO_PAINT = "#808080"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapePaint:
    """Colours of a shape's area and stroke, None where it has none; lengths in mm."""

    fill: str | None
    stroke: str | None
    stroke_width_mm: float = 0.0
    dashes_mm: tuple[float, ...] = ()


def shape_paint(shape: "Shape") -> ShapePaint:
    """The paint of one shape; a masked or clipped one is all area, as its outline then is that of what shows."""
    stroke = shape.stroke
    if shape.area is not None or shape.clip is not None:
        return ShapePaint(fill=shape.fill or (stroke.colour if stroke else NO_PAINT), stroke=None)
    if stroke is None:
        return ShapePaint(fill=shape.fill, stroke=None)
    scale = stroke.width_mm / stroke.width if stroke.width > 0 else 0.0
    return ShapePaint(
        fill=shape.fill,
        stroke=stroke.colour,
        stroke_width_mm=stroke.width_mm,
        dashes_mm=tuple(dash * scale for dash in stroke.dashes),
    )
