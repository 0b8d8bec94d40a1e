"""Filters (Filter Effects 1): what an element's drawn parts come to, as paint that varies.

The parts are painted on a grid of cells over the filter region, in the element's user space, and the primitives are
done there. Where the parts themselves stay on top of all (a shadow below them) they are drawn as they are, so that
their outlines stay exact. Primitives that are not done here make the whole filter named and left out.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

import core.artwork.svg.filter_images as images
from core.artwork.svg.blurring import covered_parts
from core.artwork.svg.colours import BLACK, Rgba, parse_colour
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Bounds, Drawn, Filter, Ink, areas
from core.artwork.svg.sampling import Sampled
from core.artwork.svg.values import length_px, number_list, opacity_value
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import apply, apply_to_region, determinant, inverse, mean_scale
from core.geometry.path import Floats, polyline

_DONE = frozenset({
    "feGaussianBlur", "feOffset", "feFlood", "feMerge", "feColorMatrix", "feComponentTransfer", "feComposite",
    "feBlend", "feDropShadow", "feMorphology",
})  # fmt: skip
_NO_INPUTS = frozenset({"BackgroundImage", "BackgroundAlpha", "FillPaint", "StrokePaint"})
_PASSED_OVER = frozenset({"desc", "title", "metadata", "animate", "set", "script"})
_CELLS = 480
"""Along the longer side of what is filtered. Outlines are true to half a cell, edges that stay as they were to less."""

_FEWEST, _FINEST_CELL_MM = 64.0, 0.02
"""Small parts take fewer cells: finer than that nothing is burned."""

_UNTOUCHED = 2 / 255


@dataclass(slots=True, kw_only=True)
class _Chain:
    """The primitives being done: what each left, by its name."""

    bench: Workbench
    here: Context
    box: Bounds
    region: Bounds
    bounds: Bounds | None
    by_box: bool
    cells: tuple[int, int]
    source: Floats
    results: dict[str, Floats]
    last: Floats
    linear_everywhere: bool | None

    @property
    def cell(self) -> tuple[float, float]:
        """Size of a cell, user units."""
        x0, y0, x1, y1 = self.box
        return ((x1 - x0) / self.cells[1], (y1 - y0) / self.cells[0])


def filter_of(bench: Workbench, target: Node, node: Node, here: Context) -> Filter | None:
    """What a filter element does to an element; None where it does something that is not done here. A filter whose
    region is empty shows nothing. ``here`` is the context inside the element."""
    steps = [child for child in target.children if child.tag not in _PASSED_OVER and not child.tag.startswith("{")]
    if any(step.tag not in _DONE for step in steps) or not _inputs_known(steps):
        return None
    by_box = target.attributes.get("filterUnits") != "userSpaceOnUse"
    content_by_box = target.attributes.get("primitiveUnits") == "objectBoundingBox"
    bounds = bench.bounds_of(node, here) if by_box or content_by_box else None
    if bounds is None and (by_box or content_by_box):
        return Filter(steps=(), box=None, bounds=None, by_box=False, to_mm=here.matrix)
    box = region_box(target, here, bounds if by_box else None)
    return Filter(steps=tuple(steps), box=box, bounds=bounds, by_box=content_by_box, to_mm=here.matrix)


def region_box(target: Node, here: Context, bounds: Bounds | None) -> Bounds | None:
    """The filter region, user units; None where it is empty. ``bounds``: what it is fitted to, if it is."""

    def size(name: str, default: str, axis: int) -> float:
        base = 1.0 if bounds is not None else here.viewport[axis]
        for text in (target.attributes.get(name), default):
            value = length_px(text, percent_of=base, font_size_px=here.style.font_size_px)
            if value is not None:
                return value
        return 0.0

    x, y = size("x", "-10%", 0), size("y", "-10%", 1)
    width, height = size("width", "120%", 0), size("height", "120%", 1)
    if bounds is not None:
        x0, y0, x1, y1 = bounds
        x, y, width, height = x0 + x * (x1 - x0), y0 + y * (y1 - y0), width * (x1 - x0), height * (y1 - y0)
    return (x, y, x + width, y + height) if width > 0 and height > 0 else None


def _inputs_known(steps: list[Node]) -> bool:
    asked = [one.attributes.get(name, "") for step in steps for one in (step, *step.children) for name in ("in", "in2")]
    return not any(name in _NO_INPUTS for name in asked)


def filtered(bench: Workbench, what: Filter, content: list[Drawn], here: Context) -> list[Drawn]:
    """The drawn parts of an element after its filter. ``here`` is the context inside the element."""
    if what.box is None or not what.steps or determinant(what.to_mm) == 0.0:
        return []
    back = inverse(what.to_mm)
    parts = [
        (apply_to_region(back, region), ink)
        for one in content
        if not one.zero_width
        for region, ink in bench.parts_of(one)
    ]
    box = _reached(what, [region for region, _ in parts])
    if box is None:
        return []
    x0, y0, x1, y1 = box
    longer = max(x1 - x0, y1 - y0)
    most = min(max(longer * mean_scale(what.to_mm) / _FINEST_CELL_MM, _FEWEST), _CELLS)
    cells = (max(8, round(most * (y1 - y0) / longer)), max(8, round(most * (x1 - x0) / longer)))
    source = _painted(parts, box, cells)
    chain = _Chain(
        bench=bench, here=here, box=box, region=what.box, bounds=what.bounds, by_box=what.by_box, cells=cells,
        source=source, results={}, last=source, linear_everywhere=what.linear,
    )  # fmt: skip
    for step in what.steps:
        done = _subregion(chain, step, _done(chain, step))
        chain.last = done
        if step.attributes.get("result"):
            chain.results[step.attributes["result"]] = done
    result = chain.last
    in_mask = any(one.tag == "mask" for one in here.uses)
    changed = float(np.abs(result - source).max()) > _UNTOUCHED
    if not changed or (not in_mask and float((source - result)[..., 3].max()) <= _UNTOUCHED):
        kept = content
        if float((result - source)[..., 3].max()) <= _UNTOUCHED:
            return kept
        result = _below(result, source)
    else:
        kept = []
    field = Sampled(result, box, what.to_mm)
    if field.most_alpha <= 0:
        return kept
    corners = apply(what.to_mm, np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))
    frame = Drawn(
        kind=content[0].kind if content else "filter",
        label=content[0].label if content else here.label,
        source_layer=here.source_layer,
        path=polyline(corners, closed=True),
        fill=Ink(colour=field.colour, field=field),
        is_frame=True,
        names=content[0].names if content else here.names,
        source_id=content[0].source_id if content else "",
        is_text=bool(content) and content[0].is_text,
        origin=content[0].origin if content else here.origin,
        gathered=tuple(node for one in content for node in (one.origin, *one.gathered) if node is not None),
    )
    return [frame, *kept]


def _below(result: Floats, source: Floats) -> Floats:
    """What lies under the parts where they are drawn as they are; it reaches a little under them, so that there is no
    gap."""
    beside = np.where(source[..., 3:] < _MOSTLY, 1.0, 0.0)
    rest = beside * np.clip(result - source, 0, 1) / np.maximum(1 - source[..., 3:], 1e-3)
    return np.where(beside > 0, rest, images.grown(rest, 2, 2, shrink=False))


_MOSTLY = 0.5


def _reached(what: Filter, regions: list[BaseGeometry]) -> Bounds | None:
    """The part of the filter region where there can be paint, user units; None where there is none."""
    assert what.box is not None
    if any(step.tag in _PAINT_ANYWHERE for step in what.steps):
        return what.box
    if not regions:
        return None
    scale = 1.0
    if what.by_box and what.bounds is not None:
        scale = max(what.bounds[2] - what.bounds[0], what.bounds[3] - what.bounds[1])
    reach = 0.0
    for step in what.steps:
        for name, factor in _REACHES.items():
            default = "2" if step.tag == "feDropShadow" else "0"
            numbers = number_list(step.attributes.get(name, default))
            reach += factor * max((abs(number) for number in numbers), default=0.0) * scale
    x0, y0, x1, y1 = shapely.total_bounds(regions).tolist()
    reach += max(x1 - x0, y1 - y0) * _RIM
    low_x, low_y = max(what.box[0], x0 - reach), max(what.box[1], y0 - reach)
    high_x, high_y = min(what.box[2], x1 + reach), min(what.box[3], y1 + reach)
    return (low_x, low_y, high_x, high_y) if low_x < high_x and low_y < high_y else None


_PAINT_ANYWHERE = frozenset({"feFlood", "feComponentTransfer", "feColorMatrix", "feComposite"})
"""Primitives that may paint where nothing was."""

_REACHES = {"stdDeviation": 3.2, "dx": 1.0, "dy": 1.0, "radius": 1.0}
_RIM = 0.02


def _painted(parts: list[tuple[BaseGeometry, Ink]], within: Bounds, cells: tuple[int, int]) -> Floats:
    """The parts (user units) as premultiplied RGBA in the cells of a box."""
    x0, y0, x1, y1 = within
    height, width = cells
    step_x, step_y = (x1 - x0) / width, (y1 - y0) / height
    x = np.linspace(x0 - step_x, x1 + step_x, width + 3)  # a rim, so that nothing lies on the last edge
    y = np.linspace(y0 - step_y, y1 + step_y, height + 3)
    box = shapely.box(*within)
    picture: Floats = np.zeros((height, width, 4))
    for region, ink in parts:
        inside = areas(shapely.intersection(region, box))
        if inside.is_empty:
            continue
        covered = covered_parts(inside, x, y)[1:-1, 1:-1, None]
        picture = images.over(images.flooded(cells, ink.colour) * np.clip(covered, 0, 1), picture)
    return picture


def _taken(chain: _Chain, node: Node, name: str = "in") -> Floats:
    """What a primitive takes."""
    asked = node.attributes.get(name, "").strip()
    if asked == "SourceGraphic":
        return chain.source
    if asked == "SourceAlpha":
        return images.only_alpha(chain.source)
    return chain.results.get(asked, chain.last)


def _subregion(chain: _Chain, step: Node, picture: Floats) -> Floats:
    """A primitive's result within its own x, y, width and height."""
    attributes = step.attributes
    if not any(name in attributes for name in ("x", "y", "width", "height")):
        return picture
    x0, y0 = chain.box[:2]
    edges = list(chain.region)
    for axis, (place, size) in enumerate((("x", "width"), ("y", "height"))):
        start = _number(chain, attributes.get(place), axis, at=True)
        extent = _number(chain, attributes.get(size), axis)
        low = edges[axis] if start is None else start
        high = edges[axis + 2] if extent is None else low + extent
        edges[axis], edges[axis + 2] = max(edges[axis], low), min(edges[axis + 2], high)
    height, width = chain.cells
    cell_x, cell_y = chain.cell
    across = _shares(np.arange(width), (edges[0] - x0) / cell_x, (edges[2] - x0) / cell_x)
    down = _shares(np.arange(height), (edges[1] - y0) / cell_y, (edges[3] - y0) / cell_y)
    result: Floats = picture * (down[:, None] * across[None, :])[..., None]
    return result


