"""How fills lie to cut lines: what a cut runs through, and what lies outside every cut outline."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.geometry.engine import united
from core.geometry.flattening import flatten
from core.geometry.path import Path
from core.geometry.rings import geometries

_DEPTH_MM = 0.02
"""A cut this near a fill's edge runs along it, not through it."""
_LEAST_RUN_MM = 0.1
_FLATNESS_MM = 0.01
MAX_FINDINGS = 50

Cut = tuple[str, Path]


def fill_findings(region: BaseGeometry, cuts: Sequence[Cut]) -> list[Finding]:
    """Fills that a cut runs through, each with its place, and fills outside every closed cut outline.

    cuts: (shape id, one subpath).
    """
    parts = shapely.get_parts(region)
    parts = parts[~shapely.is_empty(parts)]
    if not len(parts) or not cuts:
        return []
    crossings, crossed = _crossings(parts, cuts)
    return [*crossings, *_outside(parts, crossed, cuts)]


def _crossings(parts: NDArray[np.object_], cuts: Sequence[Cut]) -> tuple[list[Finding], set[int]]:
    lines = [shapely.LineString(flatten(path, _FLATNESS_MM).points) for _, path in cuts]
    tree = shapely.STRtree(parts)
    which, part = tree.query(lines, predicate="intersects")
    findings: list[Finding] = []
    crossed: set[int] = set()
    told: set[str] = set()
    more = 0
    for cut, number in zip(which.tolist(), part.tolist(), strict=True):
        place = _runs_through(lines[cut], parts[number])
        if place is None:
            continue
        crossed.add(number)
        shape_id = cuts[cut][0]
        if shape_id in told:
            continue
        told.add(shape_id)
        if len(findings) >= MAX_FINDINGS:
            more += 1
            continue
        x_mm, y_mm = place
        findings.append(
            Finding(
                code="fill-across-cut",
                message=f"A cut line runs through a filled area at {x_mm:.1f}, {y_mm:.1f} mm.",
                x_mm=x_mm,
                y_mm=y_mm,
                shape_ids=(shape_id,),
            )
        )
    if more:
        findings.append(Finding(code="fill-across-cut", message=f"{more} more cut lines run through filled areas."))
    return findings, crossed


def _runs_through(line: BaseGeometry, part: BaseGeometry) -> tuple[float, float] | None:
    """A place where the line lies inside the area rather than along its edge."""
    inner = shapely.get_parts(shapely.intersection(line, part))
    inner = inner[shapely.get_type_id(inner) == 1]
    if not len(inner):
        return None
    runs = shapely.line_merge(shapely.MultiLineString(list(inner)))
    edge = shapely.boundary(part)
    for run in sorted(shapely.get_parts(runs), key=lambda piece: -piece.length):
        if run.length < _LEAST_RUN_MM:
            return None
        for share in (0.5, 0.25, 0.75):
            place = shapely.line_interpolate_point(run, share, normalized=True)
            if shapely.distance(place, edge) > _DEPTH_MM:
                return float(shapely.get_x(place)), float(shapely.get_y(place))
    return None


def _outside(parts: NDArray[np.object_], crossed: set[int], cuts: Sequence[Cut]) -> list[Finding]:
    rings = [flatten(path, _FLATNESS_MM).points for _, path in cuts if path.closed[0] and len(path)]
    rings = [ring for ring in rings if len(ring) > 3]
    if not rings:
        return []
    discs = geometries([shapely.Polygon(ring) for ring in rings])
    within = united(list(shapely.make_valid(discs)))
    shapely.prepare(within)
    stray = [i for i in np.flatnonzero(~shapely.intersects(within, parts)).tolist() if i not in crossed]
    if not stray:
        return []
    largest = max(stray, key=lambda i: float(shapely.area(parts[i])))
    place = shapely.point_on_surface(parts[largest])
    what = "A filled area lies" if len(stray) == 1 else f"{len(stray)} filled areas lie"
    area_mm2 = float(shapely.area(parts[stray]).sum())
    size = f"{area_mm2:.1f} mm²" if area_mm2 >= 0.05 else "under 0.1 mm²"
    return [
        Finding(
            code="fill-outside-cut",
            message=f"{what} outside every cut outline ({size}): cleared from the sheet around the piece.",
            x_mm=float(shapely.get_x(place)),
            y_mm=float(shapely.get_y(place)),
        )
    ]
