"""Pictures that are screened, for the recipe that burns them: tones become spans of its scan rows.

The rows lie as the job lays the sheet: the scan angle on the bed, the turn, and how the artwork is turned on the sheet.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from core.artwork.drawing import Drawing, Finding, ReadOptions, Shape
from core.artwork.pictures.decisions import LEAST_WIDTH_MM
from core.artwork.pictures.kinds import is_picture
from core.burning.beam import clearing_line
from core.burning.row_offsets import held_recipe
from core.burning.scan_rows import ScanRows
from core.burning.screens.screening import Screened, screened
from core.geometry.affine import Affine, compose, inverse, rotation
from core.job.job import Job, Layer
from core.progress import Progress, part, silent
from core.sheet.faces import turn_matrix
from core.sheet.placement import placement_matrix
from core.sheet.recipes import Recipe
from core.units import MM_PER_INCH

HEAVY_SPANS = 150_000
"""From so many outlines on a layer is slow in receiving software: common practice, no source."""
SVG_BYTES_A_SPAN = 46
DXF_BYTES_A_SPAN = 330


def reading_of(job: Job) -> ReadOptions:
    """How the job's artwork is read: a traced picture without specks that no fill of the job clears as drawn."""
    reading, source = job.reading, job.source
    trace = reading.picture.trace
    if (
        source is None
        or reading.picture.way != "trace"
        or trace.least_mm is not None
        or not is_picture(source.data[:32])
    ):
        return reading
    fills = [held_recipe(layer.recipe, job.machine) for layer in job.layers if layer.purpose == "fill"]
    widths = [clearing_line(recipe, job.machine, job.stock).cleared_width_mm for recipe in fills]
    least_mm = round(min((width for width in widths if width > 0), default=LEAST_WIDTH_MM), 4)
    return replace(reading, picture=replace(reading.picture, trace=replace(trace, least_mm=least_mm)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pictured:
    """The drawing with its pictures screened, what is told of them, and each one's screen by its shape's id."""

    drawing: Drawing
    findings: tuple[Finding, ...] = ()
    screens: Mapping[str, Screened]


def screening_key(job: Job, drawing: Drawing, layer_of: Mapping[str, str]) -> Hashable:
    """What the screens hang on besides the drawing; empty where nothing is screened."""
    layers = _layers_of_pictures(job, drawing, layer_of)
    if not layers:
        return ()
    recipes = tuple((shape_id, held_recipe(layer.recipe, job.machine)) for shape_id, layer in layers.items())
    return (recipes, job.machine, job.stock, job.turn, job.placement.rotation_deg)


def pictured(job: Job, drawing: Drawing, layer_of: Mapping[str, str], *, progress: Progress = silent) -> Pictured:
    """The drawing's pictures screened for their layers' recipes. Raises JobError where a recipe can't."""
    layers = _layers_of_pictures(job, drawing, layer_of)
    if not layers:
        return Pictured(drawing=drawing, screens={})
    screens: dict[str, Screened] = {}
    shapes: list[Shape] = []
    for shape in drawing.shapes:
        layer = layers.get(shape.id)
        if layer is None or shape.tones is None:
            shapes.append(shape)
            continue
        number = len(screens)
        share = part(progress, number / len(layers), (number + 1) / len(layers))
        made = _screened(job, shape, layer, progress=share)
        screens[shape.id] = made
        shapes.append(replace(shape, area=made.region))
    findings = tuple(one for shape_id, made in screens.items() for one in _told(shape_id, made))
    return Pictured(drawing=replace(drawing, shapes=tuple(shapes)), findings=findings, screens=screens)


def rows_of_picture(job: Job, made: Pictured, shape_ids: tuple[str, ...], recipe: Recipe) -> ScanRows | None:
    """The rows of a layer that holds one screened picture and nothing else, once; None for all others."""
    if len(shape_ids) != 1 or shape_ids[0] not in made.screens or job.repeats:
        return None
    spans = made.screens[shape_ids[0]].spans
    if not len(spans):
        return None
    return ScanRows(
        pitch_mm=spans.pitch_mm,
        scan_angle_deg=recipe.scan_angle_deg,
        row_y_mm=spans.y0_mm + spans.pitch_mm * np.arange(spans.row_count, dtype=float),
        row_index=spans.row,
        x0_mm=spans.x0_mm,
        x1_mm=spans.x1_mm,
    )


def drawing_to_scan(job: Job, scan_angle_deg: float) -> Affine:
    """Drawing frame to the scan frame, but for a shift."""
    turn = turn_matrix(job.turn, job.sheet)
    placed = placement_matrix(0.0, 0.0, job.placement.rotation_deg)
    whole = compose(inverse(rotation(scan_angle_deg)), compose((*turn[:4], 0.0, 0.0), placed))
    return (*whole[:4], 0.0, 0.0)


def _layers_of_pictures(job: Job, drawing: Drawing, layer_of: Mapping[str, str]) -> dict[str, Layer]:
    fills = {layer.id: layer for layer in job.layers if layer.purpose == "fill"}
    return {
        shape.id: fills[layer_of[shape.id]]
        for shape in drawing.shapes
        if shape.tones is not None and layer_of.get(shape.id) in fills
    }


def _screened(job: Job, shape: Shape, layer: Layer, *, progress: Progress) -> Screened:
    assert shape.tones is not None
    recipe = held_recipe(layer.recipe, job.machine)
    return screened(
        shape.tones,
        job.reading.picture.screen,
        clearing_line(recipe, job.machine, job.stock),
        pitch_mm=recipe.pitch_mm,
        drawing_to_scan=drawing_to_scan(job, recipe.scan_angle_deg),
        clip=shape.clip,
        progress=progress,
    )


def _told(shape_id: str, made: Screened) -> list[Finding]:
    held, curve, ids = made.held, made.curve, (shape_id,)
    half = float(curve.without(curve.asked[:1] + 0.5)[0])
    message = (
        f"The picture is screened at {made.lines_per_inch:.0f} an inch: about {made.tone_count} tones, from "
        f"{_pct(made.lightest)} to {_pct(curve.darkest)} bared. This recipe holds up to "
        f"{held.finest_lines_per_inch:.0f} an inch; a span under {held.bares_from_mm:.3f} mm bares nothing. Tones are "
        f"made up for: left alone, 50 % would bare {_pct(half)}."
    )
    findings = [Finding(code="picture-tones", message=message, severity="note", shape_ids=ids)]
    if made.clipped_share > 0.005:
        message = (
            f"{_pct(made.clipped_share)} of the picture asks for more than the {_pct(curve.darkest)} that this recipe "
            "bares at most: tones run together there. Narrow the pitch, or fit the tones."
        )
        findings.append(Finding(code="picture-clipped", message=message, shape_ids=ids))
    if len(made.spans) > HEAVY_SPANS:
        svg_mb, dxf_mb = (len(made.spans) * size / 1e6 for size in (SVG_BYTES_A_SPAN, DXF_BYTES_A_SPAN))
        message = (
            f"The picture comes to {len(made.spans):,} spans, about {svg_mb:.0f} MB as SVG and {dxf_mb:.0f} MB as DXF: "
            "heavy for receiving software. A coarser ruling makes it lighter."
        )
        findings.append(Finding(code="picture-heavy", message=message, shape_ids=ids))
    cell_mm = MM_PER_INCH / made.lines_per_inch
    if made.px_mm > 1.5 * cell_mm:
        message = (
            f"The picture has {MM_PER_INCH / made.px_mm:.0f} dots an inch at this size, fewer than the screen: edges "
            f"show steps of {made.px_mm:.2g} mm."
        )
        findings.append(Finding(code="picture-coarse", message=message, shape_ids=ids))
    return findings


def _pct(share: float) -> str:
    pct = 100 * share
    return f"{pct:.1f} %" if 0 < pct < 2 else f"{pct:.0f} %"
