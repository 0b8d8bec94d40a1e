"""Shapes as PDFium paints them: a page made of what was read, in the same painter as the file's own page."""

import ctypes
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import numpy as np
import pypdfium2 as pdfium
import shapely
from numpy.typing import NDArray
from pypdfium2 import raw as pdfium_c
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.artwork.pdf.paint import address
from core.geometry.affine import Affine, determinant, inverse
from core.geometry.path import CUBIC, Path
from core.geometry.stroke import Stroke

Picture = NDArray[np.uint8]
"""(height, width, 4): blue, green, red, alpha; colours as they are, not multiplied."""

_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "miter-clip": 0, "round": 1, "bevel": 2}


def rendered(page: pdfium.PdfPage, width_px: int, height_px: int, rows: range | None = None) -> Picture:
    """PDFium's picture of a page on nothing, without comments and form fields; of the rows asked for, else of all."""
    rows = range(height_px) if rows is None else rows
    bitmap = pdfium_c.FPDFBitmap_CreateEx(width_px, len(rows), pdfium_c.FPDFBitmap_BGRA, None, 0)
    if not bitmap:
        raise MemoryError("no room for the picture of a page")
    try:
        pdfium_c.FPDFBitmap_FillRect(bitmap, 0, 0, width_px, len(rows), 0)
        pdfium_c.FPDF_RenderPageBitmap(bitmap, page.raw, 0, -rows.start, width_px, height_px, 0, 0)
        stride = pdfium_c.FPDFBitmap_GetStride(bitmap)
        place = address(pdfium_c.FPDFBitmap_GetBuffer(bitmap))
        lines = np.ctypeslib.as_array((ctypes.c_ubyte * (stride * len(rows))).from_address(place))
        return lines.reshape(len(rows), stride)[:, : width_px * 4].reshape(len(rows), width_px, 4).copy()
    finally:
        pdfium_c.FPDFBitmap_Destroy(bitmap)


@contextmanager
def page_of(shapes: Sequence[Shape], width_mm: float, height_mm: float) -> Iterator[pdfium.PdfPage]:
    """A page on which PDFium paints shapes of a drawing of this size."""
    document = pdfium.PdfDocument(_one_page(shapes, width_mm, height_mm))
    try:
        page = document[0]
        yield page
        page.close()
    finally:
        document.close()


def _one_page(shapes: Sequence[Shape], width_mm: float, height_mm: float) -> bytes:
    scale = 1000.0 / max(width_mm, height_mm)
    width, height = width_mm * scale, height_mm * scale
    content = "\n".join(
        [f"{scale:.9f} 0 0 {-scale:.9f} 0 {height:.9f} cm", *(painting(shape) for shape in shapes)]
    ).encode("ascii")
    head = b"%PDF-1.7\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n"
    page = b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 %.6f %.6f]/Resources<<>>/Contents 4 0 R>>endobj\n" % (
        width,
        height,
    )
    stream = b"4 0 obj<</Length %d>>stream\n%s\nendstream endobj\n" % (len(content), content)
    body = head + page
    places = [body.index(b"%d 0 obj" % number) for number in (1, 2, 3)] + [len(body)]
    body += stream
    entries = b"".join(b"%010d 00000 n \n" % place for place in places)
    return body + b"xref\n0 5\n0000000000 65535 f \n%strailer<</Size 5/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (
        entries,
        len(body),
    )


def painting(shape: Shape) -> str:
    """A shape in the operators of a page in mm, y down (ISO 32000-1, annex A)."""
    if shape.area is not None:
        return f"q {_colour(shape.fill or '#000000')} rg {_rings(shape.area)} f* Q"
    parts = ["q"]
    if shape.clip is not None:
        parts.append(f"{_rings(shape.clip)} W* n")
    if shape.fill is not None:
        parts.append(f"{_colour(shape.fill)} rg {_path(shape.path)} {'f*' if shape.fill_rule == 'evenodd' else 'f'}")
    if shape.stroke is not None:
        parts.append(_stroke(shape.path, shape.stroke))
    return " ".join([*parts, "Q"])


def _stroke(path: Path, stroke: Stroke) -> str:
    matrix: Affine = stroke.matrix
    if abs(determinant(matrix)) < 1e-12:
        return ""
    own = path.transformed(inverse(matrix))
    dashes = " ".join(f"{length:.6f}" for length in stroke.dashes)
    return (
        f"{' '.join(f'{value:.9f}' for value in matrix)} cm {_colour(stroke.colour)} RG {stroke.width:.6f} w"
        f" {_CAPS[stroke.cap]} J {_JOINS[stroke.join]} j {max(1.0, stroke.miter_limit):.4f} M"
        f" [{dashes}] {stroke.dash_offset:.6f} d {_path(own)} S"
    )


def _path(path: Path) -> str:
    parts: list[str] = []
    ends = path.end_points.tolist()
    starts = path.start_points.tolist()
    rows = path.segments.tolist()
    kinds = path.kinds.tolist()
    for first, stop, closed in zip(path.starts.tolist(), path.stops.tolist(), path.closed.tolist(), strict=True):
        parts.append(f"{starts[first][0]:.6f} {starts[first][1]:.6f} m")
        for index in range(first, stop):
            if kinds[index] == CUBIC:
                parts.append("{:.6f} {:.6f} {:.6f} {:.6f} {:.6f} {:.6f} c".format(*rows[index][2:8]))
            else:
                parts.append(f"{ends[index][0]:.6f} {ends[index][1]:.6f} l")
        if closed:
            parts.append("h")
    return "\n".join(parts)


def _rings(region: BaseGeometry) -> str:
    parts = []
    for ring in shapely.get_rings(shapely.get_parts(region)):
        points = shapely.get_coordinates(ring)[:-1].tolist()
        parts.append(" l ".join(f"{x:.6f} {y:.6f}" for x, y in points[:1]) + " m")
        parts += [f"{x:.6f} {y:.6f} l" for x, y in points[1:]]
        parts.append("h")
    return "\n".join(parts) if parts else "0 0 m h"


def _colour(text: str) -> str:
    return " ".join(f"{int(text[i : i + 2], 16) / 255:.4f}" for i in (1, 3, 5))
