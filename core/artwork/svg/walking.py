"""The walk over the tree: who is drawn, where, how, and behind which clips. No recursion: a stack of visits."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import ReadOptions
from core.artwork.svg.blurring import blur_of, blurred
from core.artwork.svg.cascade import Cascade
from core.artwork.svg.clipping import box_region, property_clip
from core.artwork.svg.colours import Paint, hex_colour, url_target
from core.artwork.svg.context import Context
from core.artwork.svg.deciding import painted_parts, rough_bounds
from core.artwork.svg.document import Document, Node
from core.artwork.svg.drawn import Blur, Bounds, Drawn, Ink, Layer, intersected
from core.artwork.svg.findings import Findings
from core.artwork.svg.gradients import gradient_ink
from core.artwork.svg.limits import (
    BLUR_COST,
    MAX_BLURRED_SEGMENTS,
    MAX_COORDINATE_MM,
    MAX_COPIES,
    MAX_REGION_SEGMENTS,
    MAX_SEGMENTS,
    MAX_USE_DEPTH,
    REGION_COST,
    TooMuchError,
)
from core.artwork.svg.markers import has_markers, marker_visits
from core.artwork.svg.masking import property_mask
from core.artwork.svg.outlines import BASIC_SHAPES, Outlines
from core.artwork.svg.patterns import pattern_ink
from core.artwork.svg.pens import pen_of, too_many_dashes
from core.artwork.svg.references import fits_bounds
from core.artwork.svg.styles import Style, Styles, initial_style
from core.artwork.svg.text import draw_text
from core.artwork.svg.values import length_px, parse_transform, parse_view_box, view_box_matrix
from core.errors import UnreadableError
from core.geometry.affine import IDENTITY, Affine, apply, compose, determinant, translation
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import EMPTY, Path
from core.geometry.stroke import Stroke
from core.progress import Progress, silent

_CONTAINERS = frozenset({"g", "a", "svg", "switch"})
_DRAWN = BASIC_SHAPES | _CONTAINERS | {"use", "text", "image"}
_NEVER_DRAWN = frozenset({
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter", "metadata",
    "title", "desc", "style", "stop", "view", "cursor", "font", "font-face", "color-profile", "solidColor",
    "meshgradient", "hatch",
})  # fmt: skip
_PAINT_SERVERS = frozenset({"linearGradient", "radialGradient", "pattern"})
_INVISIBLE = 1 / 512
"""An opacity that renderers round to nothing."""

_LANGUAGES = ("en",)

_FEATURES = ("http://www.w3.org/TR/SVG11/feature#", "org.w3c.svg", "org.w3c.dom.svg")
"""How the names of SVG 1.1's own features begin (SVG 1.1, appendix K)."""


Sink = Callable[[Drawn], None]


