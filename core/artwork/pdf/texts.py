"""Text of a page as the outlines of its glyphs, each where it stands."""

import ctypes
from dataclasses import replace

from pypdfium2 import raw as pdfium_c

from core.artwork.drawing import Shape
from core.artwork.pdf.drawn_glyphs import DrawnGlyphs
from core.artwork.pdf.found import Found
from core.artwork.pdf.glyphs import Glyphs, is_embedded
from core.artwork.pdf.letters import Letter, drawn_font_number
from core.artwork.pdf.paint import address, fill_colour, matrix_of, stroke_colour, stroke_of
from core.artwork.transforming import transformed_shape
from core.geometry.affine import Affine, compose, determinant
from core.geometry.path import Path, joined
from core.geometry.region import BaseGeometry

_FILLED, _STROKED, _UNSEEN = (0, 2, 4, 6), (1, 2, 5, 6), (3, 7)
"""Text rendering modes (ISO 32000-1, table 106)."""


class Texts:
    """The texts of one page: letters by the address of the copy's text object, glyphs, and drawn glyphs."""

    def __init__(self, found: Found, letters: dict[int, list[Letter]], drawn: DrawnGlyphs) -> None:
        self._found = found
        self._letters = letters
        self._drawn = drawn
        self._glyphs = Glyphs()

    def read(self, item: object, twin: object, clip: BaseGeometry | None) -> None:
        """One text object; its twin in the copy tells the letters."""
        mode = pdfium_c.FPDFTextObj_GetTextRenderMode(item)
        if mode in _UNSEEN:
            return
        fill = fill_colour(item) if mode in _FILLED else None
        colour = stroke_colour(item) if mode in _STROKED else None
        letters = self._letters.get(address(twin), []) if twin else []
        number = drawn_font_number(pdfium_c.FPDFTextObj_GetFont(twin)) if twin else None
        if twin is None and _shows_something(item):
            self._unreadable(item)
            return
        if number is not None:
            self._read_drawn(item, number, letters, fill_colour(item), clip)
            return
        if fill is None and colour is None:
            return
        path = self._outlines(item, twin, letters)
        if not len(path) or not self._found.takes(len(path)):
            return
        stroke = None if colour is None else stroke_of(item, colour, self._found.to_mm)
        self._found.add("text", path, fill=fill, stroke=stroke, clip=clip)

    def _outlines(self, item: object, twin: object, letters: list[Letter]) -> Path:
        font = pdfium_c.FPDFTextObj_GetFont(twin)
        outlines = []
        for letter in letters:
            glyph = self._glyphs.outline(font, letter.code)
            if glyph is not None and len(glyph):  # PDFium draws nothing for a glyph that it gives no outline for
                outlines.append(glyph.transformed(compose(self._found.to_mm, letter.matrix)))
        if outlines and not is_embedded(font):
            self._found.remarks.add(
                "pdf-font",
                "The PDF does not hold the font “{name}”; its letters are drawn with another one.",
                severity="note",
                place=self._place(item),
                name=_font_name(font),
            )
        return joined(outlines)

    def _read_drawn(
        self, item: object, number: int, letters: list[Letter], fill: str | None, clip: BaseGeometry | None
    ) -> None:
        """Letters of a font whose glyphs are drawings: outlines where they are plain, else all their shapes."""
        outlines: list[Path] = []
        for letter in letters:
            glyph = self._drawn.glyph(number, letter.code)
            matrix = compose(compose(self._found.to_mm, letter.matrix), self._drawn.matrix(number))
            if glyph is None or determinant(matrix) == 0.0:
                self._unreadable(item)
                continue
            if glyph.outline is not None and glyph.takes_colour:
                outlines.append(glyph.outline.transformed(matrix))
                continue
            if not self._found.takes(sum(len(shape.path) for shape in glyph.shapes)):
                continue
            for shape in glyph.shapes:
                self._add_drawn(shape, matrix, fill if glyph.takes_colour else None, clip)
        path = joined([outline for outline in outlines if len(outline)])
        if fill is not None and len(path) and self._found.takes(len(path)):
            self._found.add("text", path, fill=fill, clip=clip)

    def _add_drawn(self, shape: Shape, matrix: Affine, colour: str | None, clip: BaseGeometry | None) -> None:
        moved = transformed_shape(shape, matrix)
        both = moved.clip if clip is None else clip if moved.clip is None else moved.clip.intersection(clip)
        self._found.add(
            "text",
            moved.path,
            fill=(colour or shape.fill) if shape.fill else None,
            stroke=replace(moved.stroke, colour=colour) if moved.stroke and colour else moved.stroke,
            clip=both,
            evenodd=shape.fill_rule == "evenodd",
            area=moved.area,
        )

    def _unreadable(self, item: object) -> None:
        self._found.remarks.add(
            "pdf-text",
            "{count} [text|texts], or some letters of [it|them], could not be turned into outlines.",
            place=self._place(item),
        )

    def _place(self, item: object) -> tuple[float, float]:
        return compose(self._found.to_mm, matrix_of(item))[4:]


def _font_name(font: object) -> str:
    buffer = ctypes.create_string_buffer(200)
    length = pdfium_c.FPDFFont_GetBaseFontName(font, buffer, 200)
    return buffer.value.decode("utf-8", "replace") if 0 < length <= 200 and buffer.value else "without a name"


def _shows_something(item: object) -> bool:
    """Whether a text object has a size."""
    bounds = [ctypes.c_float() for _ in range(4)]
    if not pdfium_c.FPDFPageObj_GetBounds(item, *bounds):
        return False
    left, bottom, right, top = (bound.value for bound in bounds)
    return right - left > 1e-6 and top - bottom > 1e-6
