"""Goes through the objects of a page in painting order and turns each into shapes, or says why not."""

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from pypdfium2 import raw as pdfium_c
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding, Shape
from core.artwork.pdf.clips import Clips
from core.artwork.pdf.found import Found
from core.artwork.pdf.letters import hidden_name
from core.artwork.pdf.paint import (
    GREY,
    TILED,
    fill_colour,
    has_pattern,
    is_opaque,
    matrix_of,
    stroke_colour,
    stroke_of,
)
from core.artwork.pdf.segments import all_closed, around, path_of
from core.artwork.pdf.texts import Texts
from core.errors import UnreadableError
from core.geometry.affine import Affine, compose
from core.progress import Progress

MAX_FORM_DEPTH = 40
MOST_PICTURES = 200


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Here:
    """Where the walk is: the map to mm, the clip in force, how deep in forms."""

    matrix: Affine
    clip: BaseGeometry | None = None
    depth: int = 0


def objects_of(page: object) -> list[object]:
    """The objects of a page in painting order."""
    return list(_children(pdfium_c.FPDFPage_CountObjects(page), partial(pdfium_c.FPDFPage_GetObject, page)))


class Walk:
    """One walk over a page of a document."""

    def __init__(self, document: object, page: object, found: Found, texts: Texts) -> None:
        self._document, self._page = document, page
        self._found = found
        self._texts = texts
        self._clips = Clips(found)

    def page(self, items: list[object], twins: list[object], progress: Progress) -> None:
        """All objects of the page; twins are those of its coded copy, or none."""
        for number, (item, twin) in enumerate(_paired(items, twins)):
            if number % 200 == 0:
                progress(number / len(items), "Reading the page")
            self._read(item, twin, Here(matrix=self._found.to_mm))

    def _read(self, item: object, twin: object, here: Here) -> None:
        hidden = hidden_name(twin) if twin else None
        if hidden is not None:
            self._found.remarks.add(
                "pdf-hidden",
                "The layer “{name}” is switched off in the PDF; {count} [object|objects] on it [was|were] left out.",
                name=hidden,
            )
            return
        kind = pdfium_c.FPDFPageObj_GetType(item)
        try:
            clip = self._clips.of(item, here.matrix, here.clip)
            if kind == pdfium_c.FPDF_PAGEOBJ_PATH:
                self._path(item, compose(here.matrix, matrix_of(item)), clip)
            elif kind == pdfium_c.FPDF_PAGEOBJ_FORM:
                matrix = compose(here.matrix, matrix_of(item))
                self._form(item, twin, Here(matrix=matrix, clip=clip, depth=here.depth + 1))
            elif kind == pdfium_c.FPDF_PAGEOBJ_TEXT:
                self._texts.read(item, twin, clip)
            elif kind == pdfium_c.FPDF_PAGEOBJ_IMAGE:
                self._image(item, compose(here.matrix, matrix_of(item)), clip)
            elif kind == pdfium_c.FPDF_PAGEOBJ_SHADING:
                self._shading(item, clip)
        except (ValueError, ArithmeticError, shapely.GEOSException):
            self._found.remarks.add(
                "pdf-bad-object", "{count} damaged [object|objects] of the page [was|were] left out."
            )

    def _form(self, item: object, twin: object, here: Here) -> None:
        if here.depth > MAX_FORM_DEPTH:
            self._found.remarks.add("pdf-too-deep", "{count} [group|groups] nested too deep [was|were] left out.")
            return
        for child, other in _paired(_in_form(item), _in_form(twin) if twin else []):
            self._read(child, other, here)

    def _path(self, item: object, matrix: Affine, clip: BaseGeometry | None) -> None:
        fill_mode, stroked = ctypes.c_int(), ctypes.c_int()
        if not pdfium_c.FPDFPath_GetDrawMode(item, fill_mode, stroked):
            return
        fill = fill_colour(item) if fill_mode.value else None
        colour = stroke_colour(item) if stroked.value else None
        if fill is None and colour is None:
            return
        count = pdfium_c.FPDFPath_CountSegments(item)
        if not self._found.takes(count):
            return
        path = path_of(count, partial(pdfium_c.FPDFPath_GetPathSegment, item)).transformed(matrix)
        stroke = None if colour is None else stroke_of(item, colour, matrix)
        if fill is not None and stroke is None and len(path):
            path = all_closed(path)
        before = len(self._found.shapes)
        self._found.add("path", path, fill=fill, stroke=stroke, clip=clip, evenodd=fill_mode.value == 1)
        place = (float(path.start_points[0][0]), float(path.start_points[0][1])) if len(path) else None
        self._remark_paint(item, fill, place, range(before, len(self._found.shapes)))

    def _remark_paint(self, item: object, fill: str | None, place: tuple[float, float] | None, shapes: range) -> None:
        approximate = False
        if fill == TILED and has_pattern(self._document, item):
            approximate = True
            self._found.remarks.add(
                "pdf-pattern", "{count} [pattern is|patterns are] taken as painted all over.", place=place
            )
        if pdfium_c.FPDFPageObj_HasTransparency(item) and is_opaque(item):
            approximate = True
            self._found.remarks.add(
                "pdf-transparency",
                "{count} blended or masked [object is|objects are] taken as fully painted.",
                place=place,
            )
        if approximate:
            self._found.set_aside.append(item)
            self._found.approximate.update(shapes)

    def _image(self, item: object, matrix: Affine, clip: BaseGeometry | None) -> None:
        a, b, c, d, e, f = matrix
        width_mm, height_mm = float(np.hypot(a, b)), float(np.hypot(c, d))
        x_mm, y_mm = e + min(0, a) + min(0, c), f + min(0, b) + min(0, d)
        remarks, wanted = self._found.remarks, self._found.picture
        size = f"{width_mm:.1f} × {height_mm:.1f} mm" if remarks.allow("pictures", 1, 40) else "other sizes"
        self._found.set_aside.append(item)
        shapes: tuple[Shape, ...] = ()
        findings: tuple[Finding, ...] = ()
        why = "too many pictures"
        if wanted is not None and remarks.allow("decoded pictures", 1, MOST_PICTURES):
            from core.artwork.pdf.images import shapes_of_image

            try:
                shapes, findings = shapes_of_image(item, matrix, wanted, page=(self._document, self._page))
            except UnreadableError as error:
                why = error.message.rstrip(".")
        if not shapes:
            told = "{count} [picture|pictures] made of dots, {size}, [was|were] left out ({why})."
            remarks.add("pdf-image", told, place=(x_mm, y_mm), size=size, why=why)
            return
        told = "{count} [picture|pictures] made of dots, {size}, [was|were] {way}."
        way = "traced" if wanted is not None and wanted.way == "trace" else "screened"
        remarks.add("image-taken", told, severity="note", place=(x_mm, y_mm), size=size, way=way)
        for finding in findings:
            remarks.add(finding.code, finding.message.replace("{", "(").replace("}", ")"), severity=finding.severity)
        before = len(self._found.shapes)
        for shape in shapes:
            if self._found.takes(len(shape.path)):
                self._found.add("image", shape.path, fill=shape.fill, clip=clip, evenodd=True, tones=shape.tones)
        self._found.approximate.update(range(before, len(self._found.shapes)))

    def _shading(self, item: object, clip: BaseGeometry | None) -> None:
        self._found.remarks.add("pdf-shading", "{count} colour [gradient is|gradients are] taken as painted all over.")
        self._found.set_aside.append(item)
        area = self._found.page_area if clip is None else clip
        if not area.is_empty:
            self._found.approximate.add(len(self._found.shapes))
            self._found.add("shading", around(area), fill=GREY, area=area)


def _in_form(form: object) -> list[object]:
    return list(_children(pdfium_c.FPDFFormObj_CountObjects(form), partial(pdfium_c.FPDFFormObj_GetObject, form)))


def _children(count: int, get: "partial[object]") -> Iterator[object]:
    return (item for item in (get(index) for index in range(max(0, count))) if item)


def _paired(items: list[object], twins: list[object]) -> Iterator[tuple[object, object]]:
    """Each object with its twin in the copy, None where the two don't stand side by side."""
    kinds = [pdfium_c.FPDFPageObj_GetType(item) for item in items]
    if kinds != [pdfium_c.FPDFPageObj_GetType(twin) for twin in twins]:
        twins = [None] * len(items)
    return zip(items, twins, strict=True)


def texts_in(items: list[object], depth: int = 0) -> Iterator[object]:
    """The text objects among these and in forms."""
    for item in items:
        kind = pdfium_c.FPDFPageObj_GetType(item)
        if kind == pdfium_c.FPDF_PAGEOBJ_TEXT:
            yield item
        elif kind == pdfium_c.FPDF_PAGEOBJ_FORM and depth < MAX_FORM_DEPTH:
            yield from texts_in(_in_form(item), depth + 1)
