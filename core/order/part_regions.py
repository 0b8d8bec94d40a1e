"""What a filled part is and what is cleared of it, in the design's frame."""

from collections.abc import Mapping

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.painting import filled_region, painted_regions
from core.geometry.path import joined
from core.job.job import Job
from core.order.filling import FilledPart, part_bounds_mm

_TOLERANCE_MM = 0.02


def part_regions(design: Job, part: FilledPart) -> tuple[BaseGeometry, BaseGeometry]:
    """(finished, cleared): what its closed cut lines go round (else the box of all); what fills bare."""
    purposes: Mapping[str, str] = {layer.id: layer.purpose for layer in design.layers}
    pairs = list(zip(part.shapes, part.layer_ids, strict=True))
    fills = [shape for shape, layer in pairs if purposes.get(layer) == "fill"]
    cuts = [shape.path for shape, layer in pairs if purposes.get(layer) == "cut" and len(shape.path)]
    painted = painted_regions(fills, tolerance_mm=_TOLERANCE_MM, line_width_mm=design.sorting.line_width_mm)[0]
    finished = filled_region(joined(cuts), "evenodd", tolerance_mm=_TOLERANCE_MM) if cuts else shapely.Polygon()
    if finished.is_empty:
        finished = shapely.box(*part_bounds_mm(part))
    return finished, shapely.union_all(list(painted))
