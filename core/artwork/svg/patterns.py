"""Patterns (SVG 2, 14.3) as the area that their tiles paint."""

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.colours import Rgba
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import NOTHING, Bounds, Drawn, Ink, areas
from core.artwork.svg.levels import Levels
from core.artwork.svg.limits import MAX_TILE_POINTS, MAX_TILES, MAX_USE_DEPTH, REGION_COST
from core.artwork.svg.references import chain_of, inherited
from core.artwork.svg.values import length_px, parse_transform, parse_view_box, view_box_matrix
from core.geometry.affine import IDENTITY, Affine, apply, apply_to_region, compose, determinant, inverse, translation
from core.geometry.path import Floats

if TYPE_CHECKING:
    from core.artwork.svg.walking import Walker

_GREY: Rgba = (0.5, 0.5, 0.5, 1.0)


class Tiling:
    """What the tiles of one pattern paint: ``tile`` holds its opacity, in pattern space."""

    def __init__(self, tile: Levels, step: tuple[float, float], to_mm: Affine, colour: Rgba) -> None:
        self._tile = tile
        self._step = step
        self._to_mm = to_mm
        self.colour = colour
        self.too_many = False

    @property
    def least_alpha(self) -> float:
        """Alpha between the tiles' parts."""
        return 0.0

    @property
    def most_alpha(self) -> float:
        """Alpha of the most opaque part."""
        return max(self._tile.regions, default=0.0)

    def region_above(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where, within the bounds, the tiles are at least that opaque; all of it where there are too many tiles."""
        return self._tiled(self._tile.region_above(alpha), bounds_mm)

    def alpha_at(self, points_mm: Floats) -> Floats:
        """Alpha at points (n, 2)."""
        x, y = apply(inverse(self._to_mm), points_mm).T
        alpha = np.zeros(len(points_mm))
        for level, region in self._tile.regions.items():
            x0, y0, _, _ = region.bounds
            along, down = ((v - v0) % step + v0 for v, v0, step in zip((x, y), (x0, y0), self._step, strict=True))
            alpha[shapely.contains_xy(region, along, down)] = level
        return alpha

    def bands(self, bounds_mm: Bounds) -> list[tuple[BaseGeometry, Rgba]]:
        """The tiles' parts by their opacity."""
        return [
            (self._tiled(region, bounds_mm), (*self.colour[:3], alpha)) for alpha, region in self._tile.regions.items()
        ]

    def _tiled(self, tile: BaseGeometry, bounds_mm: Bounds) -> BaseGeometry:
        window = shapely.box(*bounds_mm)
        if tile.is_empty:
            return NOTHING
        x0, y0, x1, y1 = apply_to_region(inverse(self._to_mm), window).bounds
        tile_x0, tile_y0, tile_x1, tile_y1 = tile.bounds
        columns = range(math.floor((x0 - tile_x1) / self._step[0]), math.ceil((x1 - tile_x0) / self._step[0]) + 1)
        rows = range(math.floor((y0 - tile_y1) / self._step[1]), math.ceil((y1 - tile_y0) / self._step[1]) + 1)
        points = int(shapely.get_num_coordinates(tile))
        if len(columns) * len(rows) > MAX_TILES or len(columns) * len(rows) * points > MAX_TILE_POINTS:
            self.too_many = True
            return window
        tiles = [
            apply_to_region(compose(self._to_mm, translation(column * self._step[0], row * self._step[1])), tile)
            for row in rows
            for column in columns
        ]
        return areas(shapely.union_all(tiles))


def pattern_ink(walker: "Walker", node: Node, opacity: float, here: Context, bounds: Bounds) -> Ink | None:
    """The ink of a pattern on something with these bounds (user units). None: it paints nothing."""
    chain = chain_of(walker, node)
    if node in here.uses or here.depth >= MAX_USE_DEPTH:
        walker.findings.add("pattern-loop", f"{node.name_for_people()} is filled with itself; it was left out.")
        return None
    content = next((one for one in chain if one.children), None)
    by_box = (inherited(chain, "patternUnits") or "objectBoundingBox") != "userSpaceOnUse"
    content_by_box = inherited(chain, "patternContentUnits") == "objectBoundingBox"
    x0, y0, width0, height0 = bounds[0], bounds[1], bounds[2] - bounds[0], bounds[3] - bounds[1]
    font_size = walker.style_of(node).font_size_px

    def number(name: str, axis: int) -> float:
        base = 1.0 if by_box else here.viewport[axis]
        return length_px(inherited(chain, name), percent_of=base, font_size_px=font_size) or 0.0

    x, y, width, height = number("x", 0), number("y", 1), number("width", 0), number("height", 1)
    if by_box:
        x, y, width, height = x0 + x * width0, y0 + y * height0, width * width0, height * height0
    if content is None or width <= 0 or height <= 0:
        return None
    own = parse_transform(inherited(chain, "patternTransform") or "") or IDENTITY
    frame = compose(here.matrix, own)
    if determinant(frame) == 0.0 or not math.isfinite(determinant(frame)):
        return None
    inner, viewport = translation(x, y), here.viewport
    view_box = parse_view_box(inherited(chain, "viewBox"))
    if view_box is not None:
        inner = compose(inner, view_box_matrix(view_box, width, height, inherited(chain, "preserveAspectRatio")))
        viewport = view_box[2:]
    elif content_by_box:
        inner, viewport = (width0, 0.0, 0.0, height0, x, y), (1.0, 1.0)
    walker.spend(5 * REGION_COST)
    drawn: list[Drawn] = []
    inside = walker.fresh_context(content, here)
    inside = inside._replace(matrix=compose(frame, inner), viewport=viewport, uses=(*inside.uses, *chain))
    walker.walk(content.children, inside, drawn.append)
    window = apply_to_region(frame, shapely.box(x, y, x + width, y + height))
    in_mm, colour = composited(walker, drawn, window)
    tile = Levels()
    tile.regions = {alpha: apply_to_region(inverse(frame), region) for alpha, region in in_mm.regions.items()}
    walker.findings.add("pattern", "Patterns were read as the areas that their tiles paint.", severity="note")
    return Ink(colour=(*colour[:3], opacity), field=Tiling(tile, (width, height), frame, colour))


def composited(walker: "Walker", drawn: list[Drawn], window: BaseGeometry) -> tuple[Levels, Rgba]:
    """The opacity of outlines on one another within a window (mm), and the first one's colour."""
    result = Levels(window)
    colour = _GREY
    solid: list[BaseGeometry] = []
    for one in drawn:
        for region, ink in walker.parts_of(one):
            colour = ink.colour if colour is _GREY else colour
            if ink.colour[3] >= 1.0:
                solid.append(region)
                continue
            result.paint(region, 1.0, ink.colour[3])
    if solid:
        result.paint(shapely.union_all(solid), 1.0, 1.0)
    return result, colour
