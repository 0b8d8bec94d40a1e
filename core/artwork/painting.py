"""What a shape paints, as regions: fills by their rule, strokes as areas."""

from collections.abc import Iterable
from typing import Literal

import numpy as np
import pyclipper
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape, Stroke
from core.artwork.flattening import flatten
from core.artwork.path import Path

_UNITS_PER_MM = 1e6
NOTHING: BaseGeometry = shapely.MultiPolygon()


def filled_region(path: Path, fill_rule: Literal["nonzero", "evenodd"], *, tolerance_mm: float) -> BaseGeometry:
    """The area inside a path by its fill rule, mm²-valued valid polygons; open subpaths are closed."""
    rings = [part for part in flatten(path, tolerance_mm).parts() if len(part) > 2]
    clipper = pyclipper.Pyclipper()
    for ring in rings:
        try:
            clipper.AddPath(np.rint(ring * _UNITS_PER_MM).astype(np.int64).tolist(), pyclipper.PT_SUBJECT, True)
        except pyclipper.ClipperException:  # no area
            continue
    rule = pyclipper.PFT_NONZERO if fill_rule == "nonzero" else pyclipper.PFT_EVENODD
    try:
        tree = clipper.Execute2(pyclipper.CT_UNION, rule, rule)
    except pyclipper.ClipperException:
        return NOTHING
    return _polygons(tree)


def stroke_region(path: Path, stroke: Stroke, *, tolerance_mm: float) -> BaseGeometry:
    """The area a stroke paints."""
    lines = shapely.MultiLineString(flatten(path, tolerance_mm).parts())
    return shapely.make_valid(shapely.buffer(lines, stroke.width_mm / 2, cap_style="flat" if stroke.cap == "butt" else stroke.cap))


def painted_region(shape: Shape, *, tolerance_mm: float, line_width_mm: float | None = None) -> BaseGeometry:
    """All that a shape paints: fill and stroke united, clipped; ``shape.area`` wins.

    Strokes no wider than ``line_width_mm`` are lines and left out, when it is given.
    """
    if shape.area is not None:
        return shape.area
    parts = []
    if shape.fill is not None:
        parts.append(filled_region(shape.path, shape.fill_rule, tolerance_mm=tolerance_mm))
    if shape.stroke is not None and (line_width_mm is None or shape.stroke.width_mm > line_width_mm):
        parts.append(stroke_region(shape.path, shape.stroke, tolerance_mm=tolerance_mm))
    region = united(parts)
    return region if shape.clip is None else shapely.intersection(region, shape.clip)


def united(regions: Iterable[BaseGeometry]) -> BaseGeometry:
    """The union of regions."""
    return shapely.union_all(list(regions)) if regions else NOTHING


def _polygons(tree: object) -> BaseGeometry:
    polygons = []
    waiting = list(tree.Childs)  # type: ignore[attr-defined]
    while waiting:
        node = waiting.pop()
        if not node.IsHole:
            polygons.append(shapely.Polygon(np.array(node.Contour) / _UNITS_PER_MM, [np.array(c.Contour) / _UNITS_PER_MM for c in node.Childs]))
        waiting.extend(node.Childs)
    return shapely.make_valid(shapely.MultiPolygon(polygons))
