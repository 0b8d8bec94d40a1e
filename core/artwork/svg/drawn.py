"""What the walk meets, before it is decided what of it is opaque enough to count as painted."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.painting import filled_region, stroke_region
from core.artwork.svg.colours import Rgba
from core.artwork.svg.document import Node
from core.artwork.tone_map import Tones
from core.geometry.affine import Affine
from core.geometry.path import Floats, Path
from core.geometry.stroke import Stroke

PAINTED_FROM = 0.5
"""Paint counts from this alpha on: where a renderer's picture is at least as much paint as ground."""

ROUNDING = 1e-9
"""Opacities nearer than this are the same."""

NOTHING: BaseGeometry = shapely.MultiPolygon()
"""No area at all."""

Bounds = tuple[float, float, float, float]


class PaintField(Protocol):
    """Paint that varies over the plane: a gradient or a pattern."""

    @property
    def least_alpha(self) -> float:
        """Alpha where it is most transparent."""

    @property
    def most_alpha(self) -> float:
        """Alpha where it is most opaque."""

    def region_above(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where, within the bounds, the paint is more opaque than ``alpha``."""

    def alpha_at(self, points_mm: Floats) -> Floats:
        """Alpha at points (n, 2), shape (n,)."""

    def bands(self, bounds_mm: Bounds) -> list[tuple[BaseGeometry, Rgba]]:
        """Regions of (nearly) one colour that make up the paint within the bounds."""


class MaskLayer(Protocol):
    """A mask: a value 0..1 for each place."""

    @property
    def regions(self) -> Mapping[float, BaseGeometry]:
        """Disjoint regions (mm) by what they let through; nothing elsewhere."""

    @property
    def is_soft(self) -> bool:
        """Whether something is let through in part."""

    def region_above(self, value: float) -> BaseGeometry:
        """Where the mask lets through more than ``value``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """The paint of one fill or stroke. The colour's alpha holds the opacities of paint and property, not those of the
    element and its groups. ``field``, where set, says how the paint varies; its alpha goes on top."""

    colour: Rgba
    field: PaintField | None = None

    def region(self, opacity: float, bounds_mm: Bounds) -> BaseGeometry | None:
        """Where the paint counts as painted, at an opacity of what holds it. None: everywhere."""
        alpha = self.colour[3] * opacity + ROUNDING
        most, least = (self.field.most_alpha, self.field.least_alpha) if self.field is not None else (1.0, 1.0)
        if most * alpha < PAINTED_FROM:
            return NOTHING
        if self.field is None or least * alpha >= PAINTED_FROM:
            return None
        return self.field.region_above(PAINTED_FROM / alpha, bounds_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layer:
    """A group (or element) with an opacity or mask of its own: its parts are put together before that counts."""

    opacity: float = 1.0
    mask: MaskLayer | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blur:
    """A Gaussian blur: standard deviations in mm, and the region outside which nothing of it shows."""

    x_mm: float
    y_mm: float
    window: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filter:
    """A filter on one element: its primitives, and its region in the element's user space, which ``to_mm`` takes to
    mm (None: nothing shows). ``bounds`` are the element's, ``by_box`` says that primitives are measured in them.
    ``linear``: whether colours are linear RGB, None where each primitive says so."""

    steps: tuple[Node, ...]
    box: Bounds | None
    bounds: Bounds | None
    by_box: bool
    to_mm: Affine
    linear: bool | None = None


class Drawn(NamedTuple):
    """One outline with its paints, in mm. ``pen`` is set exactly where ``stroke`` is."""

    kind: str
    label: str
    source_layer: str
    path: Path
    fill_rule: Literal["nonzero", "evenodd"] = "nonzero"
    fill: Ink | None = None
    stroke: Ink | None = None
    pen: Stroke | None = None
    opacity: float = 1.0
    """Of the element and all groups above it; ``layers`` has them one by one, outermost first."""
    layers: tuple[Layer, ...] = ()
    clip: BaseGeometry | None = None
    masks: tuple[MaskLayer, ...] = ()
    is_frame: bool = False
    """The path only frames a paint that fades; where that counts as painted is the shape."""
    names: tuple[str, ...] = ()
    source_id: str = ""
    is_text: bool = False
    zero_width: bool = False
    origin: Node | None = None
    """The element of the file that it stands for: the outermost ``use`` where it is shown by reference."""
    cell: Path | None = None
    """The box that it counts as having where that is not its outline's: a text's, of all its glyphs' cells."""
    tones: Tones | None = None
    """It is a picture that is screened within its outline."""
    gathered: tuple[Node, ...] = ()
    """Other elements whose paint went into it through a filter."""

    def filled(self, tolerance_mm: float) -> BaseGeometry:
        """The area of its fill, clip left out of account."""
        return filled_region(self.path, self.fill_rule, tolerance_mm=tolerance_mm)

    def stroked(self, tolerance_mm: float) -> BaseGeometry:
        """The area of its stroke, clip left out of account."""
        assert self.pen is not None
        return stroke_region(self.path, self.pen, tolerance_mm=tolerance_mm)


def intersected(first: BaseGeometry | None, second: BaseGeometry | None) -> BaseGeometry | None:
    """Both clips at once; None clips nothing."""
    if first is None or second is None:
        return first if second is None else second
    return areas(shapely.intersection(first, second))


def areas(region: BaseGeometry) -> BaseGeometry:
    """The polygons of a region; points and lines that an overlay left are dropped."""
    if region.geom_type in ("Polygon", "MultiPolygon"):
        return region
    parts = [part for part in shapely.get_parts(region) if part.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts) if parts else shapely.MultiPolygon()