class Walker:
    """Walks (parts of) one document and hands every drawn outline to a sink."""

    def __init__(
        self, document: Document, findings: Findings, options: ReadOptions, *, progress: Progress = silent
    ) -> None:
        self.document = document
        self.findings = findings
        self.options = options
        self.cascade = Cascade(document)
        self.styles = Styles(self.cascade, document.root)
        self.outlines = Outlines(self.styles)
        self._progress = progress
        self.mm_per_px = 25.4 / 96
        self.marker_count = 0
        self._visits = 0
        self._segments = 0
        self._region_segments = 0
        self._blurred_segments = 0
        self._styles_of: dict[int, Style] = {}
        self.cache: dict[tuple[object, ...], object] = {}
        """For what other modules work out once and need again."""

    # -- the walk

    def walk(self, nodes: list[Node], context: Context, sink: Sink) -> None:
        """Visit the nodes and all below them in painting order."""
        self._walk_stack([(node, context) for node in reversed(nodes)], sink)

    def _walk_stack(self, stack: list[tuple[Node, Context]], sink: Sink) -> None:
        with np.errstate(all="ignore"):
            while stack:
                node, here = stack.pop()
                self.count_visit()
                below = self._guarded_visit(node, here, sink)
                if below:
                    stack.extend(reversed(below))

    def count_visit(self) -> None:
        """Count one element met. Raises TooMuchError past the bound."""
        self._visits += 1
        if self._visits > 2 * self.document.element_count + MAX_COPIES:
            raise TooMuchError(
                f"The SVG file shows copies of its parts more than {MAX_COPIES:,} times.",
                hint="Expand its copies where the artwork was made, or simplify it.",
            )
        if self._visits % 256 == 0:
            share = self._visits / max(self.document.element_count, self._visits + 1)
            self._progress(0.2 + 0.8 * share, "Reading the artwork")

    def _guarded_visit(self, node: Node, here: Context, sink: Sink) -> list[tuple[Node, Context]]:
        """One element; a fault in it is a finding and costs that element only."""
        try:
            return self._visit(node, here, sink)
        except TooMuchError:
            raise
        except UnreadableError as fault:
            self.findings.add("element-unreadable", f"{node.name_for_people()} was left out: {fault.message}")
            return []
        except (
            ArithmeticError,
            ValueError,
            IndexError,
            KeyError,
            TypeError,
            AttributeError,
            shapely.errors.ShapelyError,
        ) as fault:
            self.findings.add(
                "element-unreadable",
                f"{node.name_for_people()} could not be read and was left out ({type(fault).__name__}).",
            )
            return []

    def _visit(self, node: Node, here: Context, sink: Sink) -> list[tuple[Node, Context]]:
        tag = node.tag
        if tag in _NEVER_DRAWN:
            return []
        if tag not in _DRAWN:
            self._unknown(node)
            return []
        if not self.condition_holds(node):
            return []
        entered = self.entered(node, here)
        return self._content(node, entered, sink) if entered is not None else []

    def _content(self, node: Node, entered: Context, sink: Sink) -> list[tuple[Node, Context]]:
        """Draw the element itself; what is still to be visited below it comes back. ``entered`` is inside it."""
        tag = node.tag
        if tag in BASIC_SHAPES:
            return self._draw_outline(node, entered, sink)
        if tag == "use":
            return self.used(node, entered)
        if tag == "switch":
            chosen = next(
                (child for child in node.children if child.tag in _DRAWN and self.condition_holds(child)), None
            )
            return [(chosen, entered)] if chosen is not None else []
        if tag == "text":
            draw_text(self, node, entered, sink)
            return []
        if tag == "image":
            self._image(node, entered)
            return []
        return [(child, entered) for child in node.children]

    def entered(self, node: Node, here: Context, *, use: Node | None = None) -> Context | None:
        """The context inside an element: its style, transform, viewport, opacity, clip and mask. None: nothing
        shows. ``use`` is what refers to a symbol or svg."""
        style = self.styles.computed(node, here.style)
        own = style.own
        if own and own.get("display") == "none":
            return None
        matrix, opacity, layers = here.matrix, here.opacity, here.layers
        text = self.styles.transform_text(node)
        if text is not None:
            own_matrix = self._own_transform(node, text, style, here)
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
                self.findings.add(
                    "transparent", "Parts of the artwork are wholly transparent and were left out.", severity="note"
                )
                return None
        if style is here.style and matrix is here.matrix and not own and node.tag in BASIC_SHAPES:
            return here
        layer, names = here.source_layer, here.names
        if node.tag in _CONTAINERS and node.parent is not None:
            layer = _layer_name(node) or layer or (node.id if node.parent is self.document.root else "")
            names = (*names, *names_of(node))
        inside = here._replace(
            style=style, matrix=matrix, opacity=opacity, layers=layers, source_layer=layer, names=names
        )
        if node.tag == "use":
            dx = self.outlines.x(node, "x", style, here.viewport)
            dy = self.outlines.y(node, "y", style, here.viewport)
            inside = inside._replace(matrix=compose(matrix, translation(dx, dy)))
        elif node.tag in ("svg", "symbol") and node.parent is not None:
            in_viewport = self._in_viewport(node, inside, use)
            if in_viewport is None:
                return None
            inside = in_viewport
        if own and not here.measuring:
            return self._behind_clip_and_mask(node, inside)
        return inside

    def _behind_clip_and_mask(self, node: Node, inside: Context) -> Context | None:
        own = inside.style.own
        if "clip-path" in own:
            clip = intersected(inside.clip, property_clip(self, node, inside))
            if clip is not None and clip.is_empty:
                return None
            inside = inside._replace(clip=clip)
        if "mask" in own:
            mask = property_mask(self, node, inside)
            if mask is not None:
                inside = inside._replace(masks=(*inside.masks, mask), layers=(*inside.layers, Layer(mask=mask)))
        if own.get("filter", "none") != "none":
            return self._filtered(node, inside)
        return inside

    def _filtered(self, node: Node, inside: Context) -> Context | None:
        """Filters are not drawn: what has one is drawn without it, or not at all where renderers show nothing."""
        value = inside.style.own["filter"]
        if not value.startswith("url("):
            self.findings.add("filter", f"{node.name_for_people()} has a filter effect; it was drawn without it.")
            return inside
        target = self.document.by_id.get(url_target(value) or "")
        if target is None or target.tag != "filter" or not target.children:
            self.findings.add(
                "bad-filter",
                f"{node.name_for_people()} has a filter “{value[:60]}” that is missing or empty; it was left out.",
            )
            return None
        blur = blur_of(self, target, node, inside)
        if blur is not None:
            self.findings.add(
                "blur", "What is blurred was read as painted where it is more than half opaque.", severity="note"
            )
            return inside._replace(blur=blur)
        self.findings.add("filter", f"{node.name_for_people()} has a filter effect; it was drawn without it.")
        return inside

    def condition_holds(self, node: Node) -> bool:
        """The conditional attributes (SVG 2, 5.9)."""
        attributes = node.attributes
        if "requiredExtensions" in attributes and node.tag != "svg":
            return False
        features = attributes.get("requiredFeatures")
        if features is not None and not all(one.startswith(_FEATURES) for one in features.split() or [""]):
            return False
        languages = attributes.get("systemLanguage")
        if languages is None:
            return True
        return any(
            one.strip().lower() == wanted or one.strip().lower().startswith(wanted + "-")
            for one in languages.split(",")
            for wanted in _LANGUAGES
        )

    def _own_transform(self, node: Node, text: str, style: Style, here: Context) -> Affine | None:
        matrix = parse_transform(text, style.font_size_px)
        if matrix is None:
            self.findings.add(
                "bad-transform",
                f"{node.name_for_people()} has a transform that makes no sense; it was left out of account.",
            )
            return None
        origin = style.own.get("transform-origin")
        if origin and matrix != IDENTITY:
            x, y = transform_origin(origin, self._reference_box(node, style, here), style.font_size_px)
            matrix = compose(compose(translation(x, y), matrix), translation(-x, -y))
        return matrix

    def _reference_box(self, node: Node, style: Style, here: Context) -> tuple[float, float, float, float]:
        """x, y, width, height of what the percentages of a transform refer to (CSS Transforms 1, 8)."""
        if style.own.get("transform-box") in ("fill-box", "content-box", "stroke-box"):
            bounds = self.bounds_of(node, here._replace(style=style))
            if bounds is not None:
                return (bounds[0], bounds[1], bounds[2] - bounds[0], bounds[3] - bounds[1])
        return (0.0, 0.0, *here.viewport)

    # -- structure

    def used(self, node: Node, here: Context) -> list[tuple[Node, Context]]:
        """What a ``use`` shows. ``here`` is the context inside it."""
        target = self.referenced(node)
        if target is None:
            return []
        if target in here.uses or _is_ancestor(target, node) or here.depth >= MAX_USE_DEPTH:
            self.findings.add("use-loop", f"{node.name_for_people()} shows itself again and again; it was left out.")
            return []
        inner = here._replace(
            uses=(*here.uses, target),
            depth=here.depth + 1,
            label=here.label or _label(node),
            names=(*here.names, *names_of(node)),
            origin=here.origin or node,
            outer=self._paints_of_use(node, here),
        )
        if target.tag in ("symbol", "svg"):
            if not self.condition_holds(target):
                return []
            entered = self.entered(target, inner, use=node)
            return [(child, entered) for child in target.children] if entered is not None else []
        return [(target, inner)]

    def _paints_of_use(self, node: Node, here: Context) -> tuple[Ink | None, Ink | None]:
        """What context-fill and context-stroke mean in what a ``use`` shows (SVG 2, 13.2)."""
        style = here.style
        if here.measuring or style.fill.server is not None or style.stroke.server is not None:
            return here.outer
        return (
            self.ink(style.fill, style.fill_opacity, here, EMPTY),
            self.ink(style.stroke, style.stroke_opacity, here, EMPTY),
        )

    def referenced(self, node: Node) -> Node | None:
        """The element that ``href`` names, if it is in this file."""
        href = node.attributes.get("href", "").strip()
        if not href.startswith("#"):
            if href:
                self.findings.add(
                    "outside-reference",
                    f"{node.name_for_people()} shows something from another file, which was not fetched.",
                )
            return None
        target = self.document.by_id.get(href[1:])
        if target is None:
            self.findings.add(
                "missing-reference", f"{node.name_for_people()} shows “{href[:60]}”, which is not in the file."
            )
        return target

    def _in_viewport(self, node: Node, here: Context, use: Node | None) -> Context | None:
        """Inside the viewport of a nested svg or a used symbol; None where that has no size."""

        def size(axis: int, name: str) -> float:
            measure = self.outlines.x if axis == 0 else self.outlines.y
            if (
                use is not None
                and self.outlines.length(use, name, here.style, here.viewport, here.viewport[axis]) is not None
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
            dx = self.outlines.x(node, "x", here.style, here.viewport)
            dy = self.outlines.y(node, "y", here.style, here.viewport)
            matrix = compose(matrix, translation(dx, dy))
        clip = here.clip
        if here.style.own.get("overflow", "hidden") not in ("visible", "auto"):
            clip = intersected(clip, box_region(matrix, (0.0, 0.0, width, height)))
        viewport = (width, height)
        view_box = parse_view_box(node.attributes.get("viewBox"))
        if view_box is not None:
            matrix = compose(
                matrix, view_box_matrix(view_box, width, height, node.attributes.get("preserveAspectRatio"))
            )
            viewport = view_box[2:]
        return here._replace(matrix=matrix, clip=clip, viewport=viewport)

    # -- drawing

    def _draw_outline(self, node: Node, here: Context, sink: Sink) -> list[tuple[Node, Context]]:
        style = here.style

        def complain(code: str, what: str) -> None:
            self.findings.add(code, f"{node.name_for_people()} {what}.", place_mm=_place(here.matrix))

        path = self.outlines.path(node, style, here.viewport, complain)
        if not len(path) or not (style.visible or here.measuring):
            return []
        self.draw_path(node, path, here, sink)
        if has_markers(here) and not here.measuring and not any(one.tag == "marker" for one in here.uses):
            pen = self.pen(here, "")
            paints = (
                self.ink(style.fill, style.fill_opacity, here, path),
                self.ink(style.stroke, style.stroke_opacity, here, path),
            )
            return marker_visits(self, path, here, pen.width if pen else 0.0, paints)
        return []

    def draw_path(
        self, node: Node, path: Path, here: Context, sink: Sink, *, bounds: Bounds | None = None, is_text: bool = False
    ) -> None:
        """Hand one outline in user units to the sink, with its paints. ``bounds`` are those of the whole element
        where the outline is only a part of it."""
        style = here.style
        self._segments += len(path)
        if self._segments > MAX_SEGMENTS:
            raise TooMuchError(f"The artwork has more than {MAX_SEGMENTS:,} segments.", hint="Simplify its outlines.")
        if here.measuring:
            sink(Drawn(kind=node.tag, label="", source_layer="", path=path.transformed(here.matrix)))
            return
        fill = self.ink(style.fill, style.fill_opacity, here, path, bounds)
        stroke = self.ink(style.stroke, style.stroke_opacity, here, path, bounds)
        pen = self.pen(here, hex_colour(stroke.colour)) if stroke is not None else None
        if pen is not None and too_many_dashes(path, pen.dashes):
            self.findings.add(
                "too-many-dashes", f"{node.name_for_people()} has too many dashes; it was drawn with a solid line."
            )
            pen = replace(pen, dashes=())
        zero_width = stroke is not None and pen is None and fill is None
        if stroke is not None and zero_width:
            pen = Stroke(colour=hex_colour(stroke.colour), width=0.0, width_mm=0.0)
        if fill is None and pen is None:
            return
        in_mm = path.transformed(here.matrix)
        if not _within_reach(in_mm):
            self.findings.add(
                "out-of-range",
                f"{node.name_for_people()} reaches farther than any sheet (or is not finite) and was left out.",
            )
            return
        drawn = Drawn(
            kind=node.tag,
            label=here.label or _label(node),
            source_layer=here.source_layer,
            path=in_mm,
            fill_rule="evenodd" if style.values["fill-rule"] == "evenodd" and not is_text else "nonzero",
            fill=fill,
            stroke=stroke if pen is not None else None,
            pen=pen,
            opacity=here.opacity,
            layers=here.layers,
            clip=here.clip,
            masks=here.masks,
            names=(*here.names, *names_of(node)),
            source_id=(here.origin or node).id,
            is_text=is_text,
            zero_width=zero_width,
            origin=here.origin or node,
        )
        for one in self._blurred(drawn, here.blur):
            sink(one)

    def _blurred(self, drawn: Drawn, blur: Blur | None) -> list[Drawn]:
        if blur is None or drawn.zero_width:
            return [drawn]
        self._blurred_segments += len(drawn.path) + BLUR_COST
        if self._blurred_segments > MAX_BLURRED_SEGMENTS:
            self.findings.add("too-much-blur", "The artwork has very many blurred parts; the last were drawn sharp.")
            return [drawn]
        self._progress(0.5, "Working out blurred paint")
        return blurred(drawn, blur, self.options.tolerance_mm)

    def pen(self, here: Context, colour: str) -> Stroke | None:
        """The stroke's geometry; None where it has no width."""
        return pen_of(here, colour, root_font_size_px=self.styles.root_font_size_px, mm_per_px=self.mm_per_px)

    def ink(self, paint: Paint, opacity: float, here: Context, path: Path, bounds: Bounds | None = None) -> Ink | None:
        """What a paint comes to on this path, None for none."""
        if paint.context:
            return here.outer[0 if paint.context == "fill" else 1]
        if paint.server is not None:
            server = self.document.by_id.get(paint.server[1:])
            if server is None or server.tag not in _PAINT_SERVERS:
                self.findings.add("missing-paint", f"The paint “{paint.server[:60]}” is not in the file.")
            else:
                box = bounds or tight_bounds(path)
                if not (fits_bounds(self, server) and (box[0] >= box[2] or box[1] >= box[3])):
                    make = pattern_ink if server.tag == "pattern" else gradient_ink
                    ink = make(self, server, opacity, here, box)
                    if ink is not None or not paint.has_fallback:
                        return ink
        colour = here.style.colour if paint.current else paint.colour
        if colour is None:
            return None
        return Ink(colour=(*colour[:3], colour[3] * opacity))

    def _image(self, node: Node, here: Context) -> None:
        width = self.outlines.x(node, "width", here.style, here.viewport)
        height = self.outlines.y(node, "height", here.style, here.viewport)
        x, y = (
            self.outlines.x(node, "x", here.style, here.viewport),
            self.outlines.y(node, "y", here.style, here.viewport),
        )
        corners = apply(here.matrix, np.array([[x, y], [x + width, y + height]]))
        wide, high = np.abs(corners[1] - corners[0])
        self.findings.add(
            "image",
            f"{node.name_for_people()} is a picture made of dots, {wide:.1f} x {high:.1f} mm; it was left out.",
            place_mm=(float(corners[0, 0]), float(corners[0, 1])),
        )

    def _unknown(self, node: Node) -> None:
        tag = node.tag
        if tag == "script":
            self.findings.add("script", "The file holds a script; it was not run.", severity="note")
        elif tag == "foreignObject":
            self.findings.add(
                "foreign-object", f"{node.name_for_people()} holds something that is not SVG; it was left out."
            )
        elif tag in ("animate", "animateMotion", "animateTransform", "animateColor", "set", "discard"):
            self.findings.add("animation", "The artwork moves; it was read as it stands at the start.", severity="note")
        elif not tag.startswith("{"):
            self.findings.add("unknown-element", f"<{tag[:40]}> is not known here; it was left out.", severity="note")

    # -- what the other modules ask of the walk

    def root_context(self, matrix: Affine, viewport: tuple[float, float]) -> Context:
        """The context outside the root element."""
        return Context(style=initial_style(), matrix=matrix, viewport=viewport)

    def style_of(self, node: Node) -> Style:
        """The style of an element where it stands in the file."""
        above: list[Node] = []
        step: Node | None = node
        while step is not None and id(step) not in self._styles_of:
            above.append(step)
            step = step.parent
        style = self._styles_of[id(step)] if step is not None else initial_style()
        for one in reversed(above):
            style = self._styles_of[id(one)] = self.styles.computed(one, style)
        return style

    def fresh_context(self, node: Node, here: Context, *, drawn_with_it: bool = False) -> Context:
        """The context inside a clip, mask, pattern or marker: styled by where it stands in the file, in the user
        space of what refers to it; behind that one's clip and opacity only where it is drawn with it."""
        inside = here._replace(style=self.style_of(node), depth=here.depth + 1, uses=(*here.uses, node))
        return (
            inside
            if drawn_with_it
            else inside._replace(opacity=1.0, layers=(), clip=None, masks=(), blur=None, measuring=False)
        )

    def bounds_of(self, node: Node, here: Context) -> Bounds | None:
        """Bounds of an element's outlines in its user space (SVG 2, 8.10), None where it has none. ``here`` is the
        context inside it."""
        paths = self.measured(node, here._replace(matrix=IDENTITY))
        boxes = [tight_bounds(path) for path in paths]
        if not boxes:
            return None
        low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
        return (float(low[0]), float(low[1]), float(high[2]), float(high[3]))

    def measured(self, node: Node, here: Context) -> list[Path]:
        """All outlines in an element, through ``here.matrix``. ``here`` is the context inside it."""
        paths: list[Path] = []
        inside = here._replace(measuring=True, clip=None, masks=(), opacity=1.0)

        def keep(drawn: Drawn) -> None:
            paths.append(drawn.path)

        self._walk_stack(list(reversed(self._content(node, inside, keep))), keep)
        return paths

    def parts_of(self, drawn: Drawn) -> list[tuple[BaseGeometry, Ink]]:
        """The regions (mm) that fill and stroke of an outline paint, however faintly, each of one colour."""
        self.spend(len(drawn.path))
        return painted_parts(drawn, self.options.tolerance_mm)

    def spend(self, segments: int) -> None:
        """Count segments that regions are computed from. Raises TooMuchError past the bound."""
        self._region_segments += segments + REGION_COST
        if self._region_segments > MAX_REGION_SEGMENTS:
            raise TooMuchError(
                "The clips, masks and patterns of the SVG file ask for too much work.",
                hint="Apply them where the artwork was made and export it again.",
            )
        self._progress(0.5, "Working out clips and masks")


def transform_origin(text: str, box: tuple[float, float, float, float], font_size_px: float) -> tuple[float, float]:
    """The point that a transform turns about, in user units; ``box`` is x, y, width, height."""
    words = text.split()
    keywords = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
    if (words and words[0] in ("top", "bottom")) or (len(words) > 1 and words[1] in ("left", "right")):
        words[:2] = [words[1], words[0]] if len(words) > 1 else ["center", words[0]]
    words = [keywords.get(word, word) for word in words]
    if len(words) == 1:
        words.append("50%")
    result = []
    for axis, word in enumerate(words[:2]):
        value = length_px(word, percent_of=box[2 + axis], font_size_px=font_size_px)
        if value is None:
            return (box[0], box[1])
        result.append(box[axis] + value)
    return (result[0], result[1])


def _layer_name(node: Node) -> str:
    if node.attributes.get(":groupmode") == "layer":
        return node.attributes.get(":label") or node.id
    return ""


def names_of(node: Node) -> tuple[str, ...]:
    """What an element is called: its label, title, id and classes."""
    attributes = node.attributes
    names = [attributes.get(":label", ""), node.id, *attributes.get("class", "").split()]
    names += [child.text().strip()[:80] for child in node.children if child.tag == "title"]
    return tuple(dict.fromkeys(name for name in names if name))


def _label(node: Node) -> str:
    for child in node.children:
        if child.tag == "title":
            return child.text().strip()[:80] or node.id
    return node.id


def _is_ancestor(one: Node, node: Node) -> bool:
    step: Node | None = node
    for _ in range(2000):
        if step is None:
            return False
        if step is one:
            return True
        step = step.parent
    return False


def tight_bounds(path: Path) -> Bounds:
    """Bounds of a path, near enough for what is fitted to them."""
    x0, y0, x1, y1 = rough_bounds(path)
    return path_bounds_mm(path, max(x1 - x0, y1 - y0, 1e-9) / 4000)


def _within_reach(path: Path) -> bool:
    """Whether all numbers of a path are finite and no larger than ``MAX_COORDINATE_MM``."""
    segments = path.segments
    if np.vdot(segments, segments) <= MAX_COORDINATE_MM**2:  # quicker, and true for all but strange artwork
        return True
    return bool(np.abs(segments).max() <= MAX_COORDINATE_MM)


def _place(matrix: Affine) -> tuple[float, float] | None:
    x, y = apply(matrix, np.zeros(2))
    return (float(x), float(y)) if math.isfinite(x + y) else None
