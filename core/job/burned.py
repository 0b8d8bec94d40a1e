"""What a job takes of its sheet: finished pieces, bared coat, burned lines, and which of the sheet's flaws show."""

from collections.abc import Iterable
from functools import reduce

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.geometry.engine import united
from core.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten
from core.geometry.path import Path
from core.geometry.rings import NOTHING
from core.job.job import Job
from core.job.plan import LayerPlan, Plan
from core.job.repeating import enclosed
from core.sheet.flaws import flaw_region, shown_flaws
from core.sheet.offcuts import sheet_region

OVER_THE_EDGE_MM = 0.01
SCORE_WIDTH_MM = 0.2
"""What a score line is taken to burn, wide enough for any spot that is used for it."""


def finished_region(layers: Iterable[LayerPlan]) -> BaseGeometry:
    """The finished pieces, front frame: what closed cut lines go round, holes out (even-odd).

    Without such lines, the box round all that is burned: what will be parted off by hand.
    """
    layers = tuple(layers)
    inside = inside_cuts(layers)
    if not inside.is_empty:
        return inside
    burned = [layer.region for layer in layers if not layer.region.is_empty]
    burned += [_lines(path) for layer in layers if layer.layer.purpose != "guide" for path in layer.paths]
    return shapely.box(*shapely.total_bounds(burned)) if burned else NOTHING


def inside_cuts(layers: Iterable[LayerPlan]) -> BaseGeometry:
    """What closed cut lines go round, holes out (even-odd), front frame; empty without such lines."""
    cuts = [layer for layer in layers if layer.layer.purpose == "cut"]
    insides = [enclosed(layer.paths) if layer.enclosed is None else layer.enclosed for layer in cuts]
    return reduce(shapely.symmetric_difference, [inside for inside in insides if not inside.is_empty] or [NOTHING])


def cleared_region(layers: Iterable[LayerPlan]) -> BaseGeometry:
    """Where the coat goes, front frame."""
    return united(layer.region for layer in layers if layer.layer.purpose == "fill")


def cut_away(plan: Plan) -> BaseGeometry:
    """What is no longer part of the sheet once the job is cut: finished pieces and the kerf of all cuts, front."""
    return shapely.union_all([finished_region(plan.layers), *burned_lines(plan, "cut")])


def marked_region(plan: Plan) -> BaseGeometry:
    """Coat that is gone though the sheet stays: fills and scores, front frame."""
    return shapely.union_all([cleared_region(plan.layers), *burned_lines(plan, "score")])


def burned_lines(plan: Plan, purpose: str) -> list[BaseGeometry]:
    """What the lines of a purpose burn away, as wide as they burn, front frame."""
    width_mm = plan.job.stock.kerf_mm if purpose == "cut" else SCORE_WIDTH_MM
    paths = [path for layer in plan.layers if layer.layer.purpose == purpose for path in layer.paths]
    return [shapely.buffer(_lines(path), width_mm / 2, quad_segs=4) for path in paths]


def sheet_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """What lies over the edge of a sheet of its own outline, and which flaws show; front frame."""
    layers = [layer for layer in layers if layer.layer.purpose != "guide"]
    findings = []
    if job.sheet.outline:
        region = shapely.buffer(sheet_region(job.sheet), OVER_THE_EDGE_MM)
        shapely.prepare(region)
        findings += [finding for layer in layers for finding in _over_the_edge(layer, region)]
    if job.sheet.flaws:
        findings += _flaw_findings(job, layers)
    return findings


def _over_the_edge(layer: LayerPlan, region: BaseGeometry) -> list[Finding]:
    burned = [*shapely.get_parts(layer.region), *(_lines(path) for path in layer.paths)]
    out = [one for one in burned if not region.contains(one)]
    if not out:
        return []
    at = shapely.difference(out[0], region).representative_point()
    return [
        Finding(
            code="off-sheet",
            message=f"{layer.layer.name} reaches over the edge of the piece. Move it, or take another piece.",
            severity="problem",
            x_mm=float(at.x),
            y_mm=float(at.y),
            shape_ids=layer.shape_ids,
        )
    ]


def _flaw_findings(job: Job, layers: list[LayerPlan]) -> list[Finding]:
    finished, cleared = finished_region(layers), cleared_region(layers)
    findings = []
    for shown in shown_flaws(job.sheet, finished, cleared, has_coat=bool(job.stock.coat)):
        flaw, at = shown.flaw, flaw_region(shown.flaw, job.sheet).representative_point()
        where = "in the coat" if flaw.surface == "coat" else "on the clear face"
        note = f" ({flaw.note})" if flaw.note else ""
        message = (
            f"A {flaw.kind} {where}{note} shows in the piece: {shown.region.area:.1f} mm². Move the artwork off it."
        )
        findings.append(Finding(code="flaw-shows", message=message, x_mm=float(at.x), y_mm=float(at.y)))
    return findings


def _lines(path: Path) -> BaseGeometry:
    parts = [points for points in flatten(path, DEFAULT_TOLERANCE_MM).parts() if len(points) > 1]
    return shapely.MultiLineString([shapely.LineString(points) for points in parts])