def _shares(cells: np.ndarray, start: float, stop: float) -> Floats:
    """How much of each cell lies between two places along an axis."""
    result: Floats = np.clip(np.minimum(cells + 1, stop) - np.maximum(cells, start), 0, 1)
    return result


def _number(chain: _Chain, text: str | None, axis: int, *, at: bool = False) -> float | None:
    """A length or place of a primitive, user units."""
    if text is None:
        return None
    base = 1.0 if chain.by_box else chain.here.viewport[axis]
    value = length_px(text, percent_of=base, font_size_px=chain.here.style.font_size_px)
    if value is None or not chain.by_box or chain.bounds is None:
        return value
    side = chain.bounds[axis + 2] - chain.bounds[axis]
    return chain.bounds[axis] + value * side if at else value * side


def _cells_of(chain: _Chain, values: list[float]) -> tuple[float, float]:
    """A pair of lengths (one stands for both) in cells."""
    across, down = (values[0], values[-1]) if values else (0.0, 0.0)
    if chain.by_box and chain.bounds is not None:
        x0, y0, x1, y1 = chain.bounds
        across, down = across * (x1 - x0), down * (y1 - y0)
    return across / chain.cell[0], down / chain.cell[1]


def _done(chain: _Chain, step: Node) -> Floats:
    """What one primitive leaves, in sRGB."""
    linear = chain.linear_everywhere
    if linear is None:
        linear = chain.bench.styles.standing(step).values["color-interpolation-filters"] != "sRGB"
    into: Callable[[Floats], Floats] = images.to_linear if linear else _as_it_is
    out: Callable[[Floats], Floats] = images.to_srgb if linear else _as_it_is
    first = into(_taken(chain, step))
    attributes, tag = step.attributes, step.tag
    if tag == "feGaussianBlur":
        values = number_list(attributes.get("stdDeviation", "0"))
        if not values or min(values) < 0 or len(values) > 2:
            return out(first)
        return out(images.blurred(first, *_cells_of(chain, values)))
    if tag == "feOffset":
        dx, dy = _offset(chain, step, "0")
        return out(images.moved(first, dx, dy))
    if tag == "feFlood":
        return images.flooded(chain.cells, _flood(chain, step))
    if tag == "feMerge":
        result = np.zeros_like(first)
        for one in step.children:
            if one.tag == "feMergeNode":
                result = images.over(into(_taken(chain, one)), result)
        return out(result)
    if tag == "feColorMatrix":
        matrix = images.colour_matrix(attributes.get("type", "matrix"), number_list(attributes.get("values", "")))
        return out(first) if matrix is None else out(images.recoloured(first, matrix))
    if tag == "feComponentTransfer":
        return out(images.transferred(first, _functions(step)))
    if tag == "feMorphology":
        values = number_list(attributes.get("radius", "0"))
        radius = _cells_of(chain, values)
        if not values or min(values) < 0 or max(radius) <= 0 or (min(values) == 0 and len(values) > 1):
            return out(first)
        return out(images.grown(first, *radius, shrink=attributes.get("operator", "erode") != "dilate"))
    if tag == "feDropShadow":
        values = number_list(attributes.get("stdDeviation", "2"))
        dx, dy = _offset(chain, step, "2")
        blurry = images.blurred(
            images.only_alpha(first), *_cells_of(chain, values if min(values, default=0) >= 0 else [])
        )
        shadow = into(images.flooded(chain.cells, _flood(chain, step))) * images.moved(blurry, dx, dy)[..., 3:]
        return out(images.over(first, shadow))
    second = into(_taken(chain, step, "in2"))
    if tag == "feComposite":
        k1, k2, k3, k4 = ((number_list(attributes.get(name, "0")) or [0.0])[0] for name in ("k1", "k2", "k3", "k4"))
        return out(images.composited(first, second, attributes.get("operator", "over"), (k1, k2, k3, k4)))
    return out(images.blended(first, second, attributes.get("mode", "normal")))


