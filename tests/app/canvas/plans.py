"""Small plans made by hand, so that these tests need no reader and no sorting."""

from dataclasses import replace

import numpy as np
import shapely

from core.artwork.drawing import ArtworkSource, Drawing, Shape
from core.artwork.sorting.deciding import Sorted
from core.burning.beam import clearing_line, fill_verdict
from core.burning.coverage import coverage
from core.burning.scan_rows import scan_rows
from core.geometry.affine import IDENTITY, Affine, apply_to_region
from core.geometry.path import Path, polyline
from core.geometry.stroke import Stroke
from core.job.job import Job, new_job
from core.job.plan import LayerPlan, Plan
from core.sheet.faces import turn_matrix
from core.sheet.placement import Sheet
from core.units import pitch_mm_from_lpi

SQUARE = [(10, 10), (30, 10), (30, 30), (10, 30)]
TRIANGLE = [(60, 10), (80, 10), (60, 40)]
OUTLINE = [(2, 2), (98, 2), (98, 58), (2, 58)]
LINE = [(10, 45), (90, 45)]
LAYER_OF = {"square": "fill", "triangle": "fill", "outline": "cut", "line": "score"}


def closed(points: list[tuple[float, float]]) -> Path:
    """A closed outline."""
    return polyline(np.array(points, float), closed=True)


def hairline() -> Stroke:
    """A line that paints next to nothing."""
    return Stroke(colour="#c00000", width=0.1, width_mm=0.1)


def shapes() -> tuple[Shape, ...]:
    """A square and a triangle filled, an outline to cut, a line to score; nothing is symmetric on a 100 x 60 sheet."""
    return (
        Shape(id="square", kind="rect", path=closed(SQUARE), fill="#202020", label="Square"),
        Shape(id="triangle", kind="path", path=closed(TRIANGLE), fill="#202020"),
        Shape(id="outline", kind="rect", path=closed(OUTLINE), stroke=hairline()),
        Shape(id="line", kind="line", path=polyline(np.array(LINE, float)), stroke=hairline()),
    )


def make_plan(
    some: tuple[Shape, ...] | None = None,
    layer_of: dict[str, str] | None = None,
    *,
    turn: str = "sideways",
    lpi: float = 600.0,
    to_front: Affine = IDENTITY,
    scan_angle_deg: float = 0.0,
    complete: bool = True,
) -> Plan:
    """A plan of shapes (without holes) on a 100 x 60 mm sheet."""
    some = shapes() if some is None else some
    layer_of = LAYER_OF if layer_of is None else layer_of
    job = new_job(ArtworkSource(name="hand.svg", data=b""))
    layers = tuple(
        replace(
            layer,
            recipe=replace(layer.recipe, pitch_mm=pitch_mm_from_lpi(lpi), scan_angle_deg=scan_angle_deg),
        )
        if layer.purpose == "fill"
        else layer
        for layer in job.layers
    )
    job = replace(job, layers=layers, turn=turn, sheet=Sheet(width_mm=100.0, height_mm=60.0, thickness_mm=3.0))
    return Plan(
        job=job,
        drawing=Drawing(width_mm=100.0, height_mm=60.0, units_from="by hand", shapes=some),
        drawing_to_front=to_front,
        sorted=tuple(Sorted(shape_id=shape.id, purpose="fill", why="by hand") for shape in some),
        layer_of=layer_of,
        layers=tuple(_layer_plan(job, layer.id, some, layer_of, to_front, complete=complete) for layer in layers),
        findings=(),
        cautions=(),
        complete=complete,
    )


def _layer_plan(
    job: Job, layer_id: str, some: tuple[Shape, ...], layer_of: dict[str, str], to_front: Affine, *, complete: bool
) -> LayerPlan:
    layer = next(layer for layer in job.layers if layer.id == layer_id)
    mine = [shape for shape in some if layer_of.get(shape.id) == layer_id]
    ids = tuple(shape.id for shape in mine)
    paths = tuple(shape.path.transformed(to_front) for shape in mine)
    nothing = shapely.MultiPolygon()
    if layer.purpose != "fill":
        return LayerPlan(layer=layer, shape_ids=ids, region=nothing, paths=paths, area_mm2=0.0, length_mm=0.0)
    region = shapely.union_all([shapely.Polygon(path.start_points) for path in paths]) if paths else nothing
    planned = LayerPlan(layer=layer, shape_ids=ids, region=region, paths=(), area_mm2=region.area, length_mm=0.0)
    if not complete or not paths:
        return planned
    verdict = fill_verdict(layer.recipe, job.machine, job.stock)
    bed = apply_to_region(turn_matrix(job.turn, job.sheet), region)
    rows = scan_rows(bed, pitch_mm=layer.recipe.pitch_mm, angle_deg=layer.recipe.scan_angle_deg)
    covered = coverage(bed, rows, clearing_line(layer.recipe, job.machine, job.stock))
    return replace(planned, verdict=verdict, rows=rows, coverage=covered)
