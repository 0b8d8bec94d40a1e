"""What of the outlines counts as painted, and behind which clip: from Drawn to Shape."""

from collections.abc import Callable

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.artwork.svg.bounds import rough_bounds
from core.artwork.svg.colours import hex_colour
from core.artwork.svg.drawn import NOTHING, PAINTED_FROM, Bounds, Drawn, Ink, MaskLayer, areas, intersected
from core.artwork.svg.tiling import Tiling
from core.geometry.path import Path, joined, polyline
from core.geometry.stroke import Stroke


def shapes_of(drawn: Drawn, new_id: Callable[[], str]) -> list[Shape]:
    """The shapes of one outline, none where its paint is too transparent to count. Fill and stroke are one shape
    unless they show through different regions."""
    fill, pen = drawn.fill, drawn.pen
    fill_clip: BaseGeometry | None
    if drawn.clip is None and not drawn.masks:
        fill_clip = stroke_clip = None
        if fill is not None and (fill.field is not None or fill.colour[3] * drawn.opacity < 1.0):
            fill_clip = _unclipped(drawn, fill, None)
        stroke = drawn.stroke
        if (
            stroke is not None
            and pen is not None
            and (stroke.field is not None or stroke.colour[3] * drawn.opacity < 1.0)
        ):
            stroke_clip = _unclipped(drawn, stroke, pen)
    else:
        bounds = rough_bounds(drawn.path)
        fill_clip = _clip(drawn, fill, bounds) if fill is not None else None
        stroke_clip = _clip(drawn, drawn.stroke, _widened(bounds, pen)) if drawn.stroke is not None and pen else None
    filled = fill is not None and _shows(fill_clip)
    if drawn.is_frame:
        return [_faded(drawn, fill, fill_clip, new_id())] if fill is not None and fill_clip and filled else []
    stroked = pen is not None and _shows(stroke_clip)

    def shape(colour: str | None, pen: Stroke | None, clip: BaseGeometry | None) -> Shape:
        return Shape(
            id=new_id(),
            kind=drawn.kind,
            path=drawn.path,
            fill=colour,
            fill_rule=drawn.fill_rule,
            stroke=pen,
            source_layer=drawn.source_layer,
            label=drawn.label,
            clip=clip,
            names=drawn.names,
            source_id=drawn.source_id,
            is_text=drawn.is_text,
            zero_width=drawn.zero_width,
            tones=drawn.tones,
        )

    colour = hex_colour(fill.colour) if fill is not None and filled else None
    if filled and stroked and _same(fill_clip, stroke_clip):
        return [shape(colour, pen, fill_clip)]
    shapes = [shape(colour, None, fill_clip)] if filled else []
    return [*shapes, shape(None, pen, stroke_clip)] if stroked else shapes


def _faded(drawn: Drawn, ink: Ink, region: BaseGeometry, shape_id: str) -> Shape:
    """A shape of what counts as painted of a paint that fades."""
    return Shape(
        id=shape_id,
        kind=drawn.kind,
        path=outline_of(region),
        fill=hex_colour(ink.colour),
        fill_rule="evenodd",
        source_layer=drawn.source_layer,
        label=drawn.label,
        area=region,
        names=drawn.names,
        source_id=drawn.source_id,
        is_text=drawn.is_text,
    )


def outline_of(region: BaseGeometry) -> Path:
    """The rings of a region as a path."""
    rings = [ring for part in shapely.get_parts(region) for ring in (part.exterior, *part.interiors)]
    return joined([polyline(shapely.get_coordinates(ring), closed=True) for ring in rings])


def _unclipped(drawn: Drawn, ink: Ink, pen: Stroke | None) -> BaseGeometry | None:
    """Where a paint without clip counts as painted: None everywhere, an empty region nowhere."""
    if ink.field is None:
        return ink.region(drawn.opacity, (0.0, 0.0, 0.0, 0.0))
    bounds = rough_bounds(drawn.path)
    return ink.region(drawn.opacity, bounds if pen is None else _widened(bounds, pen))


