"""What is wrong with where a job lies at the machine: cuts near an edge, zones of the bed, the stop's corner."""

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.geometry.affine import apply
from core.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten
from core.geometry.path import Path
from core.job.burned import OVER_THE_EDGE_MM
from core.job.job import Job
from core.job.on_bed import margin_mm, stop_of, zones_on_front
from core.job.plan import LayerPlan
from core.sheet.at_stop import better_corners
from core.sheet.faces import turn_matrix
from core.sheet.offcuts import sheet_region

SHORT_MM = 0.01
"""A margin that lacks no more is kept."""


def bed_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """All of them, in the sheet's front frame."""
    layers = list(layers)
    return [*edge_findings(job, layers), *zone_findings(job, layers), *stop_findings(job)]


def edge_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """Cuts nearer to the sheet's edge than the margin, the worst of each layer.

    Open lines that run out over the edge part the sheet on purpose: their ends do not count. What reaches over the
    edge is told elsewhere.
    """
    wanted_mm, region = margin_mm(job), sheet_region(job.sheet)
    edge = shapely.boundary(region)
    shapely.prepare(edge)
    findings = []
    for planned in layers:
        if planned.layer.purpose != "cut" or not wanted_mm:
            continue
        lines = [line for path in planned.paths if not (line := _line(path, edge, wanted_mm)).is_empty]
        near = [(shapely.distance(line, edge) - job.stock.kerf_mm / 2, line) for line in lines]
        near = [(gap_mm, line) for gap_mm, line in near if gap_mm < wanted_mm - SHORT_MM and _held(region, line)]
        if near:
            gap_mm, line = min(near, key=lambda one: one[0])
            findings.append(_near_edge(job, planned, max(gap_mm, 0.0), len(near), shapely.shortest_line(line, edge)))
    return findings


def _near_edge(job: Job, planned: LayerPlan, gap_mm: float, count: int, between: BaseGeometry) -> Finding:
    whose = "machine" if job.machine.edge_margin_mm >= job.stock.edge_margin_mm else "stock"
    lines = "A line" if count == 1 else f"{count} lines"
    lies = "lies" if count == 1 else "lie"
    x_mm, y_mm = shapely.get_coordinates(between)[0].tolist()
    return Finding(
        code="near-edge",
        message=f"{lines} of {planned.layer.name} {lies} nearer to the sheet's edge than the {whose}'s margin of "
        f"{margin_mm(job):g} mm, the nearest {gap_mm:.2f} mm. Move the artwork, or take a larger piece.",
        x_mm=x_mm,
        y_mm=y_mm,
        shape_ids=planned.shape_ids,
    )


def _line(path: Path, edge: BaseGeometry, margin: float) -> BaseGeometry:
    """The path as lines, without the ends of open ones that run out over the edge."""
    flat = flatten(path, DEFAULT_TOLERANCE_MM)
    kept = []
    for index, points in enumerate(flat.parts()):
        if len(points) < 2:
            continue
        line: BaseGeometry = shapely.LineString(points)
        if not path.closed[index]:
            ends = [shapely.Point(points[0]), shapely.Point(points[-1])]
            out = [end for end in ends if shapely.distance(end, edge) <= 2 * OVER_THE_EDGE_MM]
            if out:
                line = shapely.difference(line, shapely.union_all([shapely.buffer(end, 2 * margin) for end in out]))
        kept.append(line)
    return shapely.union_all(kept) if kept else shapely.LineString()


def _held(region: BaseGeometry, line: BaseGeometry) -> bool:
    return bool(shapely.buffer(region, OVER_THE_EDGE_MM).covers(line))


def zone_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """What would be burned under a clamp or on a guide."""
    zones = zones_on_front(job)
    if not zones:
        return []
    burned = [(planned, _burned(planned)) for planned in layers if planned.layer.purpose != "guide"]
    findings = []
    for zone, region in zones:
        hit = [(planned, shapely.intersection(shape, region)) for planned, shape in burned if shape.intersects(region)]
        if hit:
            at = hit[0][1].representative_point()
            names = ", ".join(planned.layer.name for planned, _ in hit)
            findings.append(
                Finding(
                    code="in-zone",
                    message=f"{names}: something would be burned at the {zone.kind} of {job.machine.name} at "
                    f"{zone.x_mm:g}, {zone.y_mm:g} mm. Move the artwork, or the {zone.kind} and its entry.",
                    severity="problem",
                    x_mm=float(at.x),
                    y_mm=float(at.y),
                    shape_ids=hit[0][0].shape_ids,
                )
            )
    return findings


def _burned(planned: LayerPlan) -> BaseGeometry:
    lines = [
        shapely.LineString(points)
        for path in planned.paths
        for points in flatten(path, DEFAULT_TOLERANCE_MM).parts()
        if len(points) > 1
    ]
    return shapely.union_all([*lines, planned.region])


def stop_findings(job: Job) -> list[Finding]:
    """That the corner which is to lie in the stop is cut away, or that nothing there keeps the sheet from turning."""
    lies = stop_of(job)
    if lies.corner_there and lies.held:
        return []
    message = "" if lies.corner_there else f"The {lies.corner} corner of the sheet on the bed is cut away. "
    better: Sequence[str] = better_corners(job.sheet, job.turn, lies)
    advice = f" With the stop at the {' or '.join(better)} the sheet's own corner would lie in it." if better else ""
    if not lies.held:
        advice = f" Draw its place on the bed, or clamp it after measuring.{advice}"
    at = apply(turn_matrix(job.turn, job.sheet), np.array([_corner_mm(job)]))[0]
    return [
        Finding(
            code="stop-corner-missing" if lies.held else "stop-loose",
            message=f"{message}{lies.words}{advice}",
            x_mm=float(at[0]),
            y_mm=float(at[1]),
        )
    ]


def _corner_mm(job: Job) -> tuple[float, float]:
    down, across = job.stop_corner.split()
    return (0.0 if across == "left" else job.sheet.width_mm, 0.0 if down == "top" else job.sheet.height_mm)
