"""Outlines of glyphs as PDFium draws them, by their code in the font: fonts are those of the plain copy (``coded``)."""

from functools import partial

from pypdfium2 import raw as pdfium_c

from core.artwork.pdf.paint import address
from core.artwork.pdf.segments import all_closed, path_of
from core.geometry.path import Path


class Glyphs:
    """The glyph outlines of a page's fonts, each made once."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, int], Path | None] = {}

    def outline(self, font: object, code: int) -> Path | None:
        """The outline of a code at size 1, y up, closed; None when the font can't give it."""
        key = (address(font), code)
        if key not in self._known:
            self._known[key] = _outline(font, code)
        return self._known[key]


def is_embedded(font: object) -> bool:
    """Whether the file brings the font along."""
    return bool(font) and pdfium_c.FPDFFont_GetIsEmbedded(font) == 1


def _outline(font: object, code: int) -> Path | None:
    glyph = pdfium_c.FPDFFont_GetGlyphPath(font, code, 1.0) if font else None
    if not glyph:
        return None
    count = pdfium_c.FPDFGlyphPath_CountGlyphSegments(glyph)
    return all_closed(path_of(max(count, 0), partial(pdfium_c.FPDFGlyphPath_GetGlyphPathSegment, glyph)))
