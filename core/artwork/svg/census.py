"""Which elements of a file are not among the shapes, and why: the count that nothing escapes.

Every element that could be drawn is looked at again after the walk, whatever the walk did with it. Elements shown by
``use`` count once, as the ``use`` that shows them.
"""

from collections.abc import Iterator

import numpy as np

from core.artwork.drawing import Missing
from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.document import Node
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.values import parse_transform
from core.artwork.svg.walking import NEVER_DRAWN
from core.artwork.svg.workbench import Workbench
from core.element_faults import note_fault
from core.errors import UnreadableError
from core.geometry.affine import Affine, apply, compose

MOST_NAMED = 200
"""Unreadable elements named one by one; more are counted together."""

_CONTAINERS = frozenset({"g", "a", "svg"})
_NO_DRAWING = NEVER_DRAWN | {
    "script", "animate", "animateMotion", "animateTransform", "animateColor", "set", "discard", "mpath", "hkern",
}  # fmt: skip
_PLACED_BY = {"circle": ("cx", "cy"), "ellipse": ("cx", "cy"), "line": ("x1", "y1")}

HIDDEN = "Hidden in the file."
UNPAINTED = "Neither filled nor stroked: nothing of it is painted."
FAINT = "More than half see-through."
COVERED = "Nothing of it shows: clipped, masked, see-through or of no size."


def missing_of(bench: Workbench, shown: set[int], faint: set[int], to_mm: Affine) -> tuple[Missing, ...]:
    """What is missing among the shapes. ``shown``, ``faint``: id() of the elements that came to shapes, and of those
    that are too see-through to."""
    unread = {id(node) for node in bench.unread}
    left_out: dict[str, int] = {}
    named: list[Missing] = []
    more = 0
    for node in _drawable(bench.document.root):
        if id(node) in shown:
            continue
        why, unreadable = (FAINT, False) if id(node) in faint else _why(bench, node, unread)
        if not why:
            continue
        if not unreadable:
            left_out[why] = left_out.get(why, 0) + 1
        elif len(named) < MOST_NAMED:
            x_mm, y_mm = _place(bench, node, to_mm)
            named.append(Missing(name=node.name_for_people(), why=why, unreadable=True, x_mm=x_mm, y_mm=y_mm))
        else:
            more += 1
    counted = [Missing(name="", why=why, unreadable=False, count=count) for why, count in left_out.items()]
    if more:
        counted.append(Missing(name="", why="More elements that could not be read.", unreadable=True, count=more))
    return (*named, *counted)


def _drawable(root: Node) -> Iterator[Node]:
    """Every element that draws something by itself, in document order."""
    stack = list(reversed(root.children))
    while stack:
        node = stack.pop()
        if node.tag in _NO_DRAWING or node.tag.startswith("{"):
            continue
        if node.tag in _CONTAINERS:
            stack.extend(reversed(node.children))
        elif node.tag == "switch":
            stack.extend(reversed([child for child in node.children if condition_holds(child)][:1]))
        else:
            yield node


def _why(bench: Workbench, node: Node, unread: set[int]) -> tuple[str, bool]:
    """Why an element is missing and whether it could not be read; no reason for those without any content."""
    if node.tag == "text" and not node.text().strip() and not any(child.tag == "tref" for child in node.children):
        return "", False
    for step in _lineage(node):
        if id(step) in unread:
            return "It could not be read.", True
        if bench.styles.standing(step).own.get("display") == "none":
            return HIDDEN, False
        if not condition_holds(step):
            return "Meant for other readers or languages.", False
    if node.tag == "image":
        return "A picture made of dots.", True
    if node.tag not in BASIC_SHAPES and node.tag not in ("text", "use"):
        return "Not known here.", True
    if node.tag == "use":
        target = node.attributes.get("href", "").strip()
        known = target.startswith("#") and target[1:] in bench.document.by_id
        return (COVERED, False) if known else ("What it shows is not in the file.", True)
    if not bench.styles.standing(node).visible:
        return HIDDEN, False
    return (COVERED, False) if _is_painted(bench, node) else (UNPAINTED, False)


def _is_painted(bench: Workbench, node: Node) -> bool:
    style = bench.styles.standing(node)
    return any(
        paint.colour is not None or paint.current or paint.server is not None or paint.context
        for paint in (style.fill, style.stroke)
    )


def _lineage(node: Node) -> Iterator[Node]:
    step: Node | None = node
    while step is not None and step.parent is not None:
        yield step
        step = step.parent


def _place(bench: Workbench, node: Node, to_mm: Affine) -> tuple[float | None, float | None]:
    """About where the element begins; viewports within the page left out of account."""
    matrices = [
        matrix
        for step in _lineage(node)
        if (text := bench.styles.transform_text(step)) is not None
        and (matrix := parse_transform(text, bench.styles.standing(step).font_size_px)) is not None
    ]
    whole = to_mm
    for matrix in reversed(matrices):
        whole = compose(whole, matrix)
    try:
        point = _begins_at(bench, node)
    except (UnreadableError, ArithmeticError, ValueError, LookupError, TypeError, AttributeError) as fault:
        note_fault(fault, f"Where {node.name_for_people()} of an SVG file begins")
        return None, None
    if point is None:
        return None, None
    x_mm, y_mm = apply(whole, point).tolist()
    return (x_mm, y_mm) if np.isfinite([x_mm, y_mm]).all() else (None, None)


def _begins_at(bench: Workbench, node: Node) -> np.ndarray | None:
    style, viewport = bench.styles.standing(node), (0.0, 0.0)
    if node.tag in ("path", "polyline", "polygon"):
        path = bench.outlines.path(node, style, viewport, lambda code, what: None)
        return np.asarray(path.start_points[0]) if len(path.start_points) else None
    across, down = _PLACED_BY.get(node.tag, ("x", "y"))
    return np.array([bench.outlines.x(node, across, style, viewport), bench.outlines.y(node, down, style, viewport)])
