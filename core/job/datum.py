"""A job's datum laid on its sheet, and what of it is burned: marks or holes in the waste."""

from dataclasses import replace
from functools import partial

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.burning.run_time import exactly, lines_time_s
from core.errors import JobError
from core.geometry.affine import apply
from core.geometry.flattening import path_length_mm
from core.geometry.path import Path, ellipse, polyline
from core.job.burned import cut_away, inside_cuts, marked_region
from core.job.cautions import RUN_SHEET_GOES_ALONG
from core.job.job import Job, Layer, standard_layers
from core.job.plan import LayerPlan, Plan
from core.sheet.datum import Datum
from core.sheet.faces import turn_matrix
from core.sheet.laid_datum import (
    KEY_PLAY_MM,
    MARK_ARM_MM,
    MARK_ROOM_MM,
    WEB_MM,
    LaidDatum,
    corner_places,
    mark_paths,
    mark_region,
    room_for_places,
    three_places,
)
from core.sheet.offcuts import sheet_region
from core.sheet.recipes import Recipe

MARKS_LAYER, PINS_LAYER = "datum-marks", "datum-pins"
DATUM_LAYERS = (MARKS_LAYER, PINS_LAYER)
"""Ids of layers that no artwork is on: exports hold them, and what comes back on them is not burned again."""
_COLOUR = "#000000"


def with_datum(job: Job, datum: Datum) -> Job:
    """The job laid by another datum; what hangs on its place has to be looked at again."""
    stale = frozenset({"right-face", RUN_SHEET_GOES_ALONG})
    return replace(job, datum=datum, cautions_ticked=job.cautions_ticked - stale)


def with_datum_laid(plan: Plan) -> Plan:
    """The plan with its datum, or with the finding that there is no room for it."""
    try:
        laid = laid_datum(plan)
    except JobError as error:
        message = f"{error.message} {error.hint}".strip()
        finding = Finding(code="no-datum", message=message, severity="problem")
        return replace(plan, findings=(*plan.findings, finding))
    return replace(plan, datum=laid, datum_layers=datum_layers(plan.job, laid))


def laid_datum(plan: Plan) -> LaidDatum:
    """Where the datum lies. Raises JobError where there is no room for it, or no way to burn it."""
    datum = plan.job.datum
    if datum.kind == "part edge":
        return LaidDatum(datum=datum)
    if datum.kind == "pins" and plan.job.stock.cut is None:
        raise JobError(
            f"{plan.job.stock.name} can't have holes cut for pins.", hint="Choose marks, or the part's edge."
        )
    if datum.places:
        if len(datum.places) != 3:
            raise JobError("A datum of marks or pins has three places.", hint="Choose it anew.")
        return LaidDatum(datum=datum, places=datum.places)
    return LaidDatum(datum=datum, places=_free_places(plan))


def _free_places(plan: Plan) -> tuple[tuple[float, float], ...]:
    """Three places in the waste. Marks stay near the part, so that film need not be larger than it must."""
    datum, sheet = plan.job.datum, sheet_region(plan.job.sheet)
    taken = shapely.union_all([cut_away(plan), marked_region(plan)])
    if datum.kind == "pins":
        reach_mm = (datum.pin_mm + KEY_PLAY_MM) / 2 + WEB_MM
        places = three_places(room_for_places(sheet, taken, reach_mm), apart_mm=4 * reach_mm, key_apart_mm=2 * reach_mm)
        if places is None:
            raise JobError(
                f"There is no room in the waste for three pins of {datum.pin_mm:g} mm.",
                hint="Take thinner pins or a larger sheet, move the job aside, or choose the part's edge.",
            )
        return places
    reach_mm = MARK_ARM_MM + MARK_ROOM_MM
    room = room_for_places(sheet, taken, reach_mm)
    away_mm = plan.job.finishing.masks.marks_mm
    part = taken if (inside := inside_cuts(plan.layers)).is_empty else inside
    if not part.is_empty:
        corners = corner_places(part, away_mm)
        if shapely.covers(room, shapely.MultiPoint(corners)):
            return corners
    near = shapely.box(*part.bounds).buffer(2 * away_mm + reach_mm) if not part.is_empty else sheet
    three = partial(three_places, apart_mm=2 * reach_mm, key_apart_mm=reach_mm)
    places = three(shapely.intersection(room, near)) or three(room)
    if places is None:
        raise JobError(
            "There is no room in the waste for three marks that show which way round the sheet lies.",
            hint="Take a larger sheet, move the job aside, or choose the part's edge.",
        )
    return places


def datum_layers(job: Job, laid: LaidDatum) -> tuple[LayerPlan, ...]:
    """What is burned for the datum before all else; nothing for the part's edge."""
    starting = {layer.purpose: layer.recipe for layer in standard_layers(job.stock)}
    recipes = starting | {layer.purpose: layer.recipe for layer in reversed(job.layers)}
    if laid.kind == "marks" and laid.datum.marks_burned == "cleared":
        region = shapely.union_all([mark_region(place) for place in laid.places])
        layer = _layer(MARKS_LAYER, "Datum marks", "fill", replace(recipes["fill"], hands_over="outlines"))
        return (_planned(layer, region=region),)
    if laid.kind == "marks":
        paths = tuple(path for place in laid.places for path in mark_paths(place))
        return (_lines(job, _layer(MARKS_LAYER, "Datum marks", "score", recipes["score"]), paths),)
    if laid.kind == "pins":
        holes = [
            ellipse((hole.x_mm, hole.y_mm), radius, radius)
            for hole in laid.holes
            for radius in ((hole.diameter_mm - job.stock.kerf_mm) / 2,)
        ]
        return (_lines(job, _layer(PINS_LAYER, "Pin holes", "cut", recipes["cut"]), tuple(holes)),)
    return ()


def _layer(layer_id: str, name: str, purpose: str, recipe: Recipe) -> Layer:
    return Layer(id=layer_id, name=name, purpose=purpose, recipe=recipe, colour=_COLOUR)  # type: ignore[arg-type]


def _planned(
    layer: Layer, *, region: BaseGeometry | None = None, paths: tuple[Path, ...] = (), length_mm: float = 0.0
) -> LayerPlan:
    region = shapely.MultiPolygon() if region is None else region
    return LayerPlan(
        layer=layer, shape_ids=(), region=region, paths=paths, area_mm2=float(region.area), length_mm=length_mm
    )


def _lines(job: Job, layer: Layer, paths: tuple[Path, ...]) -> LayerPlan:
    """Marks or holes with their time, in the order they stand, from the stop on."""
    turn = turn_matrix(job.turn, job.sheet)
    bed = [path.transformed(turn) for path in paths]
    start = apply(turn, bed[0].start_points[0]).tolist()
    time_s = lines_time_s(bed, layer.recipe, job.machine, start_mm=(start[0], start[1]))
    planned = _planned(layer, paths=paths, length_mm=sum(path_length_mm(path) for path in paths))
    return replace(planned, time_range=exactly(time_s))


def guide_of(layer: LayerPlan) -> LayerPlan:
    """The same lines to be found by eye or pointer in a later file, not to be burned again."""
    shown = replace(
        layer.layer,
        name=f"{layer.layer.name}, burned before: do not burn",
        purpose="guide",
        recipe=replace(layer.layer.recipe, power_pct=0.0),
    )
    paths = layer.paths
    if not layer.region.is_empty:
        rings = shapely.get_rings(shapely.get_parts(layer.region))
        paths = tuple(polyline(shapely.get_coordinates(ring), closed=True) for ring in rings)
    return _planned(shown, paths=paths, length_mm=sum(path_length_mm(path) for path in paths))
