"""See-through paints on one another: the plane cut into faces, each inside the same paints all over.

Within a face opacity is one number, or smooth where gradients are among its paints; then it is sampled and the line
where it passes the threshold is drawn through the samples.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.drawn import NOTHING, Layer, PaintField, areas
from core.geometry.path import Floats
from core.progress import Progress, silent

Flags = NDArray[np.bool_]

_FINEST = 160
"""Samples along a face as large as the whole; smaller faces take fewer."""

_COARSEST = 6
_POINTS_AT_ONCE = 40_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Veil:
    """One see-through paint: where it lies (mm), how opaque, in which groups (outermost first). ``field`` says how
    the paint varies; its alpha goes on top."""

    place: BaseGeometry
    alpha: float
    field: PaintField | None
    layers: tuple[Layer, ...]


def region_above(veils: Sequence[Veil], least: float, *, progress: Progress = silent) -> BaseGeometry:
    """Where the veils, painted in order, are together at least so opaque."""
    masks = list({id(layer): layer for veil in veils for layer in veil.layers if layer.mask is not None}.values())
    pieces = [piece for layer in masks if layer.mask is not None for piece in layer.mask.regions.values()]
    lines = shapely.boundary([veil.place for veil in veils] + pieces)
    faces = np.array(shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(lines)))))
    if not len(faces):
        return NOTHING
    progress(0.0, "Putting see-through paint together")
    points = shapely.get_coordinates(shapely.point_on_surface(faces))
    inside = np.array([_contains(veil.place, points) for veil in veils])
    let_through = {id(layer): _mask_values(layer, points) for layer in masks}

    def composed(alpha_of: Callable[[Veil], float]) -> Floats:
        return _composed(
            veils, len(faces), lambda i: inside[i] * alpha_of(veils[i]), lambda layer: let_through[id(layer)]
        )

    most = composed(lambda veil: veil.alpha * (veil.field.most_alpha if veil.field else 1.0))
    fewest = composed(lambda veil: veil.alpha * (veil.field.least_alpha if veil.field else 1.0))
    above = list(faces[fewest >= least])
    unsure = np.flatnonzero((most >= least) & (fewest < least))
    grids = _grids(faces, unsure)
    for chunk in _chunks(grids):
        progress(0.0, "Putting see-through paint together")
        at = np.concatenate([_crossings(grid) for _, grid in chunk])
        face_of = np.repeat([face for face, _ in chunk], [len(x) * len(y) for _, (x, y) in chunk])

        def alphas(i: int, at: Floats = at, face_of: NDArray[np.intp] = face_of) -> Floats:
            here, veil = inside[i, face_of], veils[i]
            result: Floats = here * veil.alpha
            if veil.field is not None and here.any():
                result[here] *= veil.field.alpha_at(at[here])
            return result

        def masked(layer: Layer, face_of: NDArray[np.intp] = face_of) -> Floats:
            values: Floats = let_through[id(layer)][face_of]
            return values

        values = _composed(veils, len(at), alphas, masked)
        stop = 0
        for face, (x, y) in chunk:
            start, stop = stop, stop + len(x) * len(y)
            part = area_above(values[start:stop].reshape(len(y), len(x)), x, y, least)
            if part is not None:
                above.append(areas(shapely.intersection(faces[face], part)))
    return shapely.union_all(above) if above else NOTHING


def _composed(
    veils: Sequence[Veil], count: int, alphas: Callable[[int], Floats], let_through: Callable[[Layer], Floats]
) -> Floats:
    """Opacity of all veils at ``count`` places, group by group: each group's opacity and mask on the whole of it."""
    open_layers: list[tuple[Layer | None, Floats]] = [(None, np.zeros(count))]

    def close_to(depth: int) -> None:
        while len(open_layers) > depth + 1:
            layer, within = open_layers.pop()
            assert layer is not None
            factor = layer.opacity * (let_through(layer) if layer.mask is not None else 1.0)
            below = open_layers[-1][1]
            below += within * factor * (1 - below)

    for i, veil in enumerate(veils):
        common = 0
        for (opened, _), layer in zip(open_layers[1:], veil.layers, strict=False):
            if opened is not layer:
                break
            common += 1
        close_to(common)
        open_layers.extend((layer, np.zeros(count)) for layer in veil.layers[common:])
        below = open_layers[-1][1]
        below += alphas(i) * (1 - below)
    close_to(0)
    return open_layers[0][1]


