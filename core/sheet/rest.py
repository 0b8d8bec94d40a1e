"""The largest rectangle along the sheet's edges that is left of a piece, beside a job or alone."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.sheet.raster import Floats

_MAX_CELLS = 6_000_000
_SHRUNK = 1e-7

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class RestTable:
    """Area of the largest rectangle in a piece that keeps to one side of a line, mm², at lines that rise.

    xs (m,): ``left[i]`` is the largest with x <= xs[i], ``right[i]`` with x >= xs[i]; ys (n,): ``above`` with
    y <= ys[i], ``below`` with y >= ys[i]. A rectangle that misses a box lies on one of its four sides, so four
    look-ups tell the largest beside any box.
    """

    xs: Floats
    ys: Floats
    left: Floats
    right: Floats
    above: Floats
    below: Floats

    def across(self, x0: Floats, x1: Floats) -> Floats:
        """The largest left of x0 or right of x1, mm²; same shape."""
        result: Floats = np.maximum(np.interp(x0, self.xs, self.left), np.interp(x1, self.xs, self.right))
        return result

    def down(self, y0: Floats, y1: Floats) -> Floats:
        """The largest above y0 or below y1, mm²; same shape."""
        result: Floats = np.maximum(np.interp(y0, self.ys, self.above), np.interp(y1, self.ys, self.below))
        return result


def rest_table(region: BaseGeometry, *, cell_mm: float = 2.0) -> RestTable:
    """The table of a piece. Exact for outlines along the axes, within about ``cell_mm`` at slanted edges."""
    xs, ys, full = _cells(region, cell_mm)
    left, right, above, below = np.zeros(len(xs)), np.zeros(len(xs)), np.zeros(len(ys)), np.zeros(len(ys))
    width, number = np.diff(xs), np.arange(full.shape[1])
    for top in range(full.shape[0]):
        solid = np.minimum.accumulate(full[top:], axis=0)
        if not solid[0].any():
            continue
        started, ended = _runs(solid, number)
        height = (ys[top + 1 :] - ys[top])[:, None]
        to_here = np.where(solid, xs[1:] - xs[started], 0.0) * height
        from_here = np.where(solid, xs[ended] - xs[:-1], 0.0) * height
        np.maximum(left[1:], to_here.max(0), out=left[1:])
        np.maximum(right[:-1], from_here.max(0), out=right[:-1])
        best = to_here.max(1)
        np.maximum(above[top + 1 :], best, out=above[top + 1 :])
        below[top] = best.max()
    assert len(width) == full.shape[1]
    return RestTable(
        xs=xs,
        ys=ys,
        left=np.maximum.accumulate(left),
        right=np.maximum.accumulate(right[::-1])[::-1],
        above=np.maximum.accumulate(above),
        below=np.maximum.accumulate(below[::-1])[::-1],
    )


def largest_rectangle(region: BaseGeometry, *, cell_mm: float = 1.0) -> Bounds | None:
    """The largest rectangle along the axes inside the region (x0, y0, x1, y1); None where none was found.

    Exact for outlines along the axes, within about ``cell_mm`` at slanted edges; always inside.
    """
    if region.is_empty:
        return None
    xs, ys, full = _cells(region, cell_mm)
    best, found = 0.0, None
    number = np.arange(full.shape[1])
    for top in range(full.shape[0]):
        solid = np.minimum.accumulate(full[top:], axis=0)
        if not solid[0].any():
            continue
        started, _ = _runs(solid, number)
        areas = np.where(solid, xs[1:] - xs[started], 0.0) * (ys[top + 1 :] - ys[top])[:, None]
        row, column = np.unravel_index(int(areas.argmax()), areas.shape)
        if areas[row, column] > best:
            best = float(areas[row, column])
            found = (xs[started[row, column]], ys[top], xs[column + 1], ys[top + 1 + row])
    return None if found is None else (float(found[0]), float(found[1]), float(found[2]), float(found[3]))


def _runs(solid: NDArray[np.bool_], number: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """For each cell the first cell of its run of solid ones, and the cell after the run's last."""
    started = np.maximum.accumulate(np.where(solid, 0, number + 1), axis=1)
    backwards = np.where(solid, len(number), number)[:, ::-1]
    ended = np.minimum.accumulate(backwards, axis=1)[:, ::-1]
    return np.minimum(started, len(number)), ended


def _cells(region: BaseGeometry, cell_mm: float) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Grid lines through the corners and between, and which cells lie wholly inside (rows, columns)."""
    x0, y0, x1, y1 = region.bounds
    if region.area >= (x1 - x0) * (y1 - y0) * (1 - 1e-12):
        cell_mm = max(x1 - x0, y1 - y0)  # a plain rectangle is one cell
    while (x1 - x0) * (y1 - y0) ** 2 / 2 / cell_mm**3 > _MAX_CELLS:
        cell_mm *= 1.25
    points = shapely.get_coordinates(region)
    xs, ys = _lines(points[:, 0], x0, x1, cell_mm), _lines(points[:, 1], y0, y1, cell_mm)
    inset = _SHRUNK * max(x1 - x0, y1 - y0, 1.0)
    left, top = np.meshgrid(xs[:-1] + inset, ys[:-1] + inset)
    right, bottom = np.meshgrid(xs[1:] - inset, ys[1:] - inset)
    shapely.prepare(region)
    middle_inside = shapely.contains_xy(region, (left + right) / 2, (top + bottom) / 2)
    full = np.zeros(left.shape, bool)
    boxes = shapely.box(left[middle_inside], top[middle_inside], right[middle_inside], bottom[middle_inside])
    full[middle_inside] = shapely.contains_properly(region, boxes)
    return xs, ys, full


def _lines(values: Floats, low: float, high: float, cell_mm: float) -> Floats:
    """Lines from low to high: those of corners where they stand apart, and even ones between."""
    even = np.linspace(low, high, max(1, int(np.ceil((high - low) / cell_mm))) + 1)
    corners = np.unique(np.round(values, 6))
    if len(corners) > 40:  # a curve's chords: their corners say nothing
        return even
    kept = np.array([value for value in even if np.abs(corners - value).min() > cell_mm / 4])
    return np.unique(np.concatenate([kept, corners, [low, high]]))
