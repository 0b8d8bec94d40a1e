"""``read_svg``: the whole way from bytes to a Drawing."""

import itertools
from collections.abc import Callable, Iterable
from typing import Any

import shapely

from core.artwork.drawing import Drawing, ReadOptions, Shape
from core.artwork.many_shapes import many_shapes
from core.artwork.svg.alike import Alike
from core.artwork.svg.census import missing_of
from core.artwork.svg.deciding import has_too_many_tiles, outline_of, shapes_of, too_transparent
from core.artwork.svg.document import Node, parse_document
from core.artwork.svg.drawn import Drawn
from core.artwork.svg.findings import Findings
from core.artwork.svg.page import marked_units_an_inch, page_of
from core.artwork.svg.stacking import Stack
from core.artwork.svg.walking import SinkOfMany, Walker
from core.collecting import collector_at_rest
from core.errors import UnreadableError
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import joined
from core.progress import Progress, silent


@collector_at_rest()
def read_svg(data: bytes, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """An SVG (or .svgz) file as a Drawing: shapes in mm in painting order, findings for all that was not read.

    ``options.scale`` and ``options.arrives_reversed`` are the caller's. Raises UnreadableError where the file is no
    SVG or too large to read, UnitsUnknownError where it gives no size and ``options.assume_units`` is None.
    """
    progress(0.0, "Reading the file")
    document = parse_document(data, progress=progress)
    findings = Findings()
    for code, sentence in document.notes:
        findings.add(code, sentence, severity="note")
    walker = Walker(document, findings, options, progress=progress)
    bench = walker.bench
    page = page_of(document.root, bench.styles, options, findings)
    bench.mm_per_px = page.mm_per_px
    taken = _Taken(findings)
    shapes = taken.shapes
    context = walker.root_context(page.to_mm, page.viewport)
    root = walker.entered(document.root, context)
    if root is not None:
        walker.walk(document.root.children, root, taken)
    shapes.extend(_stacked(taken.stack, shapes, options.tolerance_mm, findings, taken.new_id, progress))
    for code, sentence in bench.cascade.notes:
        findings.add(code, sentence)
    if bench.unseen_strokes:
        findings.add("unseen-strokes", _unseen_strokes(bench.unseen_strokes), severity="note")
    if page.size_px is not None:
        width_mm, height_mm = page.size_px[0] * page.mm_per_px, page.size_px[1] * page.mm_per_px
    else:
        width_mm, height_mm = _size_of_content(shapes)
        findings.add("no-page-size", "The file gives no page size; the page was made to end where the artwork does.")
    progress(1.0, "Reading the artwork")
    return Drawing(
        width_mm=width_mm,
        height_mm=height_mm,
        units_from=page.units_from,
        shapes=tuple(shapes),
        findings=findings.all(),
        marked_units_an_inch=marked_units_an_inch(document),
        missing=missing_of(bench, taken.shown, taken.faint, page.to_mm),
    )


class _Taken(SinkOfMany):
    """The shapes so far. ``shown``, ``faint``: id() of the elements that came to shapes, and of those that are too
    see-through to."""

    def __init__(self, findings: Findings) -> None:
        self.shapes: list[Shape] = []
        self.stack = Stack()
        self.shown: set[int] = set()
        self.faint: set[int] = set()
        self._findings = findings
        self._numbers = itertools.count(1)

    def new_id(self) -> str:
        """The id of the next shape."""
        return f"s{next(self._numbers)}"

    def __call__(self, drawn: Drawn) -> None:
        """Decide what comes of one outline."""
        self.stack.note(drawn)
        decided = _decided(drawn, self._findings, self.new_id)
        self.shapes.extend(decided)
        if decided:
            self.shown.update(id(node) for node in (drawn.origin, *drawn.gathered))
        elif too_transparent(drawn):
            self.faint.add(id(drawn.origin))

    def take_alike(self, alike: Alike) -> None:
        """A shape of each of these outlines."""
        nodes, looks, origin = alike.nodes, alike.looks, alike.here.origin
        drawn = [node if look.copy is None else look.copy.shape for node, look in zip(nodes, looks, strict=True)]
        self.shapes.extend(
            many_shapes(
                len(nodes),
                source_layer=itertools.repeat(alike.here.source_layer),
                id=[f"s{number}" for number in itertools.islice(self._numbers, len(nodes))],
                kind=[node.tag for node in drawn],
                path=alike.paths,
                fill=[look.fill for look in looks],
                fill_rule=[look.fill_rule for look in looks],
                stroke=alike.pens,
                **_called(alike, drawn),
            )
        )
        self.shown.update(map(id, nodes) if origin is None else (id(origin),))


def _called(alike: Alike, drawn: list[Node]) -> dict[str, Iterable[Any]]:
    """What the shapes are called; ``drawn`` are the elements whose outlines they have."""
    here, nodes = alike.here, alike.nodes
    if not alike.named:
        source_id = here.origin.id if here.origin is not None else ""
        same = {"label": here.label, "names": here.names, "source_id": source_id}
        return {field: itertools.repeat(value) for field, value in same.items()}
    return {
        "label": [here.label or node.label or shown.label for node, shown in zip(nodes, drawn, strict=True)],
        "names": [
            (*here.names, *node.names, *(() if shown is node else shown.names))
            for node, shown in zip(nodes, drawn, strict=True)
        ],
        "source_id": [(here.origin or node).id for node in nodes],
    }


def _decided(drawn: Drawn, findings: Findings, new_id: Callable[[], str]) -> list[Shape]:
    shapes = shapes_of(drawn, new_id)
    if not shapes and too_transparent(drawn):
        findings.add("faint-paint", "Parts of the artwork are more than half transparent and were left out.")
    if has_too_many_tiles(drawn):
        findings.add("too-many-tiles", "A pattern has too many tiles to draw and was read as painted all over.")
    return shapes


def _unseen_strokes(count: int) -> str:
    several = "1 filled shape has" if count == 1 else f"{count} filled shapes have"
    return (
        f"{several} a stroke of width 0 in another colour: nothing is painted there by the standard, and only the "
        "fill was read. If it was meant as a cut, give that stroke a width."
    )


def _stacked(
    stack: Stack,
    solid: list[Shape],
    tolerance_mm: float,
    findings: Findings,
    new_id: Callable[[], str],
    progress: Progress,
) -> list[Shape]:
    """What see-through paint adds up to, as a shape of its own."""
    try:
        region = stack.painted(solid, tolerance_mm, progress=progress)
    except (shapely.errors.ShapelyError, UnreadableError):
        region, stack.left_out = None, True
    if stack.left_out:
        findings.add(
            "faint-paint-stacked", "See-through paint lies on see-through paint; what it adds up to was not worked out."
        )
    if region is None:
        return []
    findings.add(
        "faint-paint-stacked",
        "Where see-through paint lies on see-through paint and adds up to more than half, it was read as painted.",
        severity="note",
    )
    return [
        Shape(
            id=new_id(),
            kind="stacked paint",
            path=outline_of(region),
            fill="#808080",
            fill_rule="evenodd",
            area=region,
        )
    ]


def _size_of_content(shapes: list[Shape]) -> tuple[float, float]:
    if not shapes:
        return (0.0, 0.0)
    _, _, right, bottom = path_bounds_mm(joined([shape.path for shape in shapes]), 0.1)
    return (max(right, 0.0), max(bottom, 0.0))
