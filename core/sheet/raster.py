"""Regions sampled on a regular grid of points, row by row between their edges: cost grows with edges crossed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Points at (x_mm + column · cell_mm, y_mm + row · cell_mm)."""

    x_mm: float
    y_mm: float
    cell_mm: float
    columns: int
    rows: int

    @property
    def xs_mm(self) -> Floats:
        """Where the columns lie (columns,)."""
        return self.x_mm + self.cell_mm * np.arange(self.columns, dtype=np.float64)

    @property
    def ys_mm(self) -> Floats:
        """Where the rows lie (rows,)."""
        return self.y_mm + self.cell_mm * np.arange(self.rows, dtype=np.float64)


def pixel_grid(bounds: tuple[float, float, float, float], cell_mm: float) -> Grid:
    """The middles of square cells that cover a box, from its top left corner on."""
    x0, y0, x1, y1 = bounds
    columns, rows = (max(1, int(np.ceil(side / cell_mm - 1e-9))) for side in (x1 - x0, y1 - y0))
    return Grid(x_mm=x0 + cell_mm / 2, y_mm=y0 + cell_mm / 2, cell_mm=cell_mm, columns=columns, rows=rows)


def inside(regions: BaseGeometry | Sequence[BaseGeometry] | NDArray[np.object_], grid: Grid) -> Bools:
    """Which points of the grid lie in any of the regions (rows, columns); regions may overlap each other.

    Points on an edge count or not as rounding has it: grow or shrink the region where that matters.
    """
    polygons = shapely.get_parts(np.atleast_1d(np.asarray(regions, object)))
    polygons = polygons[(shapely.get_dimensions(polygons) == 2) & ~shapely.is_empty(polygons)]
    result = np.zeros((grid.rows, grid.columns), bool)
    if not len(polygons) or not grid.rows or not grid.columns:
        return result
    rings = shapely.get_rings(shapely.orient_polygons(polygons))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    along = ring[1:] == ring[:-1]
    start, end = points[:-1][along], points[1:][along]
    rising = end[:, 1] > start[:, 1]
    low, high = np.where(rising[:, None], start, end), np.where(rising[:, None], end, start)
    first, last = (
        np.clip(np.ceil((y - grid.y_mm) / grid.cell_mm), 0, grid.rows).astype(np.intp) for y in (low[:, 1], high[:, 1])
    )
    count = last - first
    edge = np.repeat(np.arange(len(count)), count)
    row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    share = (grid.y_mm + grid.cell_mm * row - low[edge, 1]) / (high[edge, 1] - low[edge, 1])
    x = low[edge, 0] + share * (high[edge, 0] - low[edge, 0])
    column = np.clip(np.ceil((x - grid.x_mm) / grid.cell_mm), 0, grid.columns).astype(np.intp)
    # a shell is walked counterclockwise: what lies right of an edge that falls is inside
    turns = np.bincount(
        row * (grid.columns + 1) + column,
        weights=np.where(rising[edge], -1.0, 1.0),
        minlength=grid.rows * (grid.columns + 1),
    )
    winding = np.cumsum(turns.reshape(grid.rows, grid.columns + 1)[:, :-1], axis=1)
    np.greater(winding, 0.5, out=result)
    return result


def cell_areas_mm2(regions: Sequence[BaseGeometry], grid: Grid, *, finer: int = 4) -> NDArray[np.float32]:
    """How much of each cell around a grid point the regions take together, mm² (rows, columns).

    By ``finer`` x ``finer`` samples a cell; where regions overlap, each counts. Only what lies over the grid counts.
    """
    result = np.zeros((grid.rows, grid.columns), np.float32)
    corner_x, corner_y, cell = grid.x_mm - grid.cell_mm / 2, grid.y_mm - grid.cell_mm / 2, grid.cell_mm
    for region in regions:
        x0, y0, x1, y1 = region.bounds
        left, right = (int(np.clip((x - corner_x) // cell, -1, grid.columns)) for x in (x0, x1))
        top, bottom = (int(np.clip((y - corner_y) // cell, -1, grid.rows)) for y in (y0, y1))
        left, top, right, bottom = max(left, 0), max(top, 0), min(right + 1, grid.columns), min(bottom + 1, grid.rows)
        if right <= left or bottom <= top:
            continue
        fine = Grid(
            x_mm=corner_x + left * cell + cell / finer / 2,
            y_mm=corner_y + top * cell + cell / finer / 2,
            cell_mm=cell / finer,
            columns=(right - left) * finer,
            rows=(bottom - top) * finer,
        )
        blocks = inside(region, fine).reshape(bottom - top, finer, right - left, finer)
        result[top:bottom, left:right] += blocks.sum((1, 3)) * np.float32((cell / finer) ** 2)
    return result
