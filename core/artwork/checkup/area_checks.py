"""Filled areas too thin or too small for a scan line to bare."""

import numpy as np
import shapely

from core.artwork.checkup.line_checks import capped, too_thin
from core.artwork.drawing import Drawing, Finding, SortOptions
from core.artwork.painting import drawing_regions
from core.geometry.engine import united


def speck_findings(drawing: Drawing, *, cleared_width_mm: float) -> list[Finding]:
    """Parts of the filled area that are nowhere as wide as one cleared line."""
    if cleared_width_mm <= 0:
        return []
    regions = drawing_regions(drawing, line_width_mm=SortOptions().line_width_mm)
    parts = shapely.get_parts(regions)
    owner = np.repeat(np.arange(len(regions)), shapely.get_num_geometries(regions))
    some = ~shapely.is_empty(parts)  # an area that came to nothing has no place
    parts, owner = parts[some], owner[some]
    thin = too_thin(parts, cleared_width_mm)
    if not len(thin):
        return []
    # what lies in or on a wider neighbour is burned with it
    tree = shapely.STRtree(parts)
    part, other = tree.query(parts[thin], predicate="intersects")
    wide = np.ones(len(parts), bool)
    wide[thin] = False
    lone = np.setdiff1d(np.arange(len(thin)), part[wide[other]])
    droppable = set(specks(drawing, cleared_width_mm))
    findings = []
    for number in thin[lone].tolist():
        place = shapely.point_on_surface(parts[number])
        shape = int(owner[number])
        findings.append(
            Finding(
                code="speck",
                message=f"A filled area of {shapely.area(parts[number]):.4f} mm² is nowhere as wide as one cleared "
                f"line ({cleared_width_mm:.3f} mm): it may not come out.",
                x_mm=float(shapely.get_x(place)),
                y_mm=float(shapely.get_y(place)),
                shape_ids=(drawing.shapes[shape].id,),
                repair=f"drop-specks:{cleared_width_mm:g}" if shape in droppable else None,
            )
        )
    return capped(findings, "speck", "filled areas are thinner than a cleared line")


def specks(drawing: Drawing, cleared_width_mm: float) -> list[int]:
    """Indices of shapes that paint nothing but specks, even together with what they touch."""
    regions = drawing_regions(drawing, line_width_mm=SortOptions().line_width_mm)
    candidates = too_thin(regions, cleared_width_mm)
    candidates = candidates[~shapely.is_empty(regions[candidates])]
    if not len(candidates):
        return []
    tree = shapely.STRtree(regions)
    result = []
    for index in candidates.tolist():
        touching = tree.query(regions[index], predicate="intersects")
        whole = united([regions[i] for i in touching])
        if len(too_thin(np.array([whole], object), cleared_width_mm)):
            result.append(index)
    return result
