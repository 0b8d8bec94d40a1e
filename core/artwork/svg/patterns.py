"""Patterns (SVG 2, 14.3) as the area that their tiles paint."""

import math

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.colours import Rgba
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Bounds, Drawn, Ink
from core.artwork.svg.levels import Levels
from core.artwork.svg.limits import MAX_USE_DEPTH, REGION_COST
from core.artwork.svg.references import chain_of, inherited, server_transform
from core.artwork.svg.tiling import Tiling
from core.artwork.svg.values import length_px, parse_view_box, view_box_matrix
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import apply_to_region, compose, determinant, inverse, translation

_GREY: Rgba = (0.5, 0.5, 0.5, 1.0)


def pattern_ink(bench: Workbench, node: Node, opacity: float, here: Context, bounds: Bounds) -> Ink | None:
    """The ink of a pattern on something with these bounds (user units). None: it paints nothing."""
    chain = chain_of(bench, node)
    if node in here.uses or here.depth >= MAX_USE_DEPTH:
        bench.findings.add("pattern-loop", f"{node.name_for_people()} is filled with itself; it was left out.")
        return None
    content = next((one for one in chain if one.children), None)
    by_box = (inherited(chain, "patternUnits") or "objectBoundingBox") != "userSpaceOnUse"
    content_by_box = inherited(chain, "patternContentUnits") == "objectBoundingBox"
    x0, y0, width0, height0 = bounds[0], bounds[1], bounds[2] - bounds[0], bounds[3] - bounds[1]
    font_size = bench.styles.standing(node).font_size_px

    def number(name: str, axis: int) -> float:
        base = 1.0 if by_box else here.viewport[axis]
        return length_px(inherited(chain, name), percent_of=base, font_size_px=font_size) or 0.0

    x, y, width, height = number("x", 0), number("y", 1), number("width", 0), number("height", 1)
    if by_box:
        x, y, width, height = x0 + x * width0, y0 + y * height0, width * width0, height * height0
    if content is None or width <= 0 or height <= 0:
        return None
    box = (x0, y0, width0, height0) if by_box else (0.0, 0.0, *here.viewport)
    own = server_transform(bench, chain, "patternTransform", box)
    frame = compose(here.matrix, own)
    if determinant(frame) == 0.0 or not math.isfinite(determinant(frame)):
        return None
    inner, viewport = translation(x, y), here.viewport
    view_box = parse_view_box(inherited(chain, "viewBox"))
    if view_box is not None:
        inner = compose(inner, view_box_matrix(view_box, width, height, inherited(chain, "preserveAspectRatio")))
        viewport = view_box[2:]
    elif content_by_box:
        inner, viewport = (width0, 0.0, 0.0, height0, x, y), (1.0, 1.0)
    bench.budget.spend(5 * REGION_COST)
    drawn: list[Drawn] = []
    inside = bench.fresh_context(content, here)
    inside = inside._replace(matrix=compose(frame, inner), viewport=viewport, uses=(*inside.uses, *chain))
    bench.walker.walk(content.children, inside, drawn.append)
    window = apply_to_region(frame, shapely.box(x, y, x + width, y + height))
    in_mm, colour = composited(bench, drawn, window)
    tile = Levels()
    tile.regions = {alpha: apply_to_region(inverse(frame), region) for alpha, region in in_mm.regions.items()}
    bench.findings.add("pattern", "Patterns were read as the areas that their tiles paint.", severity="note")
    return Ink(colour=(*colour[:3], opacity), field=Tiling(tile, (width, height), frame, colour))


def composited(bench: Workbench, drawn: list[Drawn], window: BaseGeometry) -> tuple[Levels, Rgba]:
    """The opacity of outlines on one another within a window (mm), and the first one's colour."""
    result = Levels(window)
    colour = _GREY
    solid: list[BaseGeometry] = []
    for one in drawn:
        for region, ink in bench.parts_of(one):
            colour = ink.colour if colour is _GREY else colour
            if ink.colour[3] >= 1.0:
                solid.append(region)
                continue
            result.paint(region, 1.0, ink.colour[3])
    if solid:
        result.paint(shapely.union_all(solid), 1.0, 1.0)
    return result, colour
