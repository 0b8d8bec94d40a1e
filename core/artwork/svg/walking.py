"""The walk over the tree: each element to what draws its kind. No recursion: a stack of visits."""

import math

import numpy as np
import shapely

from core.artwork.drawing import ReadOptions
from core.artwork.svg.alike import LEAST, Alike, Crowd, crowds, drawn_together, stands_plainly
from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.context import Context
from core.artwork.svg.document import Document, Node
from core.artwork.svg.drawn import Drawn, intersected
from core.artwork.svg.entering import CONTAINERS, entered
from core.artwork.svg.filters import filtered
from core.artwork.svg.findings import Findings
from core.artwork.svg.images import draw_image
from core.artwork.svg.inks import ink_for, pen_for
from core.artwork.svg.limits import TooMuchError
from core.artwork.svg.markers import has_markers, marker_visits
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.outlining import draw_path
from core.artwork.svg.styles import initial_style
from core.artwork.svg.text import draw_text
from core.artwork.svg.using import used
from core.artwork.svg.workbench import Sink, Workbench
from core.element_faults import note_fault
from core.errors import UnreadableError
from core.geometry.affine import Affine, apply
from core.progress import Progress, silent

_DRAWN = BASIC_SHAPES | CONTAINERS | {"use", "text", "image"}
NEVER_DRAWN = frozenset({
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter", "metadata",
    "title", "desc", "style", "stop", "view", "cursor", "font", "font-face", "color-profile", "solidColor",
    "meshgradient", "hatch",
})  # fmt: skip

_FAULTS = (ArithmeticError, ValueError, LookupError, TypeError, AttributeError, shapely.errors.ShapelyError)
"""What a strange element may come to."""

Visit = tuple[Node, Context] | Crowd | Alike


class SinkOfMany:
    """A sink that takes outlines which look alike together, too."""

    def __call__(self, drawn: Drawn) -> None:
        """Take one outline."""
        raise NotImplementedError

    def take_alike(self, alike: Alike) -> None:
        """Take many outlines."""
        raise NotImplementedError


class Walker:
    """Walks (parts of) one document and hands every drawn outline to a sink."""

    def __init__(
        self, document: Document, findings: Findings, options: ReadOptions, *, progress: Progress = silent
    ) -> None:
        self.bench = Workbench(document, findings, options, progress=progress)
        self.bench.walker = self

    def root_context(self, matrix: Affine, viewport: tuple[float, float]) -> Context:
        """The context outside the root element."""
        return Context(style=initial_style(), matrix=matrix, viewport=viewport)

    def walk(self, nodes: list[Node], context: Context, sink: Sink) -> None:
        """Visit the nodes and all below them in painting order."""
        self._walk_stack(_visits(nodes, context, sink)[::-1], sink)

    def walk_inside(self, node: Node, entered: Context, sink: Sink) -> None:
        """Draw an element and all below it. ``entered`` is the context inside it."""
        self._walk_stack(list(reversed(self._content(node, entered, sink))), sink)

    def entered(self, node: Node, here: Context, *, use: Node | None = None) -> Context | None:
        """The context inside an element; None where nothing of it shows. ``use`` is what refers to a symbol."""
        return entered(self.bench, node, here, use=use)

    def _walk_stack(self, stack: list[Visit], sink: Sink) -> None:
        with np.errstate(all="ignore"):
            while stack:
                visit = stack.pop()
                if isinstance(visit, Crowd):
                    below = self._guarded_crowd(visit)
                elif isinstance(visit, Alike):
                    below = self._take_alike(visit, sink)
                else:
                    self.bench.budget.visit()
                    below = self._guarded_visit(*visit, sink)
                if below:
                    stack.extend(reversed(below))

    def _guarded_crowd(self, crowd: Crowd) -> list[Visit]:
        """What comes of a crowd; should it fail, its elements one by one."""
        try:
            return [*drawn_together(self.bench, crowd)]
        except TooMuchError:
            raise
        except _FAULTS as fault:
            note_fault(fault, "Shapes side by side of an SVG file")
            return [(node, crowd.here) for node in crowd.nodes]

    def _take_alike(self, alike: Alike, sink: Sink) -> list[Visit]:
        copies = sum(look.copy is not None for look in alike.looks)
        self.bench.budget.visit_together(len(alike.nodes) + copies)
        self.bench.budget.draw(sum(map(len, alike.paths)))
        assert isinstance(sink, SinkOfMany)
        sink.take_alike(alike)
        return []

    def _guarded_visit(self, node: Node, here: Context, sink: Sink) -> list[Visit]:
        """One element; a fault in it is a finding and costs that element only."""
        try:
            return self._visit(node, here, sink)
        except TooMuchError:
            raise
        except UnreadableError as fault:
            self.bench.unread.append(node)
            self.bench.findings.add("element-unreadable", f"{node.name_for_people()} was left out: {fault.message}")
        except _FAULTS as fault:
            note_fault(fault, f"{node.name_for_people()} of an SVG file")
            self.bench.unread.append(node)
            self.bench.findings.add(
                "element-unreadable", f"{node.name_for_people()} could not be read and was left out."
            )
        return []

    def _visit(self, node: Node, here: Context, sink: Sink) -> list[Visit]:
        tag = node.tag
        if tag in NEVER_DRAWN:
            return []
        if tag not in _DRAWN:
            _say_unknown(self.bench, node)
            return []
        if not condition_holds(node):
            return []
        inside = entered(self.bench, node, here)
        if inside is None:
            return []
        if inside.filter is not None and inside.filter is not here.filter:
            self._draw_filtered(node, inside, sink)
            return []
        return self._content(node, inside, sink)

    def _draw_filtered(self, node: Node, inside: Context, sink: Sink) -> None:
        """Gather all that an element draws, filter it, and hand it on behind the element's own clip, mask, opacity."""
        assert inside.filter is not None
        content: list[Drawn] = []
        bare = inside._replace(opacity=1.0, layers=(), clip=None, masks=(), blur=None)
        self.walk_inside(node, bare, content.append)
        for one in filtered(self.bench, inside.filter, content, inside):
            sink(
                one._replace(
                    opacity=one.opacity * inside.opacity,
                    layers=(*inside.layers, *one.layers),
                    clip=intersected(inside.clip, one.clip),
                    masks=(*inside.masks, *one.masks),
                )
            )

    def _content(self, node: Node, inside: Context, sink: Sink) -> list[Visit]:
        """Draw the element itself; what is still to be visited below it comes back. ``inside`` is inside it."""
        tag = node.tag
        if tag in BASIC_SHAPES:
            return _draw_shape(self.bench, node, inside, sink)
        if tag == "use":
            return [*used(self.bench, node, inside)]
        if tag == "switch":
            chosen = next((child for child in node.children if child.tag in _DRAWN and condition_holds(child)), None)
            return [(chosen, inside)] if chosen is not None else []
        if tag == "text":
            draw_text(self.bench, node, inside, sink)
            return []
        if tag == "image":
            draw_image(self.bench, node, inside, sink)
            return []
        return _visits(node.children, inside, sink)


