"""Which paint lies where: every bared area by the paint that it gets, and the piece as it will look from the front."""

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.artwork.painting import drawing_regions
from core.finishing.paints import BARE, Finishing, Paint, colour_name, free_name, starting_paint
from core.finishing.steps import Colouring, PaintArea
from core.geometry.engine import shared, subtracted, united
from core.geometry.rings import NOTHING
from core.job.burned import inside_cuts
from core.job.plan import Plan
from core.job.repeating import region_copies
from core.progress import Progress, silent
from core.sheet.offcuts import sheet_region

NO_COLOUR = "#4a4a4a"
"""Stands for the colour of areas that the artwork gives none."""

_MOSTLY = 0.9
_NOT_AN_AREA_MM2 = 1e-3


def source_colour(shape: Shape) -> str:
    """The colour that the artwork gives a filled shape, "#rrggbb"; of a screened picture, its deepest grey."""
    if shape.tones is not None:
        return shape.tones.deepest_grey
    colour = shape.fill or (shape.stroke.colour if shape.stroke else None) or NO_COLOUR
    return colour.lower() if len(colour) == 7 and colour.startswith("#") else NO_COLOUR


def filled_shapes(plan: Plan) -> tuple[Shape, ...]:
    """The shapes that are filled, in painting order."""
    fills = {layer.layer.id for layer in plan.layers if layer.layer.purpose == "fill"}
    return tuple(shape for shape in plan.drawing.shapes if plan.layer_of.get(shape.id) in fills)


PaintsOfShapes = tuple[dict[str, str], tuple[Paint, ...]]


def paints_of_shapes(plan: Plan) -> PaintsOfShapes:
    """(shape id to paint name or "bare", the paints that are used), as decided or else as the artwork suggests.

    A shape's own paint comes first, then its colour's, then the job's paint of that very colour, then a starting
    paint made for that colour. Sheet without a coat stays bare unless something is decided; so does a screened
    picture, which has no colour of its own, but where its bared places are said to look painted.
    """
    finishing, shapes = plan.job.finishing, filled_shapes(plan)
    known = {paint.name: paint for paint in finishing.paints}
    own = {shape: name for shape, name in finishing.paint_of if name in known or name == BARE}
    if plan.job.reading.picture.bared_is != "paint":
        decided = {colour for colour, _ in finishing.paint_of_colour}
        toned = (shape for shape in shapes if shape.tones is not None and source_colour(shape) not in decided)
        own = {shape.id: BARE for shape in toned} | own
    colours = [source_colour(shape) for shape in shapes]
    by_colour = _by_colour(finishing, shapes, colours, known, own, suggest=bool(plan.job.stock.coat))
    paint_of = {shape.id: own.get(shape.id, by_colour[colour]) for shape, colour in zip(shapes, colours, strict=True)}
    used = set(paint_of.values())
    return paint_of, tuple(paint for paint in known.values() if paint.name in used)


def suggested_paints(plan: Plan) -> tuple[Paint, ...]:
    """The paints that the artwork's colours suggest and nobody decided on yet."""
    decided = {paint.name for paint in plan.job.finishing.paints}
    return tuple(paint for paint in paints_of_shapes(plan)[1] if paint.name not in decided)


def _by_colour(
    finishing: Finishing,
    shapes: Sequence[Shape],
    colours: Sequence[str],
    known: dict[str, Paint],
    own: Mapping[str, str],
    *,
    suggest: bool,
) -> dict[str, str]:
    """Paint name for each colour of the artwork; paints that are suggested are put into ``known``.

    colours: that of each shape.
    """
    result = {colour: name for colour, name in finishing.paint_of_colour if name in known or name == BARE}
    for paint in finishing.paints:
        result.setdefault(paint.colour.lower(), paint.name)
    layers = _layers_of_colours(shapes, colours)
    suggested: set[str] = set()
    undecided = {colour for shape, colour in zip(shapes, colours, strict=True) if shape.id not in own}
    for colour in dict.fromkeys(colours):
        if colour in result:
            continue
        alike = next((of for of in result if result[of] in suggested and _nearly_alike(of, colour)), None)
        if alike is not None:
            result[colour] = result[alike]
            continue
        if not suggest or colour not in undecided:
            result[colour] = BARE
            continue
        paint = starting_paint(free_name(layers.get(colour) or colour_name(colour), known), colour)
        known[paint.name] = paint
        suggested.add(paint.name)
        result[colour] = paint.name
    return result


ALIKE = 24
"""Colours no channel of which differs more (of 255) are taken to mean one paint, until the maker says otherwise."""


