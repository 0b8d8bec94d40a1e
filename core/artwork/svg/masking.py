"""Masks as values over the plane (CSS Masking 1, 7): what is drawn shows where opacity times mask is above one half."""

from typing import cast

from core.artwork.svg.clipping import box_region
from core.artwork.svg.colours import Rgba, linear_rgb_luminance, luminance, url_target
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import NOTHING, Bounds, Drawn, MaskLayer
from core.artwork.svg.levels import Levels
from core.artwork.svg.limits import MAX_USE_DEPTH, REGION_COST
from core.artwork.svg.values import length_px
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import compose

_LEVEL_COST = 10
"""What painting over one grey of a mask costs, in segments."""


def property_mask(bench: Workbench, node: Node, here: Context) -> MaskLayer | None:
    """What ``mask`` on a node says; None where it does not mask."""
    value = here.style.own.get("mask", "none")
    if value == "none":
        return None
    target = url_target(value)
    mask = bench.document.by_id.get(target) if target else None
    if mask is not None and mask.tag != "mask":
        bench.findings.add(
            "bad-mask", f"{node.name_for_people()} is masked by “{value[:60]}”, which is no mask; it was left out."
        )
        return Levels(NOTHING)
    if mask is None:
        bench.findings.add(
            "bad-mask",
            f"{node.name_for_people()} is masked by “{value[:60]}”, which is not in the file; it was drawn whole.",
        )
        return None
    if mask in here.uses or here.depth >= MAX_USE_DEPTH:
        bench.findings.add("mask-loop", f"{mask.name_for_people()} masks itself; that was left out of account.")
        return None
    bounds = bench.bounds_of(node, here) if _fits_bounds(mask) else None
    key = ("mask", mask, here.matrix, here.viewport, bounds)
    if key not in bench.cache:
        bench.cache[key] = mask_layer(bench, mask, here, bounds)
    return cast(MaskLayer, bench.cache[key])


def _fits_bounds(mask: Node) -> bool:
    """Whether a mask is fitted to the bounds of what it masks."""
    attributes = mask.attributes
    return attributes.get("maskUnits") != "userSpaceOnUse" or attributes.get("maskContentUnits") == "objectBoundingBox"


def mask_layer(bench: Workbench, mask: Node, here: Context, bounds: Bounds | None) -> MaskLayer:
    """The values of a mask element on something in ``here`` (its user space)."""
    bench.budget.spend(3 * REGION_COST)
    style = bench.styles.standing(mask)
    inside = bench.fresh_context(mask, here)
    window_by_box = mask.attributes.get("maskUnits") != "userSpaceOnUse"
    content_by_box = mask.attributes.get("maskContentUnits") == "objectBoundingBox"
    if bounds is None and _fits_bounds(mask):
        return Levels(NOTHING)
    x0, y0, x1, y1 = bounds if bounds is not None else (0.0, 0.0, 0.0, 0.0)

    def size(name: str, default: str, axis: int) -> float:
        base = 1.0 if window_by_box else here.viewport[axis]
        for text in (mask.attributes.get(name), default):
            value = length_px(text, percent_of=base, font_size_px=style.font_size_px)
            if value is not None:
                return value
        return 0.0

    x, y, width, height = (
        size("x", "-10%", 0),
        size("y", "-10%", 1),
        size("width", "120%", 0),
        size("height", "120%", 1),
    )
    if window_by_box:
        x, y, width, height = x0 + x * (x1 - x0), y0 + y * (y1 - y0), width * (x1 - x0), height * (y1 - y0)
    if width <= 0 or height <= 0:
        return Levels(NOTHING)
    result = Levels(box_region(here.matrix, (x, y, x + width, y + height)))
    if content_by_box:
        inside = inside._replace(matrix=compose(here.matrix, (x1 - x0, 0.0, 0.0, y1 - y0, x0, y0)))
    drawn: list[Drawn] = []
    by_alpha = style.get("mask-type") == "alpha"
    inside = inside._replace(masking="alpha" if by_alpha else "luminance")
    bench.walker.walk(mask.children, inside, drawn.append)
    linear = style.values["color-interpolation"] == "linearRGB"

    def value_of(colour: Rgba) -> float:
        if by_alpha:
            return 1.0
        return linear_rgb_luminance(colour) if linear else luminance(colour)

    for one in drawn:
        for region, ink in bench.parts_of(one):
            bench.budget.spend(len(result.regions) * _LEVEL_COST)
            result.paint(region, value_of(ink.colour), ink.colour[3])
    own = property_mask(bench, mask, here._replace(style=style, uses=(*here.uses, mask), depth=here.depth + 1))
    if own is not None:
        result.dim(own)
    return result
