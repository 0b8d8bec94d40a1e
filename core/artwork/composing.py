"""Shapes put together layer by layer: what is filled as one region, what is cut or scored as lines."""

from collections.abc import Mapping
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Finding
from core.artwork.painting import NOTHING, filled_region, painted_region, united
from core.artwork.path import Path
from core.artwork.flattening import DEFAULT_TOLERANCE_MM
from core.job.job import Layer, SortOptions
from core.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerArtwork:
    """What one layer burns, drawing frame: a region for fills, paths (one a subpath) for cuts, scores and guides."""

    shape_ids: tuple[str, ...]
    region: BaseGeometry
    paths: tuple[Path, ...]


def compose_layers(
    drawing: Drawing,
    layer_of: Mapping[str, str],
    layers: tuple[Layer, ...],
    options: SortOptions,
    *,
    progress: Progress = silent,
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    """The artwork of each layer by its id, and what was found on the way."""
    result = {}
    for layer in layers:
        shapes = [shape for shape in drawing.shapes if layer_of.get(shape.id) == layer.id]
        ids = tuple(shape.id for shape in shapes)
        if layer.purpose == "fill":
            regions = [painted_region(shape, tolerance_mm=DEFAULT_TOLERANCE_MM, line_width_mm=options.line_width_mm) for shape in shapes]
            result[layer.id] = LayerArtwork(shape_ids=ids, region=united(regions), paths=())
        else:
            paths = tuple(part for shape in shapes for part in shape.path.subpaths())
            result[layer.id] = LayerArtwork(shape_ids=ids, region=NOTHING, paths=paths)
    return result, ()
