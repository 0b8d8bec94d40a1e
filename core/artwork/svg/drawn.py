"""What the walk meets, before it is decided what of it is opaque enough to count as painted."""

from dataclasses import dataclass, field

from shapely.geometry.base import BaseGeometry

from core.affine import Affine
from core.artwork.drawing import Stroke
from core.artwork.path import Path
from core.artwork.svg.colours import Rgba

PAINTED_ABOVE = 0.5
"""Paint counts where its alpha is above one half: where a renderer's picture is more paint than ground."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """The paint of one fill or stroke: a colour whose alpha holds all opacities of paint and property, but not
    those of the element and its groups. ``field``, where set, says how the paint varies over the plane."""

    colour: Rgba
    field: object | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One outline with its paints, in mm."""

    kind: str
    label: str
    source_layer: str
    path: Path
    matrix: Affine
    fill_rule: str = "nonzero"
    fill: Ink | None = None
    stroke: Ink | None = None
    pen: Stroke | None = None
    opacity: float = 1.0
    clip: BaseGeometry | None = None
    masks: tuple[object, ...] = field(default=())
