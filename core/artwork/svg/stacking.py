"""See-through paint on see-through paint: where it adds up to more paint than ground.

A shape alone that is more than half transparent does not count as painted, but several on one another can. Which of
them could is found here; ``compositing`` puts those together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.artwork.painting import painted_region
from core.artwork.svg.bounds import rough_bounds
from core.artwork.svg.compositing import Veil, region_above
from core.artwork.svg.drawn import PAINTED_FROM, ROUNDING, Drawn, Ink, areas
from core.artwork.svg.limits import MAX_FAINT, MAX_STACKED_CROSSINGS, MAX_STACKED_SEGMENTS
from core.artwork.svg.tiling import Tiling
from core.progress import Progress, silent

_NEGLIGIBLE = 1 / 512
"""Opacities below which a renderer paints nothing."""

SPECK_MM = 1e-3
"""Slivers thinner than twice this are left by rounding, not by the artwork."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Faint:
    """One fill or stroke that does not count everywhere by itself."""

    drawn: Drawn
    ink: Ink
    is_fill: bool

    @property
    def most_alpha(self) -> float:
        """Its opacity where it is most opaque, masks left out of account."""
        return self.ink.colour[3] * self.drawn.opacity * (self.ink.field.most_alpha if self.ink.field else 1.0)

    @property
    def least_alpha(self) -> float:
        """Its opacity where it is most transparent, 0 where a mask may make it so."""
        if any(mask.is_soft for mask in self.drawn.masks):
            return 0.0
        return self.ink.colour[3] * self.drawn.opacity * (self.ink.field.least_alpha if self.ink.field else 1.0)


@dataclass(slots=True)
class Stack:
    """Collects the faint paint of a drawing, in painting order."""

    faint: list[Faint] = field(default_factory=list)
    left_out: bool = False
    """Whether there was too much of it to work out."""

    def note(self, drawn: Drawn) -> None:
        """Keep what of an outline is see-through."""
        for ink, is_fill in ((drawn.fill, True), (drawn.stroke, False)):
            if ink is None:
                continue
            one = Faint(drawn=drawn, ink=ink, is_fill=is_fill)
            if one.least_alpha < PAINTED_FROM and one.most_alpha > _NEGLIGIBLE:
                self.faint.append(one)

    def painted(
        self, solid: Sequence[Shape], tolerance_mm: float, *, progress: Progress = silent
    ) -> BaseGeometry | None:
        """Where faint paint adds up to painted, outside what the ``solid`` shapes paint; None where it does nowhere."""
        if len(self.faint) > MAX_FAINT:
            self.left_out = True
            return None
        boxes: list[BaseGeometry] = [shapely.box(*_bounds(one)) for one in self.faint]
        chosen = _that_could_add_up(self.faint, boxes)
        stacked = [self.faint[i] for i in chosen]
        if len(stacked) < 2:
            return None
        if _crossings(stacked, [boxes[i] for i in chosen]) > MAX_STACKED_CROSSINGS:
            self.left_out = True
            return None
        regions = _uncovered([_shown(one, tolerance_mm) for one in stacked], solid, tolerance_mm)
        if regions is None:
            self.left_out = True
            return None
        rest = _that_could_add_up(stacked, regions)
        if len(rest) < 2:
            return None
        veils = [veil for i in rest for veil in _veils(stacked[i], regions[i])]
        region = region_above(veils, PAINTED_FROM - ROUNDING, progress=progress)
        region = shapely.buffer(region, -SPECK_MM).buffer(SPECK_MM)
        return None if region.is_empty else region


def _that_could_add_up(faint: Sequence[Faint], places: Sequence[BaseGeometry]) -> list[int]:
    """Those whose places meet enough others to reach the threshold together."""
    if len(faint) < 2:
        return []
    tree = shapely.STRtree(places)
    first, second = tree.query(places, predicate="intersects")
    seen_through = np.array([1.0 - one.most_alpha for one in faint])
    together = np.zeros(len(faint))
    np.add.at(together, first, np.log(np.maximum(seen_through[second], 1e-6)))
    some = np.zeros(len(faint), bool)
    some[first] = True
    return np.flatnonzero(some & (np.exp(together) <= 1.0 - PAINTED_FROM + ROUNDING)).tolist()


def _crossings(faint: Sequence[Faint], boxes: Sequence[BaseGeometry]) -> int:
    """About how often the outlines can cross one another."""
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    lengths = np.array([len(one.drawn.path) for one in faint])
    return int((lengths[first] + lengths[second]).sum())


def _uncovered(regions: list[BaseGeometry], solid: Sequence[Shape], tolerance_mm: float) -> list[BaseGeometry] | None:
    """The regions less what the solid shapes paint; None where that is too much work."""
    window = shapely.box(*shapely.total_bounds(regions))
    near = [shape for shape in solid if shapely.intersects(window, shapely.box(*rough_bounds(shape.path)))]
    if sum(len(shape.path) for shape in near) > MAX_STACKED_SEGMENTS:
        return None
    covered = shapely.union_all([painted_region(shape, tolerance_mm=tolerance_mm) for shape in near])
    return [areas(shapely.difference(region, covered)) for region in regions]


def _bounds(one: Faint) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = rough_bounds(one.drawn.path)
    reach = one.drawn.pen.width_mm if one.drawn.pen is not None and not one.is_fill else 0.0
    return (x0 - reach, y0 - reach, x1 + reach, y1 + reach)


def _shown(one: Faint, tolerance_mm: float) -> BaseGeometry:
    """The region of a faint paint behind its clip."""
    region = one.drawn.filled(tolerance_mm) if one.is_fill else one.drawn.stroked(tolerance_mm)
    return region if one.drawn.clip is None else areas(shapely.intersection(region, one.drawn.clip))


def _veils(one: Faint, place: BaseGeometry) -> list[Veil]:
    """A faint paint as veils; a pattern as one for each opacity in it."""
    alpha, layers = one.ink.colour[3], one.drawn.layers
    if not isinstance(one.ink.field, Tiling):
        return [Veil(place=place, alpha=alpha, field=one.ink.field, layers=layers)]
    parts = [(areas(shapely.intersection(place, band)), colour) for band, colour in one.ink.field.bands(place.bounds)]
    return [
        Veil(place=part, alpha=alpha * colour[3], field=None, layers=layers)
        for part, colour in parts
        if not part.is_empty and colour[3] > 0
    ]
