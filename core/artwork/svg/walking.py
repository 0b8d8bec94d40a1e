"""The walk over the tree: who is drawn, where, how, and behind which clips. No recursion: a stack of visits."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.affine import IDENTITY, Affine, apply, compose, determinant, mean_scale, scaling, translation
from core.artwork.drawing import ReadOptions, Stroke
from core.artwork.flattening import path_bounds_mm
from core.artwork.path import Path
from core.artwork.svg.cascade import Cascade
from core.artwork.svg.colours import Paint, hex_colour
from core.artwork.svg.document import Document, Node
from core.artwork.svg.drawn import Drawn, Ink
from core.artwork.svg.findings import Findings
from core.artwork.svg.limits import MAX_COORDINATE_MM, MAX_INSTANCES, MAX_SEGMENTS, MAX_USE_DEPTH
from core.artwork.svg.outlines import BASIC_SHAPES, Outlines
from core.artwork.svg.styles import Style, Styles, initial_style
from core.artwork.svg.values import diagonal, length_px, parse_transform, parse_view_box, split_length, view_box_matrix
from core.errors import UnreadableError
from core.progress import Progress, silent

_CONTAINERS = frozenset({"g", "a", "svg", "switch"})
_NEVER_DRAWN = frozenset({
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter", "metadata",
    "title", "desc", "style", "stop", "view", "cursor", "font", "font-face", "color-profile", "solidColor",
    "meshgradient", "hatch",
})  # fmt: skip
_LANGUAGES = ("en",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What an element inherits from where it stands."""

    style: Style
    matrix: Affine
    """User units to mm."""
    viewport: tuple[float, float]
    opacity: float = 1.0
    clip: BaseGeometry | None = None
    masks: tuple[object, ...] = ()
    source_layer: str = ""
    label: str = ""
    depth: int = 0
    uses: tuple[Node, ...] = ()
    outer: "tuple[Ink | None, Ink | None]" = (None, None)
    """What context-fill and context-stroke mean."""


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
        self.styles = Styles(self.cascade)
        self.outlines = Outlines(self.styles)
        self._progress = progress
        self._visits = 0
        self._segments = 0

    # -- the walk

    def walk(self, nodes: list[Node], context: Context, sink: Sink) -> None:
        """Visit the nodes and all below them in painting order."""
        stack: list[tuple[Node, Context]] = [(node, context) for node in reversed(nodes)]
        while stack:
            node, here = stack.pop()
            self._count_visit()
            below = self._guarded_visit(node, here, sink)
            stack.extend(reversed(below))

    def _count_visit(self) -> None:
        self._visits += 1
        if self._visits > MAX_INSTANCES:
            raise UnreadableError(
                f"The SVG file repeats its parts more than {MAX_INSTANCES:,} times.",
                hint="Expand its copies where the artwork was made, or simplify it.",
            )
        if self._visits % 256 == 0:
            share = self._visits / max(self.document.element_count, self._visits + 1)
            self._progress(0.2 + 0.8 * share, "Reading the artwork")

    def _guarded_visit(self, node: Node, here: Context, sink: Sink) -> list[tuple[Node, Context]]:
        """One element; a fault in it is a finding and costs that element only."""
        try:
            with np.errstate(all="ignore"):
                return self._visit(node, here, sink)
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
        if tag not in BASIC_SHAPES and tag not in _CONTAINERS and tag not in ("use", "text", "image"):
            self._unknown(node)
            return []
        if not self.condition_holds(node):
            return []
        entered = self.entered(node, here)
        if entered is None:
            return []
        if tag in BASIC_SHAPES:
            self._draw_outline(node, entered, sink)
            return []
        if tag == "use":
            return self._used(node, entered)
        if tag == "svg":
            return self._inner_svg(node, entered, None)
        if tag == "switch":
            chosen = next(
                (child for child in node.children if child.tag[0] != "{" and self.condition_holds(child)), None
            )
            return [(chosen, entered)] if chosen is not None else []
        if tag == "text":
            self.findings.add("text", f"{node.name_for_people()} is text and is not drawn yet.")
            return []
        if tag == "image":
            self._image(node, entered)
            return []
        return [(child, entered) for child in node.children]

    def entered(self, node: Node, here: Context) -> Context | None:
        """The context inside an element: its style, transform, opacity, clip and mask. None: nothing shows."""
        style = self.styles.computed(node, here.style)
        own = style.own
        if own and own.get("display") == "none":
            return None
        matrix, opacity = here.matrix, here.opacity
        text = self.styles.transform_text(node)
        if text is not None:
            own_matrix = self._own_transform(node, text, style, here)
            if own_matrix is not None:
                matrix = compose(matrix, own_matrix)
                if determinant(matrix) == 0.0:
                    return None
        if own and "opacity" in own:
            opacity *= style.opacity
            if opacity == 0.0:
                self.findings.add(
                    "transparent", "Parts of the artwork are wholly transparent and were left out.", severity="note"
                )
                return None
        if style is here.style and matrix is here.matrix and node.tag in BASIC_SHAPES:
            return here
        layer = here.source_layer
        if node.tag in _CONTAINERS and node.parent is not None:
            layer = _layer_name(node) or layer or (node.id if node.parent is self.document.root else "")
        return replace(here, style=style, matrix=matrix, opacity=opacity, source_layer=layer)

    def condition_holds(self, node: Node) -> bool:
        """The conditional attributes (SVG 2, 5.9)."""
        attributes = node.attributes
        if "requiredExtensions" in attributes and node.tag != "svg":
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
            x, y = transform_origin(origin, (0.0, 0.0, *here.viewport), style.font_size_px)
            matrix = compose(compose(translation(x, y), matrix), translation(-x, -y))
        return matrix

    # -- structure

    def _used(self, node: Node, here: Context) -> list[tuple[Node, Context]]:
        target = self.referenced(node)
        if target is None:
            return []
        if target in here.uses or _is_ancestor(target, node) or here.depth >= MAX_USE_DEPTH:
            self.findings.add("use-loop", f"{node.name_for_people()} shows itself again and again; it was left out.")
            return []
        dx = self.outlines.x(node, "x", here.style, here.viewport)
        dy = self.outlines.y(node, "y", here.style, here.viewport)
        inner = replace(
            here, matrix=compose(here.matrix, translation(dx, dy)), uses=(*here.uses, target), depth=here.depth + 1,
            label=here.label or _label(node),
        )  # fmt: skip
        if target.tag in ("symbol", "svg"):
            if not self.condition_holds(target):
                return []
            entered = self.entered(target, inner)
            return self._inner_svg(target, entered, node) if entered is not None else []
        return [(target, inner)]

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

    def _inner_svg(self, node: Node, here: Context, use: Node | None) -> list[tuple[Node, Context]]:
        """A nested svg or a used symbol: a viewport of its own."""

        def size(axis: int, name: str) -> float:
            measure = self.outlines.x if axis == 0 else self.outlines.y
            if (
                use is not None
                and self.outlines.length(use, name, here.style, here.viewport, here.viewport[axis]) is not None
            ):
                return measure(use, name, here.style, here.viewport)
            if node.tag == "symbol":
                return here.viewport[axis]
            return measure(node, name, here.style, here.viewport, here.viewport[axis])

        width, height = size(0, "width"), size(1, "height")
        if width <= 0 or height <= 0:
            return []
        matrix = here.matrix
        if node.tag == "svg":
            dx = self.outlines.x(node, "x", here.style, here.viewport)
            dy = self.outlines.y(node, "y", here.style, here.viewport)
            matrix = compose(matrix, translation(dx, dy))
        clip = here.clip
        if here.style.own.get("overflow", "hidden") not in ("visible", "auto"):
            clip = intersected(clip, box_region(matrix, 0.0, 0.0, width, height))
        viewport = (width, height)
        view_box = parse_view_box(node.attributes.get("viewBox"))
        if view_box is not None:
            matrix = compose(
                matrix, view_box_matrix(view_box, width, height, node.attributes.get("preserveAspectRatio"))
            )
            viewport = view_box[2:]
        inner = replace(here, matrix=matrix, clip=clip, viewport=viewport)
        return [(child, inner) for child in node.children]

    # -- drawing

    def _draw_outline(self, node: Node, here: Context, sink: Sink) -> None:
        style = here.style
        if not style.visible:
            return

        def complain(code: str, what: str) -> None:
            self.findings.add(code, f"{node.name_for_people()} {what}.", place_mm=_place(here.matrix, path))

        path: Path | None = None
        path = self.outlines.path(node, style, here.viewport, complain)
        if len(path):
            self.draw_path(node, path, here, sink)

    def draw_path(self, node: Node, path: Path, here: Context, sink: Sink, *, kind: str | None = None) -> None:
        """Hand one outline in user units to the sink, with its paints."""
        style = here.style
        fill = self.ink(style.fill, style.fill_opacity, here)
        stroke = self.ink(style.stroke, style.stroke_opacity, here)
        pen = self.pen(here, hex_colour(stroke.colour)) if stroke is not None else None
        if pen is None:
            stroke = None
        if fill is None and stroke is None:
            return
        self._segments += len(path)
        if self._segments > MAX_SEGMENTS:
            raise UnreadableError(
                f"The artwork has more than {MAX_SEGMENTS:,} segments.", hint="Simplify its outlines."
            )
        in_mm = path.transformed(here.matrix)
        largest = np.abs(in_mm.segments).max()
        if not largest <= MAX_COORDINATE_MM:
            self.findings.add(
                "out-of-range",
                f"{node.name_for_people()} reaches farther than any sheet (or is not finite) and was left out.",
            )
            return
        sink(
            Drawn(
                kind=kind or node.tag,
                label=here.label or _label(node),
                source_layer=here.source_layer,
                path=in_mm,
                matrix=here.matrix,
                fill_rule="evenodd" if style.values["fill-rule"] == "evenodd" else "nonzero",
                fill=fill,
                stroke=stroke,
                pen=pen,
                opacity=here.opacity,
                clip=here.clip,
                masks=here.masks,
            )
        )

    def ink(self, paint: Paint, opacity: float, here: Context) -> Ink | None:
        """What a paint comes to, None for none."""
        if paint.context:
            return here.outer[0 if paint.context == "fill" else 1]
        if paint.server is not None:
            self.findings.add("gradient", "Gradients and patterns count as painted all over.", severity="note")
            return Ink(colour=(0.5, 0.5, 0.5, opacity))
        colour = here.style.colour if paint.current else paint.colour
        if colour is None:
            return None
        return Ink(colour=(*colour[:3], colour[3] * opacity))

    def pen(self, here: Context, colour: str) -> Stroke | None:
        """The stroke's geometry; None where it has no width."""
        style = here.style

        def length(text: str) -> float | None:
            return length_px(
                text, percent_of=diagonal(here.viewport), font_size_px=style.font_size_px,
                root_font_size_px=self.styles.root_font_size_px, viewport=here.viewport,
            )  # fmt: skip

        values = style.values
        width = length(values["stroke-width"])
        width = 1.0 if width is None else width
        if width <= 0:
            return None
        matrix = here.matrix
        dashes = _dashes(values["stroke-dasharray"], length)
        offset = length(values["stroke-dashoffset"]) or 0.0
        if style.own.get("vector-effect") == "non-scaling-stroke":
            matrix = scaling(self.px_to_mm, self.px_to_mm)
        limit = split_length(values["stroke-miterlimit"])
        cap, join = values["stroke-linecap"], values["stroke-linejoin"]
        return Stroke(
            colour=colour,
            width=width,
            matrix=matrix,
            cap=cast(Literal["butt", "round", "square"], cap if cap in ("butt", "round", "square") else "butt"),
            join=cast(Literal["miter", "round", "bevel"], join if join in ("round", "bevel") else "miter"),
            miter_limit=limit[0] if limit is not None and limit[0] >= 1 else 4.0,
            dashes=dashes,
            dash_offset=offset,
            width_mm=width * mean_scale(matrix),
        )

    px_to_mm: float = 25.4 / 96

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

    def root_context(self, matrix: Affine, viewport: tuple[float, float]) -> Context:
        """The context outside the root element."""
        return Context(style=initial_style(), matrix=matrix, viewport=viewport)