def painted_parts(drawn: Drawn, tolerance_mm: float) -> list[tuple[BaseGeometry, Ink]]:
    """The regions (mm) that fill and stroke of one outline paint, however faintly: each of one colour, whose alpha
    holds all opacities."""
    result: list[tuple[BaseGeometry, Ink]] = []
    for ink, is_fill in ((drawn.fill, True), (drawn.stroke, False)):
        if ink is None:
            continue
        whole = drawn.filled(tolerance_mm) if is_fill else drawn.stroked(tolerance_mm)
        shown = whole if drawn.clip is None else areas(shapely.intersection(whole, drawn.clip))
        for place, opacity in _let_through(shown, ink.colour[3] * drawn.opacity, drawn.masks):
            if ink.field is None:
                result.append((place, Ink(colour=(*ink.colour[:3], opacity))))
                continue
            for band, colour in ink.field.bands(place.bounds):
                part = areas(shapely.intersection(place, band))
                if not part.is_empty and colour[3] > 0:
                    result.append((part, Ink(colour=(*colour[:3], colour[3] * opacity))))
    return result


def _let_through(shown: BaseGeometry, opacity: float, masks: tuple[MaskLayer, ...]) -> list[tuple[BaseGeometry, float]]:
    """The parts of a region that masks let through, with the opacity left to each."""
    parts = [] if shown.is_empty else [(shown, opacity)]
    for mask in masks:
        cut = [
            (areas(shapely.intersection(place, through)), alpha * value)
            for place, alpha in parts
            for value, through in mask.regions.items()
        ]
        parts = [(place, alpha) for place, alpha in cut if not place.is_empty]
    return parts


def too_transparent(drawn: Drawn) -> bool:
    """Whether nothing of it counts since it is too transparent (and not since it is clipped away)."""
    return all(
        ink is None
        or ink.colour[3] * drawn.opacity * (ink.field.most_alpha if ink.field else 1.0) < PAINTED_FROM - 1e-9
        for ink in (drawn.fill, drawn.stroke)
    )


def has_too_many_tiles(drawn: Drawn) -> bool:
    """Whether a pattern was taken as solid since it has too many tiles."""
    return any(
        ink is not None and isinstance(ink.field, Tiling) and ink.field.too_many for ink in (drawn.fill, drawn.stroke)
    )


def _widened(bounds: Bounds, pen: Stroke) -> Bounds:
    a, b, c, d = pen.matrix[:4]
    reach = pen.width / 2 * max(pen.miter_limit + 1 if pen.join.startswith("miter") else 1.0, 1.5)
    dx, dy = reach * (abs(a) + abs(c)), reach * (abs(b) + abs(d))
    return (bounds[0] - dx, bounds[1] - dy, bounds[2] + dx, bounds[3] + dy)


def _clip(drawn: Drawn, ink: Ink, bounds: Bounds) -> BaseGeometry | None:
    """The clip of one paint: None for none, an empty region where it shows nowhere."""
    clip = ink.region(drawn.opacity, bounds)
    if clip is not None and clip.is_empty:
        return clip
    box = shapely.box(*bounds)
    if drawn.clip is not None:
        shapely.prepare(drawn.clip)
        if not shapely.intersects(drawn.clip, box):
            return NOTHING
        if not shapely.covers(drawn.clip, box):
            clip = intersected(clip, drawn.clip)
    alpha = drawn.opacity * ink.colour[3]
    for mask in drawn.masks:
        shown = mask.region_above(PAINTED_FROM / alpha)
        shapely.prepare(shown)
        if not shapely.covers(shown, box):
            clip = intersected(clip, shown)
    if clip is not None and not shapely.intersects(clip, box):
        return NOTHING
    return clip


def _shows(clip: BaseGeometry | None) -> bool:
    return clip is None or not clip.is_empty


def _same(first: BaseGeometry | None, second: BaseGeometry | None) -> bool:
    if first is None or second is None:
        return first is second
    return first is second or bool(shapely.equals_exact(first, second))