def _visits(nodes: list[Node], inside: Context, sink: Sink) -> list[Visit]:
    """The elements to visit; plain shapes side by side together where the sink takes them so."""
    if len(nodes) >= LEAST and isinstance(sink, SinkOfMany) and stands_plainly(inside):
        return [*crowds(nodes, inside)]
    return [(node, inside) for node in nodes]


def _draw_shape(bench: Workbench, node: Node, here: Context, sink: Sink) -> list[Visit]:
    """Draw a basic shape; its markers are still to be visited."""
    style = here.style

    faults: list[str] = []

    def complain(code: str, what: str) -> None:
        faults.append(code)
        bench.findings.add(code, f"{node.name_for_people()} {what}.", place_mm=_place(here.matrix))

    path = bench.outlines.path(node, style, here.viewport, complain)
    if not len(path) and faults:
        bench.unread.append(node)
    if not len(path) or not (style.visible or here.measuring):
        return []
    draw_path(bench, node, path, here, sink)
    if has_markers(here) and not here.measuring and not any(one.tag == "marker" for one in here.uses):
        pen = pen_for(bench, here, "")
        paints = (
            ink_for(bench, style.fill, style.fill_opacity, here, path),
            ink_for(bench, style.stroke, style.stroke_opacity, here, path),
        )
        return [*marker_visits(bench, path, here, pen.width if pen else 0.0, paints)]
    return []


def _say_unknown(bench: Workbench, node: Node) -> None:
    tag, add = node.tag, bench.findings.add
    if tag == "script":
        add("script", "The file holds a script; it was not run.", severity="note")
    elif tag == "foreignObject":
        add("foreign-object", f"{node.name_for_people()} holds something that is not SVG; it was left out.")
    elif tag in ("animate", "animateMotion", "animateTransform", "animateColor", "set", "discard"):
        add("animation", "The artwork moves; it was read as it stands at the start.", severity="note")
    elif not tag.startswith("{"):
        add("unknown-element", f"<{tag[:40]}> is not known here; it was left out.", severity="note")


def _place(matrix: Affine) -> tuple[float, float] | None:
    x, y = apply(matrix, np.zeros(2))
    return (float(x), float(y)) if math.isfinite(x + y) else None