def _as_it_is(picture: Floats) -> Floats:
    return picture


def _offset(chain: _Chain, step: Node, default: str) -> tuple[float, float]:
    dx, dy = ((number_list(step.attributes.get(name, default)) or [0.0])[0] for name in ("dx", "dy"))
    if chain.by_box and chain.bounds is not None:
        x0, y0, x1, y1 = chain.bounds
        dx, dy = dx * (x1 - x0), dy * (y1 - y0)
    return dx / chain.cell[0], dy / chain.cell[1]


def _flood(chain: _Chain, step: Node) -> Rgba:
    """flood-color and flood-opacity."""
    style = chain.bench.styles.standing(step) if step.parent is not None else chain.here.style
    text = step.attributes.get("flood-color", "black") if step.parent is None else style.get("flood-color")
    colour = style.colour if text.lower() == "currentcolor" else parse_colour(text) or BLACK
    opacity = opacity_value(style.get("flood-opacity")) if step.parent is not None else 1.0
    return (*colour[:3], colour[3] * opacity)


def _functions(step: Node) -> tuple[Callable[[Floats], Floats] | None, ...]:
    """The functions of an feComponentTransfer for red, green, blue and alpha."""
    by_tag = {child.tag: child for child in step.children}
    return tuple(_function(by_tag.get(f"feFunc{channel}")) for channel in "RGBA")


def _function(node: Node | None) -> Callable[[Floats], Floats] | None:
    if node is None:
        return None

    def number(name: str, default: float) -> float:
        return (number_list(node.attributes.get(name, "")) or [default])[0]

    kind, values = node.attributes.get("type", "identity"), number_list(node.attributes.get("tableValues", ""))
    if kind == "linear":
        slope, intercept = number("slope", 1.0), number("intercept", 0.0)
        return lambda part: slope * part + intercept
    if kind == "gamma":
        amplitude, exponent, shift = number("amplitude", 1.0), number("exponent", 1.0), number("offset", 0.0)
        return lambda part: amplitude * np.power(part, exponent) + shift
    if kind == "table" and values:
        places = np.linspace(0, 1, len(values)) if len(values) > 1 else np.zeros(1)
        return lambda part: np.interp(part, places, values)
    if kind == "discrete" and values:
        steps = np.array(values)
        return lambda part: steps[np.minimum((part * len(steps)).astype(int), len(steps) - 1)]
    return None
