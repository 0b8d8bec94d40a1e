"""Paint known on a grid of cells, straight between their centres: what a filter leaves."""

import itertools

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.colours import Rgba, luminance
from core.artwork.svg.compositing import area_above
from core.artwork.svg.drawn import NOTHING, Bounds, areas
from core.geometry.affine import Affine, apply, apply_to_region, inverse
from core.geometry.path import Floats

_LEVELS = 12
_TRUE_TO = 0.02
"""Cells by which an outline may be off."""

_SAME_COLOUR = 0.02
_LUMINANCES = tuple(luminance((*row, 1.0)) for row in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))


class Sampled:
    """A picture (premultiplied RGBA, (h, w, 4)) between ``box`` in a space that ``to_mm`` takes to mm."""

    def __init__(self, picture: Floats, box: Bounds, to_mm: Affine) -> None:
        height, width = picture.shape[:2]
        x0, y0, x1, y1 = box
        step_x, step_y = (x1 - x0) / width, (y1 - y0) / height
        # a rim of what stands at the border, so that paint reaches the edges of the box
        self._x: Floats = np.linspace(x0 - step_x / 2, x1 + step_x / 2, width + 2)
        self._y: Floats = np.linspace(y0 - step_y / 2, y1 + step_y / 2, height + 2)
        self._picture: Floats = np.pad(picture, ((1, 1), (1, 1), (0, 0)), mode="edge")
        self._alpha: Floats = np.ascontiguousarray(self._picture[..., 3])
        self._window = shapely.box(*box)
        self._to_mm = to_mm

    @property
    def least_alpha(self) -> float:
        """Beside the box there is nothing."""
        return 0.0

    @property
    def most_alpha(self) -> float:
        """Alpha where it is most opaque."""
        return float(self._alpha.max())

    @property
    def colour(self) -> Rgba:
        """The colour that most of the paint has."""
        alpha = float(self._alpha.sum())
        if alpha <= 0:
            return (0.0, 0.0, 0.0, 1.0)
        red, green, blue = (self._picture[..., :3].sum(axis=(0, 1)) / alpha).tolist()
        return (red, green, blue, 1.0)

    def region_above(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where it is at least that opaque."""
        return self._region(self._alpha, alpha)

    def _region(self, values: Floats, least: float) -> BaseGeometry:
        region = area_above(values, self._x, self._y, least)
        if region is None:
            return NOTHING
        cell = min(float(self._x[1] - self._x[0]), float(self._y[1] - self._y[0]))
        inside = areas(shapely.intersection(shapely.simplify(region, _TRUE_TO * cell), self._window))
        return apply_to_region(self._to_mm, inside)

    def alpha_at(self, points_mm: Floats) -> Floats:
        """Alpha at points (n, 2)."""
        points = apply(inverse(self._to_mm), points_mm)
        i, across = _cell(self._x, points[:, 0])
        j, down = _cell(self._y, points[:, 1])
        v = self._alpha
        upper = v[j, i] * (1 - across) + v[j, i + 1] * across
        lower = v[j + 1, i] * (1 - across) + v[j + 1, i + 1] * across
        seen = shapely.contains_xy(self._window, *points.T)
        result: Floats = (upper * (1 - down) + lower * down) * seen
        return result

    def bands(self, bounds_mm: Bounds) -> list[tuple[BaseGeometry, Rgba]]:
        """Rings of one opacity; where colours differ, of one brightness on black."""
        plain = self._is_of_one_colour
        values = self._alpha if plain else self._picture[..., :3] @ np.array(_LUMINANCES)
        red, green, blue, _ = self.colour
        edges = [(step + 0.5) / _LEVELS for step in range(_LEVELS)]
        regions = [*(self._region(values, edge) for edge in edges), NOTHING]
        result = []
        for step, (wide, narrow) in enumerate(itertools.pairwise(regions)):
            ring = areas(shapely.difference(wide, narrow))
            if not ring.is_empty:
                value = (step + 1) / _LEVELS
                result.append((ring, (red, green, blue, value) if plain else (value, value, value, 1.0)))
        return result

    @property
    def _is_of_one_colour(self) -> bool:
        shown = self._alpha > 0.05
        if not shown.any():
            return True
        plain = self._picture[shown][:, :3] / self._alpha[shown][:, None]
        return bool((plain.max(axis=0) - plain.min(axis=0) < _SAME_COLOUR).all())


def _cell(centres: Floats, at: Floats) -> tuple[np.ndarray, Floats]:
    share = np.clip((at - centres[0]) / (centres[1] - centres[0]), 0, len(centres) - 1 - 1e-9)
    index = share.astype(np.intp)
    return index, share - index
