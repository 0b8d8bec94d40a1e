"""What holds inside an element: its style, transform, viewport, opacity, clip, mask and filter."""

from core.artwork.svg.blurring import blur_of
from core.artwork.svg.clipping import box_region, property_clip
from core.artwork.svg.colours import url_target
from core.artwork.svg.context import Context
from core.artwork.svg.css_filters import css_filter_of
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Filter, Layer, intersected
from core.artwork.svg.filters import filter_of
from core.artwork.svg.limits import MAX_USE_DEPTH
from core.artwork.svg.masking import property_mask
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.styles import Style
from core.artwork.svg.transforms import FITTED, Box, transform_of
from core.artwork.svg.values import parse_view_box, view_box_matrix
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import compose, determinant, translation

CONTAINERS = frozenset({"g", "a", "svg", "switch"})
_INVISIBLE = 1 / 512
"""An opacity that renderers round to nothing."""


def entered(bench: Workbench, node: Node, here: Context, *, use: Node | None = None) -> Context | None:
    """The context inside an element: its style, transform, viewport, opacity, clip and mask. None: nothing
    shows. ``use`` is what refers to a symbol or svg."""
    style = bench.styles.computed(node, here.style)
    own = style.own
    if own and own.get("display") == "none":
        return None
    matrix, opacity, layers = here.matrix, here.opacity, here.layers
    text = bench.styles.transform_text(node)
    if text is not None:
        own_matrix = transform_of(bench, node, text, style, _reference_box(bench, node, style, here))
        if own_matrix is not None:
            matrix = compose(matrix, own_matrix)
            if determinant(matrix) == 0.0:
                return None
    if own and "opacity" in own and not here.measuring:
        own_opacity = style.opacity
        opacity *= own_opacity
        if own_opacity < 1.0:
            layers = (*layers, Layer(opacity=own_opacity))
        if opacity < _INVISIBLE:
            bench.findings.add(
                "transparent", "Parts of the artwork are wholly transparent and were left out.", severity="note"
            )
            return None
    if style is here.style and matrix is here.matrix and not own and node.tag in BASIC_SHAPES:
        return here
    layer, names = here.source_layer, here.names
    if node.tag in CONTAINERS and node.parent is not None:
        layer = _layer_name(node) or layer or (node.id if node.parent is bench.document.root else "")
        names = (*names, *node.names)
    inside = here._replace(style=style, matrix=matrix, opacity=opacity, layers=layers, source_layer=layer, names=names)
    if node.tag == "use":
        dx = bench.outlines.x(node, "x", style, here.viewport)
        dy = bench.outlines.y(node, "y", style, here.viewport)
        inside = inside._replace(matrix=compose(matrix, translation(dx, dy)))
    elif node.tag in ("svg", "symbol") and node.parent is not None:
        in_viewport = _in_viewport(bench, node, inside, use)
        if in_viewport is None:
            return None
        inside = in_viewport
    if own and not here.measuring:
        return _behind_clip_and_mask(bench, node, inside)
    return inside


def _behind_clip_and_mask(bench: Workbench, node: Node, inside: Context) -> Context | None:
    own = inside.style.own
    if "clip-path" in own:
        clip = intersected(inside.clip, property_clip(bench, node, inside))
        if clip is not None and clip.is_empty:
            return None
        inside = inside._replace(clip=clip)
    if "mask" in own:
        mask = property_mask(bench, node, inside)
        if mask is not None:
            inside = inside._replace(masks=(*inside.masks, mask), layers=(*inside.layers, Layer(mask=mask)))
    if own.get("filter", "none") != "none":
        return _filtered(bench, node, inside)
    return inside


def _filtered(bench: Workbench, node: Node, inside: Context) -> Context | None:
    """With the element's filter; what has one that is not done here is drawn without it and named, and not at all
    where renderers show nothing."""
    value = inside.style.own["filter"]
    if not value.startswith("url(") or value.count("(") > 1:
        what = css_filter_of(bench, value, node, inside) if "url(" not in value else None
        return _with_filter(bench, node, inside, what)
    target = bench.document.by_id.get(url_target(value) or "")
    if target is None or target.tag != "filter" or not target.children:
        bench.findings.add(
            "bad-filter",
            f"{node.name_for_people()} has a filter “{value[:60]}” that is missing or empty; it was left out.",
        )
        return None
    blur = blur_of(bench, target, node, inside)
    if blur is not None:
        bench.findings.add(
            "blur", "What is blurred was read as painted where it is more than half opaque.", severity="note"
        )
        return inside._replace(blur=blur)
    return _with_filter(bench, node, inside, filter_of(bench, target, node, inside))


def _with_filter(bench: Workbench, node: Node, inside: Context, what: Filter | None) -> Context | None:
    if what is None or inside.depth >= MAX_USE_DEPTH or not bench.budget.allows_filter():
        bench.findings.add("filter", f"{node.name_for_people()} has a filter effect; it was drawn without it.")
        return inside
    if what.box is None:
        return None
    bench.findings.add(
        "filtered", "What has a filter was read as painted where it is more than half opaque.", severity="note"
    )
    return inside._replace(filter=what, depth=inside.depth + 1)


def _reference_box(bench: Workbench, node: Node, style: Style, here: Context) -> Box:
    """What the percentages of a transform refer to (CSS Transforms 1, 8)."""
    if "transform-origin" in style.own and style.own.get("transform-box") in FITTED:
        bounds = bench.bounds_of(node, here._replace(style=style))
        if bounds is not None:
            return (bounds[0], bounds[1], bounds[2] - bounds[0], bounds[3] - bounds[1])
    return (0.0, 0.0, *here.viewport)


def _in_viewport(bench: Workbench, node: Node, here: Context, use: Node | None) -> Context | None:
    """Inside the viewport of a nested svg or a used symbol; None where that has no size."""

    def size(axis: int, name: str) -> float:
        measure = bench.outlines.x if axis == 0 else bench.outlines.y
        if (
            use is not None
            and bench.outlines.length(use, name, here.style, here.viewport, here.viewport[axis]) is not None
        ):
            asked = measure(use, name, here.style, here.viewport)
        elif node.tag == "symbol":
            return here.viewport[axis]
        else:
            asked = measure(node, name, here.style, here.viewport, here.viewport[axis])
        return asked if asked >= 0 else here.viewport[axis]  # below zero it is as good as not given

    width, height = size(0, "width"), size(1, "height")
    if width <= 0 or height <= 0:
        return None
    matrix = here.matrix
    if node.tag == "svg":
        dx = bench.outlines.x(node, "x", here.style, here.viewport)
        dy = bench.outlines.y(node, "y", here.style, here.viewport)
        matrix = compose(matrix, translation(dx, dy))
    clip = here.clip
    if here.style.own.get("overflow", "hidden") not in ("visible", "auto"):
        clip = intersected(clip, box_region(matrix, (0.0, 0.0, width, height)))
    viewport = (width, height)
    view_box = parse_view_box(node.attributes.get("viewBox"))
    if view_box is not None:
        matrix = compose(matrix, view_box_matrix(view_box, width, height, node.attributes.get("preserveAspectRatio")))
        viewport = view_box[2:]
    return here._replace(matrix=matrix, clip=clip, viewport=viewport)


def _layer_name(node: Node) -> str:
    if node.attributes.get(":groupmode") == "layer":
        return node.attributes.get(":label") or node.id
    return ""