def _nearly_alike(colour: str, other: str) -> bool:
    return all(abs(int(colour[i : i + 2], 16) - int(other[i : i + 2], 16)) <= ALIKE for i in (1, 3, 5))


def _layers_of_colours(shapes: Sequence[Shape], colour_of: Sequence[str]) -> dict[str, str]:
    """The source layer's name for each colour that alone has that layer, and has no other."""
    layers: dict[str, set[str]] = {}
    colours: dict[str, set[str]] = {}
    for shape, colour in zip(shapes, colour_of, strict=True):
        layers.setdefault(colour, set()).add(shape.source_layer)
        colours.setdefault(shape.source_layer, set()).add(colour)
    generic = {"", "0", "fill"}
    return {
        colour: next(iter(names))
        for colour, names in layers.items()
        if len(names) == 1 and not names & generic and len(colours[next(iter(names))]) == 1
    }


def colouring(plan: Plan, decided: PaintsOfShapes | None = None, *, progress: Progress = silent) -> Colouring:
    """Which paint lies where. Where shapes overlap, the upper one in the artwork shows.

    decided: ``paints_of_shapes``, where it is known already.
    """
    shapes = filled_shapes(plan)
    paint_of, paints = decided or paints_of_shapes(plan)
    filled = united([layer.region for layer in plan.layers if layer.layer.purpose == "fill"])
    names = np.array([paint_of[shape.id] for shape in shapes], object)
    regions = _regions_by_name(plan, shapes, names, filled, progress=progress)
    ids = {name: tuple(shape for shape, of in paint_of.items() if of == name) for name in regions}
    areas = (PaintArea(paint=p, region=regions[p.name], shape_ids=ids[p.name]) for p in paints)
    return Colouring(
        areas=tuple(area for area in areas if area.region.area > _NOT_AN_AREA_MM2),
        bare=regions.get(BARE, NOTHING),
        paint_of=paint_of,
        outline=piece_outline(plan, filled),
        filled=filled,
    )


def _regions_by_name(
    plan: Plan, shapes: Sequence[Shape], names: NDArray[np.object_], filled: BaseGeometry, *, progress: Progress
) -> dict[str, BaseGeometry]:
    """Region of each paint (and of bare), clipped to what the laser bares."""
    if len(set(names)) == 1:
        return {str(names[0]): filled}
    progress(0.0, "working out painted areas")
    number_of = {shape.id: i for i, shape in enumerate(plan.drawing.shapes)}
    width_mm = plan.job.sorting.line_width_mm
    painted = drawing_regions(plan.drawing, line_width_mm=width_mm)[[number_of[shape.id] for shape in shapes]]
    seen = _seen(painted, names)
    result = {}
    for number, name in enumerate(sorted(set(names))):
        progress(0.6 + 0.4 * number / len(set(names)), "sorting areas by paint")
        region = region_copies(united(seen[names == name]), plan.copies_to_front)
        result[str(name)] = shared(region, filled)
    return _without_overlap(result)


def _seen(painted: NDArray[np.object_], names: NDArray[np.object_]) -> NDArray[np.object_]:
    """Each region less what shapes above it, of another paint, cover."""
    tree = shapely.STRtree(painted)
    lower, upper = tree.query(painted, predicate="intersects")
    above = (upper > lower) & (names[lower] != names[upper])
    lower, upper = lower[above], upper[above]
    order = np.argsort(lower, kind="stable")
    covered, begin = np.unique(lower[order], return_index=True)
    result = painted.copy()
    for index, over in zip(covered.tolist(), np.split(upper[order], begin)[1:], strict=True):
        result[index] = subtracted(painted[index], united(painted[over]))
    return result


def _without_overlap(regions: dict[str, BaseGeometry]) -> dict[str, BaseGeometry]:
    """Slivers of a shared border's rounding belong to one of the two."""
    names = list(regions)
    for index, name in enumerate(names):
        for other in names[:index]:
            if shapely.relate_pattern(regions[name], regions[other], "T********"):
                regions[name] = subtracted(regions[name], regions[other])
    return regions


def piece_outline(plan: Plan, filled: BaseGeometry) -> BaseGeometry:
    """The piece inside its cut lines, holes out, front frame.

    The whole sheet where the closed cut lines do not hold what is filled: the outline is open or not there.
    """
    inside = inside_cuts(plan.layers)
    if shared(filled, inside).area > _MOSTLY * filled.area:
        return inside
    return sheet_region(plan.job.sheet)
