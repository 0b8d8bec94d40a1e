"""Gaussian blur (Filter Effects 1, feGaussianBlur) as paint that fades: shadows and glows are drawn with it.

Coverage is sampled on a grid of cells, exactly in each cell, and blurred there; between the cells it is interpolated.
Other filter effects are not drawn.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.clipping import box_region
from core.artwork.svg.colours import Rgba
from core.artwork.svg.compositing import area_above
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import NOTHING, Blur, Bounds, Drawn, Ink, areas
from core.artwork.svg.values import length_px, number_list
from core.artwork.svg.workbench import Workbench
from core.geometry.path import Floats, polyline

_REACH = 3.0
"""Deviations beyond which nothing shows."""

_CELLS_PER_DEVIATION = 6.0
_FEWEST, _MOST = 12, 320
"""Cells along a side."""

_LEVELS = 8

_TRUE_TO = 0.02
"""Cells by which an outline may be off: it has a point in every cell, far more than it needs."""


class Blurred:
    """The blurred coverage of one region."""

    def __init__(self, region: BaseGeometry, paint: Ink, blur: Blur) -> None:
        x0, y0, x1, y1 = region.bounds
        self._centres, kernels, edges = [], [], []
        for low, high, deviation in ((x0, x1, blur.x_mm), (y0, y1, blur.y_mm)):
            start, stop = low - _REACH * deviation, high + _REACH * deviation
            wanted = (stop - start) / max(deviation, 1e-9) * _CELLS_PER_DEVIATION
            edge = np.linspace(start, stop, int(min(max(wanted, _FEWEST), _MOST)) + 1)
            centre = (edge[1:] + edge[:-1]) / 2
            edges.append(edge)
            self._centres.append(centre)
            kernels.append(_kernel(centre, deviation))
        covered = covered_parts(region, *edges)
        if paint.field is not None:
            at = np.stack(np.meshgrid(*self._centres), axis=-1).reshape(-1, 2)
            covered = covered * paint.field.alpha_at(at).reshape(covered.shape)
        self._values: Floats = kernels[1] @ covered @ kernels[0].T
        self._window = blur.window
        self._colour = paint.colour

    @property
    def bounds(self) -> Bounds:
        """Outside there is nothing, mm."""
        x, y = self._centres
        return (float(x[0]), float(y[0]), float(x[-1]), float(y[-1]))

    @property
    def least_alpha(self) -> float:
        """It fades to nothing."""
        return 0.0

    @property
    def most_alpha(self) -> float:
        """Alpha where it is most opaque."""
        return float(self._values.max())

    def region_above(self, alpha: float, bounds_mm: Bounds) -> BaseGeometry:
        """Where it is at least that opaque."""
        x, y = self._centres
        region = area_above(self._values, x, y, alpha)
        if region is None:
            return NOTHING
        smooth = shapely.simplify(region, _TRUE_TO * float(min(x[1] - x[0], y[1] - y[0])))
        return areas(shapely.intersection(smooth, self._window))

    def alpha_at(self, points_mm: Floats) -> Floats:
        """Alpha at points (n, 2)."""
        x, y = self._centres
        i, across = _cell(x, points_mm[:, 0])
        j, down = _cell(y, points_mm[:, 1])
        v = self._values
        upper = v[j, i] * (1 - across) + v[j, i + 1] * across
        lower = v[j + 1, i] * (1 - across) + v[j + 1, i + 1] * across
        seen = shapely.contains_xy(self._window, *points_mm.T)
        result: Floats = (upper * (1 - down) + lower * down) * seen
        return result

    def bands(self, bounds_mm: Bounds) -> list[tuple[BaseGeometry, Rgba]]:
        """Rings of one opacity."""
        steps = [(step + 0.5) / _LEVELS for step in range(_LEVELS)]
        regions = [*(self.region_above(alpha - 0.5 / _LEVELS or 1e-6, bounds_mm) for alpha in steps), NOTHING]
        return [
            (areas(shapely.difference(wide, narrow)), (*self._colour[:3], alpha))
            for alpha, wide, narrow in zip(steps, regions[:-1], regions[1:], strict=True)
            if not wide.is_empty
        ]


def _kernel(centres: Floats, deviation: float) -> Floats:
    """The matrix that blurs along one axis. A cell is an average already, which counts as a part of the blur."""
    step = centres[1] - centres[0]
    rest = math.sqrt(max(deviation**2 - step**2 / 12, 1e-18))
    weights: Floats = np.exp(-0.5 * ((centres[:, None] - centres[None, :]) / rest) ** 2)
    inner = float(np.exp(-0.5 * (np.arange(-len(centres), len(centres) + 1) * step / rest) ** 2).sum())
    weights /= inner
    return weights


def covered_parts(region: BaseGeometry, x: Floats, y: Floats) -> Floats:
    """Covered part of each cell between the evenly spaced edges, (len(y) - 1, len(x) - 1), exactly.

    An edge that runs down lays its height on all cells to its right (up: takes it off), and on its own cell the part
    that lies to its right; so each edge is cut where it leaves a cell, and the rows are summed up.
    """
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(region)))
    points, ring_of = shapely.get_coordinates(rings, return_index=True)
    same = ring_of[1:] == ring_of[:-1]
    points = (points - (x[0], y[0])) / (x[1] - x[0], y[1] - y[0])
    legs = np.stack([points[:-1][same], points[1:][same]], axis=1)
    for axis in (0, 1):
        legs = _cut_at_whole_numbers(legs, axis)
    middle, height = legs.mean(axis=1), legs[:, 1, 1] - legs[:, 0, 1]
    column, row = np.floor(middle).astype(np.intp).T
    laid = np.zeros((len(y) - 1, len(x)))
    part = height * (column + 1 - middle[:, 0])
    np.add.at(laid, (row, column), part)
    np.add.at(laid, (row, column + 1), height - part)
    result: Floats = np.abs(laid.cumsum(axis=1)[:, :-1])
    return result


def _cut_at_whole_numbers(legs: Floats, axis: int) -> Floats:
    """Legs (n, 2, 2) from point to point, cut where they cross a whole number along an axis."""
    start, end = legs[:, 0, axis], legs[:, 1, axis]
    first = np.floor(np.minimum(start, end))
    counts = np.maximum(np.ceil(np.maximum(start, end)) - first, 1).astype(np.intp)
    leg_of = np.repeat(np.arange(len(legs)), counts)
    cell = np.arange(len(leg_of)) - np.repeat(counts.cumsum() - counts, counts) + first[leg_of]
    along = (end - start)[leg_of]
    safe = np.where(along == 0, 1.0, along)
    shares = [np.clip((cell + step - start[leg_of]) / safe, 0, 1) for step in (0, 1)]
    from_share, to_share = np.minimum(*shares), np.maximum(*shares)
    from_share[along == 0], to_share[along == 0] = 0.0, 1.0
    origin, leap = legs[leg_of, 0], legs[leg_of, 1] - legs[leg_of, 0]
    result: Floats = np.stack([origin + leap * from_share[:, None], origin + leap * to_share[:, None]], axis=1)
    return result


def _cell(centres: Floats, at: Floats) -> tuple[np.ndarray, Floats]:
    share = np.clip((at - centres[0]) / (centres[1] - centres[0]), 0, len(centres) - 1 - 1e-9)
    index = share.astype(np.intp)
    return index, share - index


def blur_of(bench: Workbench, filter_node: Node, node: Node, here: Context) -> Blur | None:
    """What a filter of blurs alone does to an element; None where it does something else too. ``here`` is the
    context inside the element."""
    steps = [child for child in filter_node.children if child.tag not in ("desc", "title", "metadata")]
    if not steps or any(step.tag != "feGaussianBlur" for step in steps):
        return None
    if any(step.attributes.get("in", "") not in ("", before) for before, step in _with_what_comes_before(steps)):
        return None
    if filter_node.attributes.get("primitiveUnits") == "objectBoundingBox":
        return None
    variance_x = variance_y = 0.0
    for step in steps:
        numbers = number_list(step.attributes.get("stdDeviation", "0"))
        if not numbers or min(numbers) < 0:
            return None
        variance_x, variance_y = variance_x + numbers[0] ** 2, variance_y + numbers[-1] ** 2
    a, b, c, d = here.matrix[:4]
    x_mm, y_mm = math.sqrt(variance_x) * math.hypot(a, c), math.sqrt(variance_y) * math.hypot(b, d)
    window = _window(bench, filter_node, node, here)
    if window is None or not 0 < x_mm * y_mm < math.inf:
        return None
    outer = here.blur
    if outer is not None:
        return replace(outer, x_mm=math.hypot(x_mm, outer.x_mm), y_mm=math.hypot(y_mm, outer.y_mm))
    return Blur(x_mm=x_mm, y_mm=y_mm, window=window)


def _with_what_comes_before(steps: list[Node]) -> Iterator[tuple[str, Node]]:
    """Each step of a filter with the name of what the step before leaves."""
    before = "SourceGraphic"
    for step in steps:
        yield before, step
        before = step.attributes.get("result", "")


def _window(bench: Workbench, filter_node: Node, node: Node, here: Context) -> BaseGeometry | None:
    """The filter region, mm."""
    by_box = filter_node.attributes.get("filterUnits") != "userSpaceOnUse"
    bounds = bench.bounds_of(node, here) if by_box else (0.0, 0.0, 0.0, 0.0)
    if bounds is None:
        return None

    def size(name: str, default: str, axis: int) -> float:
        base = 1.0 if by_box else here.viewport[axis]
        text = filter_node.attributes.get(name, default)
        value = length_px(text, percent_of=base, font_size_px=here.style.font_size_px)
        return value if value is not None else length_px(default, percent_of=base, font_size_px=16.0) or 0.0

    x, y, width, height = (
        size("x", "-10%", 0),
        size("y", "-10%", 1),
        size("width", "120%", 0),
        size("height", "120%", 1),
    )
    if by_box:
        x0, y0, x1, y1 = bounds
        x, y, width, height = x0 + x * (x1 - x0), y0 + y * (y1 - y0), width * (x1 - x0), height * (y1 - y0)
    return box_region(here.matrix, (x, y, x + width, y + height)) if width > 0 and height > 0 else None


def blurred(drawn: Drawn, blur: Blur, tolerance_mm: float) -> list[Drawn]:
    """The outline's fill and stroke as paints that fade, each in a frame as large as it reaches."""
    result = []
    for ink, is_fill in ((drawn.fill, True), (drawn.stroke, False)):
        if ink is None:
            continue
        region = drawn.filled(tolerance_mm) if is_fill else drawn.stroked(tolerance_mm)
        if region.is_empty:
            continue
        field = Blurred(region, ink, blur)
        x0, y0, x1, y1 = field.bounds
        frame = polyline(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), closed=True)
        result.append(
            drawn._replace(path=frame, fill=Ink(colour=ink.colour, field=field), stroke=None, pen=None, is_frame=True)
        )
    return result