def box_region(matrix: Affine, x: float, y: float, width: float, height: float) -> BaseGeometry:
    """A rectangle in user units as a region in mm."""
    corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
    return shapely.Polygon(apply(matrix, corners))


def intersected(first: BaseGeometry | None, second: BaseGeometry | None) -> BaseGeometry | None:
    """Both clips at once; None clips nothing."""
    if first is None or second is None:
        return first if second is None else second
    return shapely.intersection(first, second)


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
        result.append(box[axis] + (value or 0.0))
    return (result[0], result[1]) if len(result) == 2 else (0.0, 0.0)


def _dashes(text: str, length: Callable[[str], float | None]) -> tuple[float, ...]:
    if text == "none":
        return ()
    dashes = []
    for word in text.replace(",", " ").split():
        value = length(word)
        if value is None or value < 0:
            return ()
        dashes.append(value)
    if not dashes or not math.isfinite(sum(dashes)) or sum(dashes) <= 0:
        return ()
    return tuple(dashes if len(dashes) % 2 == 0 else dashes * 2)


def _layer_name(node: Node) -> str:
    if node.attributes.get(":groupmode") == "layer":
        return node.attributes.get(":label") or node.id
    return ""


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


def _place(matrix: Affine, path: Path | None) -> tuple[float, float] | None:
    if path is None or not len(path):
        x, y = apply(matrix, np.zeros(2))
        return (float(x), float(y)) if math.isfinite(x + y) else None
    x0, y0, x1, y1 = path_bounds_mm(path.transformed(matrix), 1.0)
    return ((x0 + x1) / 2, (y0 + y1) / 2)
