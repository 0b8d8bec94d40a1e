"""A tile laid side by side over the plane, as paint that varies."""

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.colours import Rgba
from core.artwork.svg.drawn import NOTHING, Bounds, areas
from core.artwork.svg.levels import Levels
from core.artwork.svg.limits import MAX_TILE_POINTS, MAX_TILES
from core.geometry.affine import Affine, apply, apply_to_region, compose, inverse, translation
from core.geometry.path import Floats


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
