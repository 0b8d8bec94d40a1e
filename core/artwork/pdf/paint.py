"""How a PDF object is painted: colours, strokes, matrices, as PDFium tells them."""

import ctypes
from collections.abc import Callable
from typing import Any

from pypdfium2 import raw as pdfium_c

from core.geometry.affine import IDENTITY, Affine, mean_scale
from core.geometry.stroke import Stroke

OPAQUE = 128
"""Paint of this alpha (of 255) or more counts: what is half covered or more is cleared."""

GREY = "#808080"
"""Stands for a gradient, which has no one colour."""

TILED = "#bfbfbf"
"""The colour that PDFium names where the paint is a pattern."""


def address(handle: Any) -> int:
    """A number that tells PDFium's objects apart; 0 for none."""
    return ctypes.cast(handle, ctypes.c_void_p).value or 0


def matrix_of(item: object) -> Affine:
    """From the object's own space to that which holds it."""
    m = pdfium_c.FS_MATRIX()
    if not pdfium_c.FPDFPageObj_GetMatrix(item, m):
        return IDENTITY
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def fill_colour(item: object) -> str | None:
    """ "#rrggbb" of opaque enough paint, else None."""
    return _colour(item, pdfium_c.FPDFPageObj_GetFillColor)


def stroke_colour(item: object) -> str | None:
    """ "#rrggbb" of an opaque enough stroke, else None."""
    return _colour(item, pdfium_c.FPDFPageObj_GetStrokeColor)


def is_opaque(item: object) -> bool:
    """Whether the object's paint says of itself that it hides what is below."""
    channels = [ctypes.c_uint() for _ in range(4)]
    known = pdfium_c.FPDFPageObj_GetFillColor(item, *channels)
    return not known or channels[3].value == 255


def has_pattern(document: object, item: object) -> bool:
    """Whether the object is filled with a pattern."""
    bitmap = pdfium_c.FPDFPageObj_GetRenderedFillPattern(document, item)
    if bitmap:
        pdfium_c.FPDFBitmap_Destroy(bitmap)
    return bool(bitmap)


def stroke_of(item: object, colour: str, matrix: Affine) -> Stroke:
    """The stroke of an object whose own space the matrix maps to mm."""
    width, phase = ctypes.c_float(), ctypes.c_float()
    pdfium_c.FPDFPageObj_GetStrokeWidth(item, width)
    count = max(0, pdfium_c.FPDFPageObj_GetDashCount(item))
    dashes: tuple[float, ...] = ()
    if count:
        lengths = (ctypes.c_float * count)()
        pdfium_c.FPDFPageObj_GetDashArray(item, lengths, count)
        pdfium_c.FPDFPageObj_GetDashPhase(item, phase)
        dashes = tuple(lengths) if sum(lengths) > 0 and min(lengths) >= 0 else ()
    caps = {pdfium_c.FPDF_LINECAP_ROUND: "round", pdfium_c.FPDF_LINECAP_PROJECTING_SQUARE: "square"}
    joins = {pdfium_c.FPDF_LINEJOIN_ROUND: "round", pdfium_c.FPDF_LINEJOIN_BEVEL: "bevel"}
    return Stroke(
        colour=colour,
        width=max(width.value, 0.0),
        matrix=matrix,
        cap=caps.get(pdfium_c.FPDFPageObj_GetLineCap(item), "butt"),  # type: ignore[arg-type]
        join=joins.get(pdfium_c.FPDFPageObj_GetLineJoin(item), "miter"),  # type: ignore[arg-type]
        miter_limit=10.0,  # the format's own default (ISO 32000-1, 8.4.3.5): PDFium does not tell it
        dashes=dashes,
        dash_offset=phase.value,
        width_mm=max(width.value, 0.0) * mean_scale(matrix),
    )


def _colour(item: object, get: Callable[..., int]) -> str | None:
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    if not get(item, red, green, blue, alpha):
        return "#000000"
    return f"#{red.value:02x}{green.value:02x}{blue.value:02x}" if alpha.value >= OPAQUE else None
