"""``read_svg``: the whole way from bytes to a Drawing."""

import dataclasses

from core.artwork.drawing import Drawing, ReadOptions, Shape
from core.artwork.flattening import path_bounds_mm
from core.artwork.path import joined
from core.artwork.svg.colours import hex_colour
from core.artwork.svg.document import parse_document
from core.artwork.svg.drawn import PAINTED_ABOVE, Drawn
from core.artwork.svg.findings import Findings
from core.artwork.svg.page import page_of
from core.artwork.svg.walking import Walker
from core.progress import Progress, silent


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
    page = page_of(document.root, walker.styles, options, findings)
    walker.px_to_mm = page.mm_per_px
    shapes: list[Shape] = []
    context = walker.root_context(page.to_mm, page.viewport)
    root = walker.entered(document.root, context)
    if root is not None:
        walker.walk(document.root.children, root, lambda drawn: shapes.extend(_shapes(drawn, findings)))
    numbered = tuple(dataclasses.replace(shape, id=f"s{i}") for i, shape in enumerate(shapes, 1))
    for code, sentence in walker.cascade.notes:
        findings.add(code, sentence)
    if page.size_px is not None:
        width_mm, height_mm = page.size_px[0] * page.mm_per_px, page.size_px[1] * page.mm_per_px
    else:
        width_mm, height_mm = _size_of_content(numbered)
        findings.add("no-page-size", "The file gives no page size; the page was made to end where the artwork does.")
    progress(1.0, "Reading the artwork")
    return Drawing(
        width_mm=width_mm, height_mm=height_mm, units_from=page.units_from, shapes=numbered, findings=findings.all()
    )


def _shapes(drawn: Drawn, findings: Findings) -> list[Shape]:
    fill = drawn.fill is not None and drawn.fill.colour[3] * drawn.opacity > PAINTED_ABOVE
    stroke = drawn.stroke is not None and drawn.stroke.colour[3] * drawn.opacity > PAINTED_ABOVE
    if not fill and not stroke:
        findings.add("faint-paint", "Parts of the artwork are more than half transparent and were left out.")
        return []
    return [
        Shape(
            id="",
            kind=drawn.kind,
            path=drawn.path,
            fill=hex_colour(drawn.fill.colour) if fill and drawn.fill else None,
            fill_rule="evenodd" if drawn.fill_rule == "evenodd" else "nonzero",
            stroke=drawn.pen if stroke else None,
            source_layer=drawn.source_layer,
            label=drawn.label,
            clip=drawn.clip,
        )
    ]


def _size_of_content(shapes: tuple[Shape, ...]) -> tuple[float, float]:
    if not shapes:
        return (0.0, 0.0)
    _, _, right, bottom = path_bounds_mm(joined([shape.path for shape in shapes]), 0.1)
    return (max(right, 0.0), max(bottom, 0.0))