def _contains(place: BaseGeometry, points: Floats) -> Flags:
    x0, y0, x1, y1 = place.bounds
    x, y = points.T
    result: Flags = (x >= x0) & (x <= x1) & (y >= y0) & (y <= y1)
    shapely.prepare(place)
    result[result] = shapely.contains_xy(place, points[result])
    return result


def _mask_values(layer: Layer, points: Floats) -> Floats:
    values = np.zeros(len(points))
    assert layer.mask is not None
    for value, place in layer.mask.regions.items():
        values[_contains(place, points)] = value
    return values


Grid = tuple[Floats, Floats]
"""Positions along x and along y."""


def _grids(faces: NDArray[np.object_], chosen: NDArray[np.intp]) -> list[tuple[int, Grid]]:
    """A grid over each of the chosen faces, as fine as the face is large."""
    bounds = shapely.bounds(faces)
    whole = max(float(np.ptp(bounds[:, [0, 2]])), float(np.ptp(bounds[:, [1, 3]])))
    result = []
    for face in chosen.tolist():
        x0, y0, x1, y1 = bounds[face]
        across, down = (max(_COARSEST, round(_FINEST * float(size) / whole)) for size in (x1 - x0, y1 - y0))
        result.append((face, (np.linspace(x0, x1, across), np.linspace(y0, y1, down))))
    return result


def _chunks(grids: list[tuple[int, Grid]]) -> list[list[tuple[int, Grid]]]:
    """The grids in lots of not too many points."""
    lots: list[list[tuple[int, Grid]]] = []
    count = _POINTS_AT_ONCE
    for face, (x, y) in grids:
        if count + len(x) * len(y) > _POINTS_AT_ONCE:
            lots.append([])
            count = 0
        lots[-1].append((face, (x, y)))
        count += len(x) * len(y)
    return lots


def _crossings(grid: Grid) -> Floats:
    return np.stack(np.meshgrid(*grid), axis=-1).reshape(-1, 2)


def area_above(values: Floats, x: Floats, y: Floats, least: float) -> BaseGeometry | None:
    """Where values (len(y), len(x)), taken as straight between their places, reach ``least``; None nowhere."""
    if (values >= least).all():
        whole: BaseGeometry = shapely.box(x[0], y[0], x[-1], y[-1])
        return whole
    if not (values >= least).any():
        return None
    over = values - least
    over[np.abs(over) < _TOUCHING] = _TOUCHING  # outlines that touch in a corner of the grid can't be told apart
    corners = np.pad(np.dstack([*np.meshgrid(x, y), over]), ((1, 1), (1, 1), (0, 0)), mode="edge")
    corners[[0, -1], :, 2] = corners[:, [0, -1], 2] = -_STEEP  # the outline runs along the border, not out of it
    return cast(BaseGeometry, shapely.build_area(shapely.multilinestrings(_outline_pieces(corners))))


_STEEP = 1e300
_TOUCHING = 1e-6


def _outline_pieces(corners: Floats) -> Floats:
    """The straight pieces (n, 2, 2) of the line where the value passes 0, each cell of a grid taken as two triangles;
    ``corners`` (h, w, 3) are x, y, value. Pieces that meet share their end to the last digit."""
    flags = corners[:, :, 2] >= 0
    count = flags[:-1, :-1].astype(np.int8) + flags[:-1, 1:] + flags[1:, :-1] + flags[1:, 1:]
    row, column = np.nonzero((count > 0) & (count < 4))
    p00, p10, p01, p11 = (corners[row + down, column + across] for down, across in ((0, 0), (0, 1), (1, 0), (1, 1)))
    triangles = np.concatenate([np.stack([p00, p10, p11], axis=1), np.stack([p00, p11, p01], axis=1)])
    order = np.argsort(triangles[:, :, 2], axis=1)
    low, middle, high = np.take_along_axis(triangles, order[:, :, None], axis=1).transpose(1, 0, 2)
    crossed = (low[:, 2] < 0) & (high[:, 2] >= 0)
    low, middle, high = low[crossed], middle[crossed], high[crossed]
    one_over = (middle[:, 2] < 0)[:, None]

    def between(below: Floats, over: Floats) -> Floats:
        share = over[:, 2] / (over[:, 2] - below[:, 2])
        result: Floats = over[:, :2] + share[:, None] * (below[:, :2] - over[:, :2])
        return result

    second = between(np.where(one_over, middle, low), np.where(one_over, high, middle))
    pieces = np.stack([between(low, high), second], axis=1)
    result: Floats = pieces[(pieces[:, 0] != pieces[:, 1]).any(axis=1)]
    return result
