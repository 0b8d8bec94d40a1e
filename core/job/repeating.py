"""Copies of the artwork on one sheet: what every layer burns, as often as the job repeats it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.composing import LayerArtwork, ToneArea, burned_once
from core.artwork.drawing import Finding
from core.artwork.painting import filled_region
from core.geometry.affine import Affine, apply_to_region, compose
from core.geometry.flattening import DEFAULT_TOLERANCE_MM
from core.geometry.path import Path, joined
from core.job.job import Layer

_OVERLAP_MM2 = 0.01


def with_enclosed(artworks: Mapping[str, LayerArtwork], layers: Sequence[Layer]) -> dict[str, LayerArtwork]:
    """The artwork with what the closed lines of each cut layer go round, as they stand (even-odd)."""
    result = dict(artworks)
    for layer in layers:
        if layer.purpose == "cut":
            result[layer.id] = replace(artworks[layer.id], enclosed=enclosed(artworks[layer.id].paths))
    return result


def enclosed(paths: Sequence[Path]) -> BaseGeometry:
    """What closed lines go round (even-odd); open ones take no part."""
    closed = [path for path in paths if path.closed.all()]
    return filled_region(joined(closed), "evenodd", tolerance_mm=DEFAULT_TOLERANCE_MM)


def repeated(
    artworks: Mapping[str, LayerArtwork], layers: Sequence[Layer], matrices: Sequence[Affine]
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    """The artwork once for each matrix. Where cut or score lines of neighbours coincide, one line is burned.

    Finds copies that overlap each other.
    """
    result = {layer.id: _copies(artworks[layer.id], matrices) for layer in layers}
    for purpose in ("cut", "score"):
        alike = [layer for layer in layers if layer.purpose == purpose]
        left = burned_once([path for layer in alike for path in result[layer.id].paths])
        start = 0
        for layer in alike:
            end = start + len(result[layer.id].paths)
            own = tuple(path for number, path in left if start <= number < end)
            result[layer.id] = replace(result[layer.id], paths=own)
            start = end
    return result, _overlaps(artworks, result, len(matrices))


def _copies(artwork: LayerArtwork, matrices: Sequence[Affine]) -> LayerArtwork:
    return replace(
        artwork,
        region=region_copies(artwork.region, matrices),
        paths=tuple(path.transformed(matrix) for matrix in matrices for path in artwork.paths),
        enclosed=None if artwork.enclosed is None else region_copies(artwork.enclosed, matrices),
        pictures=tuple(_moved(area, matrix) for matrix in matrices for area in artwork.pictures),
        solid_region=None if artwork.solid_region is None else region_copies(artwork.solid_region, matrices),
    )


def _moved(area: ToneArea, matrix: Affine) -> ToneArea:
    tones = replace(area.tones, to_mm=compose(matrix, area.tones.to_mm))
    return replace(area, tones=tones, region=apply_to_region(matrix, area.region))


def region_copies(region: BaseGeometry, matrices: Sequence[Affine]) -> BaseGeometry:
    """The region at all of these places, united; quick where the copies lie apart."""
    if region.is_empty or len(matrices) == 1:
        return apply_to_region(matrices[0], region)
    parts = [shapely.get_parts(apply_to_region(matrix, region)) for matrix in matrices]
    together: BaseGeometry = shapely.disjoint_subset_union_all(np.concatenate(parts))
    return together


def _overlaps(once: Mapping[str, LayerArtwork], result: Mapping[str, LayerArtwork], count: int) -> tuple[Finding, ...]:
    for id_, artwork in result.items():
        for alone, all_ in ((once[id_].region, artwork.region), (once[id_].enclosed, artwork.enclosed)):
            if alone is None or all_ is None or alone.is_empty:
                continue
            if count * shapely.area(alone) - shapely.area(all_) > _OVERLAP_MM2 * count:
                message = "Copies lie over each other. Set them further apart, or ask for fewer."
                return (Finding(code="copies-overlap", message=message, severity="problem"),)
    return ()
