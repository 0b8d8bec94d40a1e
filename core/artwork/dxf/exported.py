"""What Tain put into its own DXF files, found again: settings document, layers, the turn.

The document stands in pieces in an XRECORD under ``TAIN_JOB`` in the root dictionary; each layer's settings stand in
XDATA of the application ``TAIN`` on its entry in the layer table.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from core.artwork.drawing import Shape
from core.artwork.own_export import APP_ID, own_export_in_dxf
from core.geometry.affine import Affine, compose
from core.geometry.flattening import flatten
from core.geometry.path import Floats, Path, joined


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """How an exported file is to be read.

    to_front: from drawing units (mm, y up) to the sheet's front frame. layer_ids: the job's layer id of each DXF layer,
    by its name in small letters. fill_ids: the ids of layers that are filled. drawn: areas as drawn, by
    layer id, where outlines were moved.
    """

    to_front: Affine
    width_mm: float
    height_mm: float
    layer_ids: dict[str, str]
    fill_ids: frozenset[str]
    drawn: dict[str, tuple[Path, ...]]


def export_in(document: Any) -> Export | None:
    """How to read the document if Tain exported it, else None. Raises UnreadableError when its settings are damaged."""
    own = own_export_in_dxf(document)
    if own is None:
        return None
    return Export(
        to_front=compose(own.to_front, (1.0, 0.0, 0.0, -1.0, 0.0, own.height_mm)),
        width_mm=own.width_mm,
        height_mm=own.height_mm,
        layer_ids=_layer_ids(document, own.layers),
        fill_ids=frozenset(layer_id for layer_id, purpose in own.layers.values() if purpose == "fill"),
        drawn=own.drawn,
    )


def _layer_ids(document: Any, ids: dict[int, tuple[str, str]]) -> dict[str, str]:
    found = {}
    for layer in document.layers:
        if not layer.has_xdata(APP_ID):
            continue
        tags = [(tag.code, tag.value) for tag in layer.get_xdata(APP_ID)]
        after_order = [value for (_, key), (_, value) in pairwise(tags) if key == "order"]
        if after_order and int(after_order[0]) in ids:
            found[layer.dxf.name.casefold()] = ids[int(after_order[0])][0]
    return found


def as_job_layers(shapes: tuple[Shape, ...], export: Export) -> tuple[Shape, ...]:
    """Shapes told by their job layer's id; the outlines on fill layers as filled areas with their holes."""
    known = [
        replace(shape, source_layer=export.layer_ids.get(shape.source_layer.casefold(), shape.source_layer))
        for shape in shapes
    ]
    outlines: dict[str, list[Shape]] = {}
    for shape in known:
        if shape.source_layer in export.fill_ids and _is_outline(shape):
            outlines.setdefault(shape.source_layer, []).append(shape)
    areas = {id(area[0]): _filled(area) for rings in outlines.values() for area in _areas(rings)}
    taken = {id(shape) for rings in outlines.values() for shape in rings}
    return tuple(areas.get(id(shape), shape) for shape in known if id(shape) in areas or id(shape) not in taken)


def _is_outline(shape: Shape) -> bool:
    bare = shape.fill is None and shape.stroke is not None and shape.stroke.width == 0
    return bare and len(shape.path.closed) == 1 and bool(shape.path.closed[0])


def _filled(rings: list[Shape]) -> Shape:
    stroke = rings[0].stroke
    colour = stroke.colour if stroke else "#000000"
    path = joined([ring.path for ring in rings])
    return replace(rings[0], path=path, fill=colour, fill_rule="evenodd", stroke=None)


def _areas(rings: list[Shape]) -> list[list[Shape]]:
    """Each outer ring with its holes: a ring inside an odd number of others is a hole of the smallest around it."""
    polygons = [shapely.make_valid(shapely.Polygon(_corners(ring))) for ring in rings]
    sizes = shapely.area(np.array(polygons, object))
    inside = [shapely.point_on_surface(polygon) for polygon in polygons]
    inner, outer = shapely.STRtree(polygons).query(inside, predicate="intersects")
    around = sizes[outer] > sizes[inner]
    inner, outer = inner[around], outer[around]
    depth = np.bincount(inner, minlength=len(rings))
    groups: dict[int, list[Shape]] = {i: [rings[i]] for i in range(len(rings)) if depth[i] % 2 == 0}
    for hole in np.flatnonzero(depth % 2 == 1).tolist():
        candidates = outer[inner == hole]
        groups[int(candidates[np.argmin(sizes[candidates])])].append(rings[hole])
    return list(groups.values())


def _corners(ring: Shape) -> Floats:
    points = flatten(ring.path).points
    return points if len(points) > 3 else np.vstack([points, points[-1:], points[:1]])
