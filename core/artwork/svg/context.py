"""What an element inherits from where it stands."""

from typing import Literal, NamedTuple

from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Blur, Filter, Ink, Layer, MaskLayer
from core.artwork.svg.styles import Style
from core.geometry.affine import Affine
from core.geometry.region import BaseGeometry


class Context(NamedTuple):
    """Where the walk is. ``matrix`` takes user units to mm; ``viewport`` is what percentages refer to, user units.
    (A tuple, as there is one for most elements of a file and it is copied all the time.)"""

    style: Style
    matrix: Affine
    viewport: tuple[float, float]
    opacity: float = 1.0
    layers: tuple[Layer, ...] = ()
    clip: BaseGeometry | None = None
    masks: tuple[MaskLayer, ...] = ()
    blur: Blur | None = None
    filter: Filter | None = None
    """Of the nearest element that has one; what is drawn in it is gathered first."""
    source_layer: str = ""
    label: str = ""
    names: tuple[str, ...] = ()
    """What the groups it stands in are called, outermost first."""
    origin: Node | None = None
    """The outermost ``use`` that shows it."""
    depth: int = 0
    uses: tuple[Node, ...] = ()
    """What is being shown by reference, outermost first: an element met here again is a loop."""
    outer: tuple[Ink | None, Ink | None] = (None, None)
    """What context-fill and context-stroke mean."""
    measuring: bool = False
    """Outlines only: no paint, opacity, clip or mask."""
    masking: Literal["", "alpha", "luminance"] = ""
    """It is drawn into a mask, and what of it counts there."""
