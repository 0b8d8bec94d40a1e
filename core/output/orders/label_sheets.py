"""Labels for the parts of an order, laid to the places of a sheet of labels to peel off."""

import io
from collections.abc import Sequence

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from core.encodable import encodable
from core.order.parts import OrderedPart
from core.output.orders.pages import Words

LABELS_ACROSS, LABELS_DOWN = 3, 8
LABEL_WIDE_MM, LABEL_HIGH_MM = 70.0, 37.0
"""24 labels on A4: a common size of label sheets; common practice, no source."""
TOP_MM = 0.5
"""What A4 (297 mm) leaves above eight labels and below them."""

_INSET_MM = 5.0
_HEAD, _NAME = 10.0, 13.0
_STEP = 0.9
_FONT, _STRONG = "Helvetica", "Helvetica-Bold"


def label_sheets(parts: Sequence[tuple[OrderedPart, int]], title: str) -> bytes:
    """The PDF: a label for each (part, number of its sheet), row by row; the same parts give the same bytes."""
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=A4, invariant=1)
    canvas.setTitle(encodable(title))
    canvas.setAuthor("Tain")
    on_page = LABELS_ACROSS * LABELS_DOWN
    for start in range(0, max(1, len(parts)), on_page):
        _grid(canvas)
        for at, (one, sheet) in enumerate(parts[start : start + on_page]):
            row, column = divmod(at, LABELS_ACROSS)
            _label(canvas, column * LABEL_WIDE_MM * mm, A4[1] - (TOP_MM + row * LABEL_HIGH_MM) * mm, one, sheet)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _grid(canvas: Canvas) -> None:
    """Hairlines between the labels, to cut plain paper by."""
    canvas.setLineWidth(0.25)
    canvas.setStrokeGray(0.75)
    for column in range(1, LABELS_ACROSS):
        canvas.line(column * LABEL_WIDE_MM * mm, 0, column * LABEL_WIDE_MM * mm, A4[1])
    for row in range(1, LABELS_DOWN):
        y = A4[1] - (TOP_MM + row * LABEL_HIGH_MM) * mm
        canvas.line(0, y, A4[0], y)


def _label(canvas: Canvas, left: float, top: float, one: OrderedPart, sheet: int) -> None:
    """Number and sheet along the top, what the part says in the middle of the rest."""
    inset = _INSET_MM * mm
    left, right = left + inset, left + LABEL_WIDE_MM * mm - inset
    baseline, bottom = top - inset - _HEAD * 0.8, top - LABEL_HIGH_MM * mm + inset
    canvas.setFillGray(0.0)
    canvas.setFont(_STRONG, _HEAD)
    canvas.drawString(left, baseline, f"No. {one.number}")
    canvas.setFont(_FONT, _HEAD - 1)
    canvas.drawRightString(right, baseline, f"sheet {sheet}")
    room = baseline - _HEAD * 0.5 - bottom
    lines = _fitted([value for _, value in one.values if value], right - left, room)
    y = bottom + (room + sum(line.height for line in lines)) / 2
    for line in lines:
        y -= line.height
        line.drawOn(canvas, left, y)


def _fitted(values: Sequence[str], wide: float, high: float) -> list[Words]:
    """All of it within the label: broken into lines, and smaller the more there is of it."""
    size = _NAME
    lines = [Words(value, size, wide) for value in values]
    while sum(line.height for line in lines) > high:
        size *= _STEP
        lines = [Words(value, size, wide) for value in values]
    return lines
