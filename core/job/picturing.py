"""Pictures that are screened, for the recipe that burns them: tones become spans of its scan rows.

The rows lie as the job lays the sheet: the scan angle on the bed, the turn, and how the artwork is turned on the sheet.
"""

from collections.abc import Hashable, Mapping
from dataclasses import replace

from core.artwork.composing import LayerArtwork
from core.artwork.drawing import Finding, ReadOptions
from core.artwork.picture_decisions import LEAST_WIDTH_MM
from core.artwork.picture_kinds import is_picture
from core.burning.beam import clearing_line
from core.burning.row_offsets import held_recipe
from core.burning.screens.layer_screen import LayerScreen, ScreenedPart
from core.burning.screens.screening import Screened, screened
from core.burning.screens.spans import put_together
from core.geometry.affine import Affine, apply_to_region, compose, inverse, rotation
from core.job.file_sizes import dxf_bytes, svg_bytes
from core.job.job import Job, Layer
from core.progress import Progress, part, silent
from core.sheet.faces import turn_matrix
from core.sheet.placement import placement_matrix
from core.units import MM_PER_INCH

HEAVY_SPANS = 150_000
"""From so many outlines on a layer is slow in receiving software: common practice, no source."""


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


def screening_key(job: Job, artworks: Mapping[str, LayerArtwork]) -> Hashable:
    """What the screens hang on besides the artwork; empty where nothing is screened."""
    layers = [layer for layer in job.layers if artworks[layer.id].pictures]
    if not layers:
        return ()
    recipes = tuple((layer.id, held_recipe(layer.recipe, job.machine)) for layer in layers)
    return (recipes, job.machine, job.stock, job.turn, job.placement.rotation_deg, job.reading.picture)


def layer_screens(
    job: Job, artworks: Mapping[str, LayerArtwork], *, progress: Progress = silent
) -> dict[str, LayerScreen]:
    """The screens of the layers that hold pictures, by the layers' ids. Raises JobError where a recipe can't."""
    layers = [layer for layer in job.layers if artworks[layer.id].pictures]
    screens = {}
    for number, layer in enumerate(layers):
        share = part(progress, number / len(layers), (number + 1) / len(layers))
        screens[layer.id] = _layer_screen(job, layer, artworks[layer.id], progress=share)
    return screens


def _layer_screen(job: Job, layer: Layer, artwork: LayerArtwork, *, progress: Progress) -> LayerScreen:
    recipe = held_recipe(layer.recipe, job.machine)
    line = clearing_line(recipe, job.machine, job.stock)
    to_scan = drawing_to_scan(job, recipe.scan_angle_deg)
    regions = [apply_to_region(to_scan, area.region) for area in artwork.pictures]
    # rows begin half a pitch inside all that is filled, as a receiving software begins them
    tops = [region.bounds[1] for region in regions]
    if not artwork.solid.is_empty:
        tops.append(apply_to_region(to_scan, artwork.solid).bounds[1])
    parts = []
    for number, (area, region) in enumerate(zip(artwork.pictures, regions, strict=True)):
        tones_mm2 = area.tones.wanted.size * area.tones.px_mm**2
        made = screened(
            area.tones,
            job.reading.picture.screen,
            line,
            pitch_mm=recipe.pitch_mm,
            drawing_to_scan=to_scan,
            clip=region if region.area < tones_mm2 * (1 - 1e-6) else None,
            lattice_y_mm=min(tops),
            progress=part(progress, number / len(regions), (number + 1) / len(regions)),
        )
        parts.append(ScreenedPart(shape_id=area.shape_id, made=made, region=region))
    return LayerScreen(
        parts=tuple(parts), spans=put_together([part.made.spans for part in parts]), to_drawing=inverse(to_scan)
    )


def screens_of(screens: Mapping[str, LayerScreen]) -> dict[str, Screened]:
    """Each picture's screen by its shape's id."""
    return {shape_id: made for screen in screens.values() for shape_id, made in screen.screens.items()}


def told_of_screens(screens: Mapping[str, LayerScreen]) -> tuple[Finding, ...]:
    """What is told of each picture, and of each layer that is heavy."""
    findings = [one for shape_id, made in screens_of(screens).items() for one in _told(shape_id, made)]
    for screen in screens.values():
        findings += _heavy(screen)
    return tuple(findings)


def drawing_to_scan(job: Job, scan_angle_deg: float) -> Affine:
    """Drawing frame to the scan frame, but for a shift."""
    turn = turn_matrix(job.turn, job.sheet)
    placed = placement_matrix(0.0, 0.0, job.placement.rotation_deg)
    whole = compose(inverse(rotation(scan_angle_deg)), compose((*turn[:4], 0.0, 0.0), placed))
    return (*whole[:4], 0.0, 0.0)


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
    cell_mm = MM_PER_INCH / made.lines_per_inch
    if made.px_mm > 1.5 * cell_mm:
        message = (
            f"The picture has {MM_PER_INCH / made.px_mm:.0f} dots an inch at this size, fewer than the screen: edges "
            f"show steps of {made.px_mm:.2g} mm."
        )
        findings.append(Finding(code="picture-coarse", message=message, shape_ids=ids))
    return findings


def _heavy(screen: LayerScreen) -> list[Finding]:
    """That a layer comes to more outlines than receiving software handles with ease."""
    count = len(screen.spans)
    if count <= HEAVY_SPANS:
        return []
    message = (
        f"The picture comes to {count:,} spans, about {svg_bytes(screen) / 1e6:.0f} MB as SVG and "
        f"{dxf_bytes(screen) / 1e6:.0f} MB as DXF: heavy for receiving software. A coarser ruling makes it lighter."
    )
    return [Finding(code="picture-heavy", message=message, shape_ids=tuple(screen.screens))]


def _pct(share: float) -> str:
    pct = 100 * share
    return f"{pct:.1f} %" if 0 < pct < 2 else f"{pct:.0f} %"
