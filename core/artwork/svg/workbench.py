"""What every kind of element is drawn with: the document, its styles and outlines, findings, bounds on the work, and
somebody who walks a part of the tree where a clip, a mask, a pattern or a text needs it."""

from collections.abc import Callable
from typing import Protocol

import numpy as np

from core.artwork.drawing import ReadOptions
from core.artwork.svg.bounds import tight_bounds
from core.artwork.svg.budget import Budget
from core.artwork.svg.cascade import Cascade
from core.artwork.svg.context import Context
from core.artwork.svg.deciding import painted_parts
from core.artwork.svg.document import Document, Node
from core.artwork.svg.drawn import Bounds, Drawn, Ink
from core.artwork.svg.findings import Findings
from core.artwork.svg.outlines import Outlines
from core.artwork.svg.styles import Styles
from core.geometry.affine import IDENTITY
from core.geometry.path import Path
from core.geometry.region import BaseGeometry
from core.progress import Progress, silent

Sink = Callable[[Drawn], None]
"""Takes each drawn outline, in painting order."""


class Walk(Protocol):
    """Walks a part of the tree."""

    def walk(self, nodes: list[Node], context: Context, sink: Sink) -> None:
        """Visit the nodes and all below them in painting order."""

    def walk_inside(self, node: Node, entered: Context, sink: Sink) -> None:
        """Draw an element and all below it. ``entered`` is the context inside it."""

    def entered(self, node: Node, here: Context, *, use: Node | None = None) -> Context | None:
        """The context inside an element; None where nothing of it shows. ``use`` is what refers to a symbol."""


class Workbench:
    """One for each file that is read. ``mm_per_px`` is set when the page is known; ``cache`` holds what is worked
    out once and needed again; ``unread`` the elements with a fault; ``unseen_strokes`` how many filled shapes have a
    stroke of width 0 of another colour; ``walker`` is set by whoever walks."""

    walker: Walk

    def __init__(
        self, document: Document, findings: Findings, options: ReadOptions, *, progress: Progress = silent
    ) -> None:
        self.document = document
        self.findings = findings
        self.options = options
        self.cascade = Cascade(document)
        self.styles = Styles(self.cascade, document.root)
        self.outlines = Outlines(self.styles)
        self.budget = Budget(document.element_count, progress=progress)
        self.mm_per_px = 25.4 / 96
        self.cache: dict[tuple[object, ...], object] = {}
        self.unread: list[Node] = []
        self.unseen_strokes = 0

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

    def fresh_context(self, node: Node, here: Context, *, drawn_with_it: bool = False) -> Context:
        """The context inside a clip, mask, pattern or marker: styled by where it stands in the file, in the user
        space of what refers to it; behind that one's clip and opacity only where it is drawn with it."""
        inside = here._replace(style=self.styles.standing(node), depth=here.depth + 1, uses=(*here.uses, node))
        return (
            inside
            if drawn_with_it
            else inside._replace(opacity=1.0, layers=(), clip=None, masks=(), blur=None, filter=None, measuring=False)
        )

    def bounds_of(self, node: Node, here: Context) -> Bounds | None:
        """Bounds of an element's outlines in its user space (SVG 2, 8.10), None where it has none. ``here`` is the
        context inside it."""
        parts = self._measured(node, here._replace(matrix=IDENTITY))
        boxes = [tight_bounds(one.cell if one.cell is not None else one.path) for one in parts]
        if not boxes:
            return None
        low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
        return (float(low[0]), float(low[1]), float(high[2]), float(high[3]))

    def measured(self, node: Node, here: Context) -> list[Path]:
        """All outlines in an element, through ``here.matrix``. ``here`` is the context inside it."""
        return [one.path for one in self._measured(node, here)]

    def _measured(self, node: Node, here: Context) -> list[Drawn]:
        parts: list[Drawn] = []
        self.walker.walk_inside(node, here._replace(measuring=True, clip=None, masks=(), opacity=1.0), parts.append)
        return parts

    def parts_of(self, drawn: Drawn) -> list[tuple[BaseGeometry, Ink]]:
        """The regions (mm) that fill and stroke of an outline paint, however faintly, each of one colour."""
        self.budget.spend(len(drawn.path))
        return painted_parts(drawn, self.options.tolerance_mm)
