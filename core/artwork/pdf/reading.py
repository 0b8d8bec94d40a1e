"""Vector PDF through PDFium: paths with fill, stroke and clip; text as the glyphs' outlines; forms expanded.

PDFium keeps numbers in single precision: places are good to some ten-thousandths of a millimetre.
"""

import ctypes
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Finding, ReadOptions, Shape
from core.artwork.painting import filled_region
from core.artwork.remarks import Remarks
from core.errors import UnreadableError
from core.geometry.affine import IDENTITY, Affine, compose, mean_scale, scaling, translation
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import Path, PathBuilder, joined, polyline
from core.geometry.stroke import Stroke
from core.progress import Progress, part, silent
from core.units import MM_PER_UNIT

MAX_SEGMENTS = 3_000_000
MAX_FORM_DEPTH = 40
OPAQUE = 128
"""Paint of this alpha (of 255) or more counts: what is half covered or more is cleared."""

GREY = "#808080"
"""Stands for a gradient, which has no one colour."""

AGAIN = "Ask for the file again, or for SVG."
_using_pdfium = threading.Lock()  # PDFium is not made for several threads


def read_pdf(data: bytes, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """Page ``options.page`` of a PDF; a point is 1/72 inch (ISO 32000-1, 8.3.2.3) unless ``options.units`` says else.

    Raises UnreadableError for broken or locked files, a missing page, and pages that hold nothing to engrave.
    """
    with _using_pdfium:
        document = _opened(data)
        try:
            if not 1 <= options.page <= len(document):
                raise UnreadableError(
                    f"The PDF has no page {options.page}; it has {len(document)}.", hint="Choose another page."
                )
            return _PageReader(document, data, options, progress).drawing()
        finally:
            document.close()


def _opened(data: bytes) -> pdfium.PdfDocument:
    if not data.strip(b"\0 \t\r\n"):
        raise UnreadableError("The file is empty.", hint=AGAIN)
    try:
        document = pdfium.PdfDocument(data)
        pages = len(document)
    except pdfium.PdfiumError as error:
        if getattr(error, "err_code", None) == pdfium_c.FPDF_ERR_PASSWORD:
            raise UnreadableError("The PDF is locked with a password.", hint="Ask for it without one.") from None
        raise UnreadableError("The PDF is broken or cut short.", hint=AGAIN) from None
    if pages < 1:
        document.close()
        raise UnreadableError("The PDF has no pages.", hint=AGAIN)
    return document


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Letter:
    """A character where it stands: its code, and the map from text space to the page."""

    code: int
    matrix: Affine


class _PageReader:
    """Reads one page."""

    def __init__(self, document: pdfium.PdfDocument, data: bytes, options: ReadOptions, progress: Progress) -> None:
        self._document = document
        self._data = data
        self._options = options
        self._progress = progress
        self._shapes: list[Shape] = []
        self._remarks = Remarks()
        self._clips: dict[bytes, BaseGeometry] = {}
        self._letters: dict[int, list[_Letter]] = {}
        self._glyphs: dict[tuple[int, int], Path | None] = {}
        self._room = MAX_SEGMENTS
        self._to_mm = IDENTITY
        self._page_area: BaseGeometry = shapely.Polygon()

    def drawing(self) -> Drawing:
        """The page as a drawing."""
        try:
            page = self._document[self._options.page - 1]
        except pdfium.PdfiumError:
            raise UnreadableError(f"Page {self._options.page} of the PDF is broken.", hint=AGAIN) from None
        unit = self._options.units or "pt"
        if unit not in MM_PER_UNIT:
            raise UnreadableError(f"“{unit}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}.")
        to_page, width, height = _page_frame(page)
        mm = MM_PER_UNIT[unit]
        self._to_mm = compose(scaling(mm, mm), to_page)
        self._page_area = shapely.box(0.0, 0.0, width * mm, height * mm)
        self._letters = _letters_of(page)
        objects = list(_objects(page.raw))
        progress = part(self._progress, 0.1, 1.0)
        for number, item in enumerate(objects):
            if number % 200 == 0:
                progress(number / len(objects), "Reading the page")
            self._read(item, self._to_mm, None, 0)
        self._remark_page(page)
        if not self._shapes:
            reasons = " ".join(finding.message for finding in self._findings())
            raise UnreadableError(
                f"Page {self._options.page} of the PDF holds no vector artwork. {reasons}".strip(), hint=AGAIN
            )
        return Drawing(
            width_mm=width * mm,
            height_mm=height * mm,
            units_from="points of the PDF" if self._options.units is None else f"{unit}, as said",
            shapes=tuple(self._shapes),
            findings=self._findings(),
            page_count=len(self._document),
        )

    def _findings(self) -> tuple[Finding, ...]:
        return tuple(
            finding if place is None else replace(finding, x_mm=place[0], y_mm=place[1])
            for finding, place in self._remarks.findings()
        )

    def _remark_page(self, page: pdfium.PdfPage) -> None:
        say = self._remarks.add
        if len(self._document) > 1:
            pages = str(len(self._document))
            say(
                "pdf-pages",
                "The PDF has {pages} pages; page {page} was read.",
                severity="note",
                pages=pages,
                page=str(self._options.page),
            )
        if pdfium_c.FPDFPage_GetAnnotCount(page.raw) > 0:
            say("pdf-notes", "Comments and form fields of the page were left out.", severity="note")
        if b"/OCProperties" in self._data:
            say("pdf-layers", "The PDF has layers; all of them were read, also hidden ones.")
        if b"/UserUnit" in self._data:
            say("pdf-user-unit", "The PDF names a unit of its own, which is not followed: check the size.")

    def _read(self, item: object, matrix: Affine, clip: BaseGeometry | None, depth: int) -> None:
        kind = pdfium_c.FPDFPageObj_GetType(item)
        try:
            clip = self._clipped(item, matrix, clip)
            if kind == pdfium_c.FPDF_PAGEOBJ_PATH:
                self._path(item, compose(matrix, _matrix_of(item)), clip)
            elif kind == pdfium_c.FPDF_PAGEOBJ_FORM:
                self._form(item, compose(matrix, _matrix_of(item)), clip, depth)
            elif kind == pdfium_c.FPDF_PAGEOBJ_TEXT:
                self._text(item, clip)
            elif kind == pdfium_c.FPDF_PAGEOBJ_IMAGE:
                self._image(compose(matrix, _matrix_of(item)))
            elif kind == pdfium_c.FPDF_PAGEOBJ_SHADING:
                self._shading(clip)
        except (ValueError, ArithmeticError, shapely.GEOSException):
            self._remarks.add("pdf-bad-object", "{count} damaged [object|objects] of the page [was|were] left out.")

    def _form(self, item: object, matrix: Affine, clip: BaseGeometry | None, depth: int) -> None:
        if depth >= MAX_FORM_DEPTH:
            self._remarks.add("pdf-too-deep", "{count} [group|groups] nested too deep [was|were] left out.")
            return
        for index in range(max(0, pdfium_c.FPDFFormObj_CountObjects(item))):
            child = pdfium_c.FPDFFormObj_GetObject(item, index)
            if child:
                self._read(child, matrix, clip, depth + 1)

    def _path(self, item: object, matrix: Affine, clip: BaseGeometry | None) -> None:
        fill_mode, stroked = ctypes.c_int(), ctypes.c_int()
        if not pdfium_c.FPDFPath_GetDrawMode(item, fill_mode, stroked):
            return
        fill = _colour(item, pdfium_c.FPDFPageObj_GetFillColor) if fill_mode.value else None
        stroke_colour = _colour(item, pdfium_c.FPDFPageObj_GetStrokeColor) if stroked.value else None
        if fill is None and stroke_colour is None:
            return
        count = pdfium_c.FPDFPath_CountSegments(item)
        if not self._takes(count):
            return
        path = _path_of(count, partial(pdfium_c.FPDFPath_GetPathSegment, item)).transformed(matrix)
        stroke = None if stroke_colour is None else _stroke(item, stroke_colour, matrix)
        if fill is not None and len(path):
            path = _closed(path) if stroke is None else path
        self._add("path", path, fill, stroke, clip, "evenodd" if fill_mode.value == 1 else "nonzero")
        if fill == _TILED and self._has_pattern(item):
            self._remarks.add("pdf-pattern", "{count} [pattern is|patterns are] taken as painted all over.")
        if pdfium_c.FPDFPageObj_HasTransparency(item) and _is_opaque(item):
            place = tuple(path.start_points[0].tolist()) if len(path) else None
            self._remarks.add(
                "pdf-transparency", "{count} blended or masked [object is|objects are] taken as fully painted.",
                place=place,
            )  # fmt: skip

    def _has_pattern(self, item: object) -> bool:
        bitmap = pdfium_c.FPDFPageObj_GetRenderedFillPattern(self._document.raw, item)
        if bitmap:
            pdfium_c.FPDFBitmap_Destroy(bitmap)
        return bool(bitmap)

    def _takes(self, segments: int) -> bool:
        if segments > self._room:
            self._remarks.add(
                "pdf-too-large",
                "{count} [object was|objects were] left out: the page is too large.",
            )
            return False
        self._room -= segments
        return True

    def _text(self, item: object, clip: BaseGeometry | None) -> None:
        mode = pdfium_c.FPDFTextObj_GetTextRenderMode(item)
        if mode in (3, 7):  # neither filled nor stroked (ISO 32000-1, 9.3.6)
            return
        outlines, missing = [], False
        font = pdfium_c.FPDFTextObj_GetFont(item)
        for letter in self._letters.get(_address(item), []):
            glyph = self._glyph(font, letter.code)
            if glyph is None:
                missing = True
            elif len(glyph):
                outlines.append(glyph.transformed(compose(self._to_mm, letter.matrix)))
        path = joined(outlines)
        fill = _colour(item, pdfium_c.FPDFPageObj_GetFillColor) if mode in (0, 2, 4, 6) else None
        stroke_colour = _colour(item, pdfium_c.FPDFPageObj_GetStrokeColor) if mode in (1, 2, 5, 6) else None
        if missing or (not len(path) and _text_length(item)):
            self._remarks.add(
                "pdf-text", "{count} [text|texts], or some letters of [it|them], could not be turned into outlines."
            )
        if not len(path) or not self._takes(len(path)) or (fill is None and stroke_colour is None):
            return
        stroke = None if stroke_colour is None else _stroke(item, stroke_colour, self._to_mm)
        self._add("text", path, fill, stroke, clip, "nonzero")

    def _glyph(self, font: object, code: int) -> Path | None:
        """The outline of a character at size 1, y up; None when the font can't give it."""
        key = (_address(font), code)
        if key not in self._glyphs:
            self._glyphs[key] = _glyph_path(font, code)
        return self._glyphs[key]

    def _image(self, matrix: Affine) -> None:
        a, b, c, d, e, f = matrix
        width_mm, height_mm = float(np.hypot(a, b)), float(np.hypot(c, d))
        x_mm, y_mm = e + min(0, a) + min(0, c), f + min(0, b) + min(0, d)
        self._remarks.add(
            "pdf-image",
            "{count} raster [picture|pictures] of {size} can't be read as outlines and [was|were] left out.",
            place=(x_mm, y_mm),
            size=f"{width_mm:.1f} × {height_mm:.1f} mm" if self._remarks.allow("pictures", 1, 40) else "other sizes",
        )

    def _shading(self, clip: BaseGeometry | None) -> None:
        self._remarks.add("pdf-shading", "{count} colour [gradient is|gradients are] taken as painted all over.")
        area = self._page_area if clip is None else clip
        if not area.is_empty:
            self._shapes.append(
                Shape(id=f"o{len(self._shapes)}", kind="shading", path=_around(area), fill=GREY, area=area)
            )

    def _clipped(self, item: object, matrix: Affine, outer: BaseGeometry | None) -> BaseGeometry | None:
        """The region outside which the object does not show, None for no limit."""
        clip = pdfium_c.FPDFPageObj_GetClipPath(item)
        paths = pdfium_c.FPDFClipPath_CountPaths(clip) if clip else 0
        region = outer
        for index in range(max(0, paths)):
            count = pdfium_c.FPDFClipPath_CountPathSegments(clip, index)
            if count < 1 or not self._takes(count):
                continue
            path = _path_of(count, partial(pdfium_c.FPDFClipPath_GetPathSegment, clip, index))
            one = self._region(_closed(path.transformed(matrix)))
            region = one if region is None else self._both(region, one)
        return region

    def _region(self, path: Path) -> BaseGeometry:
        key = path.segments.tobytes()
        if key not in self._clips:
            self._clips[key] = filled_region(path, "nonzero", tolerance_mm=self._options.tolerance_mm)
        return self._clips[key]

    def _both(self, one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
        key = one.wkb + b"&" + other.wkb
        if key not in self._clips:
            self._clips[key] = one.intersection(other)
        return self._clips[key]

    def _add(
        self, kind: str, path: Path, fill: str | None, stroke: Stroke | None, clip: BaseGeometry | None, rule: str
    ) -> None:
        if not len(path):
            return
        if not np.isfinite(path.segments).all():
            raise ValueError("coordinates that are no numbers")
        if clip is not None:
            reach = stroke.width_mm * max(stroke.miter_limit, 1.0) if stroke else 0.0
            x0, y0, x1, y1 = path_bounds_mm(path)
            if clip.covers(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach)):
                clip = None
        self._shapes.append(
            Shape(
                id=f"o{len(self._shapes)}",
                kind=kind,
                path=path,
                fill=fill,
                fill_rule="evenodd" if rule == "evenodd" else "nonzero",
                stroke=stroke,
                clip=clip,
                is_text=kind == "text",
            )
        )


def _address(handle: Any) -> int:
    return ctypes.cast(handle, ctypes.c_void_p).value or 0


def _objects(page: object) -> Iterator[object]:
    for index in range(max(0, pdfium_c.FPDFPage_CountObjects(page))):
        item = pdfium_c.FPDFPage_GetObject(page, index)
        if item:
            yield item


_TILED = "#bfbfbf"
"""The colour that PDFium names where the paint is a pattern."""


def _page_frame(page: pdfium.PdfPage) -> tuple[Affine, float, float]:
    """From the page's user space to its upright frame, y down, in points; and its size."""
    x0, y0, x1, y1 = page.get_cropbox()
    m0, n0, m1, n1 = page.get_mediabox()
    x0, y0, x1, y1 = max(x0, m0), max(y0, n0), min(x1, m1), min(y1, n1)
    width, height = x1 - x0, y1 - y0
    if not (0 < width < 1e6 and 0 < height < 1e6):
        raise UnreadableError("The page of the PDF has no size.", hint=AGAIN)
    upright = compose((1.0, 0.0, 0.0, -1.0, 0.0, height), translation(-x0, -y0))
    turn_deg = page.get_rotation() % 360  # clockwise
    if turn_deg == 90:
        return compose((0.0, 1.0, -1.0, 0.0, height, 0.0), upright), height, width
    if turn_deg == 180:
        return compose((-1.0, 0.0, 0.0, -1.0, width, height), upright), width, height
    if turn_deg == 270:
        return compose((0.0, -1.0, 1.0, 0.0, 0.0, width), upright), height, width
    return upright, width, height


def _letters_of(page: pdfium.PdfPage) -> dict[int, list[_Letter]]:
    """The page's characters, by the text object they belong to."""
    letters: dict[int, list[_Letter]] = {}
    text = pdfium_c.FPDFText_LoadPage(page.raw)
    if not text:
        return letters
    x, y, matrix = ctypes.c_double(), ctypes.c_double(), pdfium_c.FS_MATRIX()
    for index in range(max(0, pdfium_c.FPDFText_CountChars(text))):
        owner = _address(pdfium_c.FPDFText_GetTextObject(text, index))
        code = pdfium_c.FPDFText_GetUnicode(text, index)
        if not owner or pdfium_c.FPDFText_IsGenerated(text, index) == 1 or code == 0x20:
            continue
        pdfium_c.FPDFText_GetCharOrigin(text, index, x, y)
        pdfium_c.FPDFText_GetMatrix(text, index, matrix)
        size = pdfium_c.FPDFText_GetFontSize(text, index)
        place = (matrix.a * size, matrix.b * size, matrix.c * size, matrix.d * size, x.value, y.value)
        letters.setdefault(owner, []).append(_Letter(code=code, matrix=place))
    pdfium_c.FPDFText_ClosePage(text)
    return letters


def _matrix_of(item: object) -> Affine:
    m = pdfium_c.FS_MATRIX()
    if not pdfium_c.FPDFPageObj_GetMatrix(item, m):
        return IDENTITY
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def _path_of(count: int, segment: Callable[[int], object]) -> Path:
    """A path from PDFium's segments; a cubic comes as three points one after another."""
    builder = PathBuilder()
    x, y = ctypes.c_float(), ctypes.c_float()
    controls: list[float] = []
    for index in range(count):
        one = segment(index)
        pdfium_c.FPDFPathSegment_GetPoint(one, x, y)
        kind = pdfium_c.FPDFPathSegment_GetType(one)
        if kind == pdfium_c.FPDF_SEGMENT_MOVETO:
            builder.move_to(x.value, y.value)
        elif kind == pdfium_c.FPDF_SEGMENT_LINETO:
            builder.line_to(x.value, y.value)
        elif kind == pdfium_c.FPDF_SEGMENT_BEZIERTO:
            controls += [x.value, y.value]
            if len(controls) == 6:
                builder.cubic_to(*controls)
                controls = []
        if pdfium_c.FPDFPathSegment_GetClose(one):
            builder.close()
    return builder.build()


def _glyph_path(font: object, code: int) -> Path | None:
    glyph = pdfium_c.FPDFFont_GetGlyphPath(font, code, 1.0) if font and code else None
    if not glyph:
        return None
    count = pdfium_c.FPDFGlyphPath_CountGlyphSegments(glyph)
    return _closed(_path_of(max(count, 0), partial(pdfium_c.FPDFGlyphPath_GetGlyphPathSegment, glyph)))


def _closed(path: Path) -> Path:
    """All subpaths closed, as filling and clipping take them."""
    if path.closed.all():
        return path
    parts = []
    for subpath in path.subpaths():
        start, end = subpath.start_points[0], subpath.end_points[-1]
        back = [] if np.array_equal(start, end) else [polyline(np.array([end, start]))]
        parts.append(
            Path(
                kinds=np.concatenate([subpath.kinds, *(line.kinds for line in back)]),
                segments=np.concatenate([subpath.segments, *(line.segments for line in back)]),
                starts=subpath.starts,
                closed=np.ones(1, bool),
            )
        )
    return joined(parts)


def _around(area: BaseGeometry) -> Path:
    """The outlines of an area."""
    rings = [
        polyline(shapely.get_coordinates(ring), closed=True)
        for polygon in shapely.get_parts(area)
        if isinstance(polygon, shapely.Polygon)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    return joined(rings)


def _colour(item: object, get: Callable[..., int]) -> str | None:
    """ "#rrggbb" of opaque enough paint, else None."""
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    if not get(item, red, green, blue, alpha):
        return "#000000"
    return f"#{red.value:02x}{green.value:02x}{blue.value:02x}" if alpha.value >= OPAQUE else None


def _is_opaque(item: object) -> bool:
    channels = [ctypes.c_uint() for _ in range(4)]
    known = pdfium_c.FPDFPageObj_GetFillColor(item, *channels)
    return not known or channels[3].value == 255


def _stroke(item: object, colour: str, matrix: Affine) -> Stroke:
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


def _text_length(item: object) -> bool:
    """Whether a text object shows anything but spaces."""
    bounds = [ctypes.c_float() for _ in range(4)]
    if not pdfium_c.FPDFPageObj_GetBounds(item, *bounds):
        return False
    left, bottom, right, top = (bound.value for bound in bounds)
    return right - left > 1e-6 and top - bottom > 1e-6
