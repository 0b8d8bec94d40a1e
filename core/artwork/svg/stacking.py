"""See-through paint on see-through paint: where it adds up to more paint than ground.

A shape alone that is more than half transparent does not count as painted, but several on one another can. They
are put together as a renderer would: by group, each group's opacity on the whole of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.artwork.painting import painted_region
from core.artwork.svg.deciding import rough_bounds
from core.artwork.svg.drawn import PAINTED_FROM, Drawn, Ink, Layer, areas, intersected
from core.artwork.svg.levels import Levels
from core.artwork.svg.limits import MAX_FAINT, MAX_STACKED, MAX_STACKED_SEGMENTS

_NEGLIGIBLE = 0.02

SPECK_MM = 1e-3
"""Slivers thinner than twice this are left by rounding, not by the artwork."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Faint:
    """One fill or stroke that does not count by itself. ``alpha`` is its own and ``layers`` the groups above it."""

    drawn: Drawn
    ink: Ink
    is_fill: bool
    alpha: float
    layers: tuple[Layer, ...]


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
            least = ink.field.least_alpha if ink.field else 1.0
            most = ink.field.most_alpha if ink.field else 1.0
            alpha = ink.colour[3] * drawn.opacity
            if alpha * least < PAINTED_FROM and alpha * most > _NEGLIGIBLE:
                self.faint.append(
                    Faint(drawn=drawn, ink=ink, is_fill=is_fill, alpha=ink.colour[3], layers=drawn.layers)
                )

    def painted(self, solid: Sequence[Shape], tolerance_mm: float) -> BaseGeometry | None:
        """Where faint paint adds up to painted, outside what the ``solid`` shapes paint; None where it does nowhere."""
        if len(self.faint) > MAX_FAINT:
            self.left_out = True
            return None
        stacked = _that_could_add_up(self.faint, [shapely.box(*_bounds(one)) for one in self.faint])
        if len(stacked) < 2:
            return None
        weight = sum(4 if one.ink.field is not None else 1 for one in stacked)
        if weight > MAX_STACKED or sum(len(one.drawn.path) for one in stacked) > MAX_STACKED_SEGMENTS:
            self.left_out = True
            return None
        regions = _uncovered([_shown(one, tolerance_mm) for one in stacked], solid, tolerance_mm)
        if regions is None:
            self.left_out = True
            return None
        showing = [(one, region) for one, region in zip(stacked, regions, strict=True) if not region.is_empty]
        region_of = {id(one): region for one, region in showing}
        rest = _that_could_add_up([one for one, _ in showing], [region for _, region in showing])
        if len(rest) < 2:
            return None
        region = _composited([(one, region_of[id(one)]) for one in rest]).region_above(PAINTED_FROM)
        region = shapely.buffer(region, -SPECK_MM).buffer(SPECK_MM)
        return None if region.is_empty else region


def _that_could_add_up(faint: Sequence[Faint], places: Sequence[BaseGeometry]) -> list[Faint]:
    """Those whose places meet enough others to reach the threshold together."""
    if len(faint) < 2:
        return []
    tree = shapely.STRtree(places)
    first, second = tree.query(places, predicate="intersects")
    seen_through = np.array([1.0 - _total_alpha(one) for one in faint])
    together = np.zeros(len(faint))
    np.add.at(together, first, np.log(np.maximum(seen_through[second], 1e-6)))
    return [one for one, left in zip(faint, np.exp(together), strict=True) if left <= 1.0 - PAINTED_FROM]


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


def _total_alpha(one: Faint) -> float:
    return one.alpha * one.drawn.opacity * (one.ink.field.most_alpha if one.ink.field else 1.0)


def _composited(faint: Sequence[tuple[Faint, BaseGeometry]]) -> Levels:
    """All of it on one another, group by group."""
    open_layers: list[tuple[Layer | None, Levels]] = [(None, Levels())]

    def close_to(depth: int) -> None:
        while len(open_layers) > depth + 1:
            layer, inside = open_layers.pop()
            assert layer is not None
            for alpha, region in inside.regions.items():
                open_layers[-1][1].paint(region, 1.0, alpha * layer.opacity)

    for one, place in faint:
        common = 0
        while (
            common < len(one.layers)
            and common + 1 < len(open_layers)
            and open_layers[common + 1][0] is one.layers[common]
        ):
            common += 1
        close_to(common)
        open_layers.extend((layer, Levels()) for layer in one.layers[common:])
        for region, alpha in _regions(one, place):
            open_layers[-1][1].paint(region, 1.0, alpha)
    close_to(0)
    return open_layers[0][1]


def _shown(one: Faint, tolerance_mm: float) -> BaseGeometry:
    """The region of a faint paint, behind its clip and masks."""
    region = one.drawn.filled(tolerance_mm) if one.is_fill else one.drawn.stroked(tolerance_mm)
    shown = intersected(region, one.drawn.clip)
    for mask in one.drawn.masks:
        shown = intersected(shown, mask.region_above(PAINTED_FROM))
    return shown if shown is not None else region


def _regions(one: Faint, place: BaseGeometry) -> list[tuple[BaseGeometry, float]]:
    """The place in parts of one alpha."""
    if one.ink.field is None:
        return [(place, one.alpha)]
    return [
        (areas(shapely.intersection(place, band)), one.alpha * colour[3])
        for band, colour in one.ink.field.bands(place.bounds)
        if colour[3] > 0
    ]
