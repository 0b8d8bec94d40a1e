"""Vector PDF through PDFium: paths with fill, stroke and clip; text as the glyphs' outlines; forms expanded.

PDFium keeps numbers in single precision: places are good to some ten-thousandths of a millimetre.
"""

import threading

import pypdfium2 as pdfium
import shapely
from pypdfium2 import raw as pdfium_c

from core.artwork.drawing import Drawing, ReadOptions, Shape
from core.artwork.pdf.coded import Coded, coded_page, glyph_pages
from core.artwork.pdf.drawn_glyphs import DrawnGlyphs
from core.artwork.pdf.found import Found
from core.artwork.pdf.frame import page_frame
from core.artwork.pdf.letters import Letter, drawn_font_number, letters_of, with_repeats
from core.artwork.pdf.paint import address
from core.artwork.pdf.self_check import remark_differences
from core.artwork.pdf.texts import Texts
from core.artwork.pdf.walking import Walk, objects_of, texts_in
from core.errors import UnreadableError
from core.geometry.affine import compose, scaling
from core.progress import Progress, part, silent
from core.units import MM_PER_UNIT

AGAIN = "Ask for the file again, or for SVG."
_using_pdfium = threading.Lock()  # PDFium is not made for several threads


def read_pdf(data: bytes, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """Page ``options.page`` of a PDF; a point is 1/72 inch (ISO 32000-1, 8.3.2.3) unless ``options.units`` says else.

    What was read is held against PDFium's own picture of the page, and a difference that shows is a finding.
    Raises UnreadableError for broken or locked files, a missing page, and pages that hold nothing to engrave.
    """
    with _using_pdfium:
        document = _opened(data)
        try:
            if not 1 <= options.page <= len(document):
                raise UnreadableError(
                    f"The PDF has no page {options.page}; it has {len(document)}.", hint="Choose another page."
                )
            return _drawing(document, data, options, progress)
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


def _drawing(document: pdfium.PdfDocument, data: bytes, options: ReadOptions, progress: Progress) -> Drawing:
    try:
        page = document[options.page - 1]
    except pdfium.PdfiumError:
        raise UnreadableError(f"Page {options.page} of the PDF is broken.", hint=AGAIN) from None
    unit = options.units or "pt"
    if unit not in MM_PER_UNIT:
        raise UnreadableError(f"“{unit}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}.")
    to_page, width, height = page_frame(page, hint=AGAIN)
    coded = coded_page(data, options.page)
    mm = MM_PER_UNIT[unit] * (coded.user_unit if coded and options.units is None else 1.0)
    found = Found(tolerance_mm=options.tolerance_mm, picture=options.picture)
    found.to_mm = compose(scaling(mm, mm), to_page)
    found.page_area = shapely.box(0.0, 0.0, width * mm, height * mm)
    twin = _Twin(coded)
    try:
        _walk(document, page, twin, found, part(progress, 0.1, 0.9))
    finally:
        twin.close()
    _remark_page(found, document, page, options)
    if not found.shapes:
        reasons = " ".join(finding.message for finding in found.findings())
        raise UnreadableError(f"Page {options.page} of the PDF holds no vector artwork. {reasons}".strip(), hint=AGAIN)
    remark_differences(found, page, width * mm, height * mm)
    return Drawing(
        width_mm=width * mm,
        height_mm=height * mm,
        units_from="points of the PDF" if options.units is None else f"{unit}, as said",
        shapes=tuple(found.shapes),
        findings=found.findings(),
        page_count=len(document),
        missing=found.missing(),
    )


class _Twin:
    """The copies of the page, open in PDFium; empty when there are none."""

    def __init__(self, coded: Coded | None) -> None:
        self.coded = coded
        self.objects: list[object] = []
        self.letters: dict[int, list[Letter]] = {}
        self._open: list[pdfium.PdfDocument | pdfium.PdfPage] = []
        if coded is None:
            return
        try:
            spelled, self.objects = self._page(coded.spelled), objects_of(self._page(coded.plain).raw)
        except pdfium.PdfiumError:
            self.close()
            return
        texts = list(texts_in(objects_of(spelled.raw)))
        letters = with_repeats(texts, letters_of(spelled.raw))
        owners = zip(texts, texts_in(self.objects), strict=False)
        self.letters = {address(plain): letters.get(address(text), []) for text, plain in owners}

    def drawn_codes(self) -> list[tuple[int, int]]:
        """Number of font and code of each drawn glyph in use, in order of use."""
        wanted: dict[tuple[int, int], None] = {}
        for text in texts_in(self.objects):
            number = drawn_font_number(pdfium_c.FPDFTextObj_GetFont(text))
            if number is not None:
                wanted |= dict.fromkeys((number, letter.code) for letter in self.letters.get(address(text), []))
        return list(wanted)

    def close(self) -> None:
        for one in reversed(self._open):
            one.close()
        self._open = []
        self.objects = []

    def _page(self, data: bytes) -> pdfium.PdfPage:
        document = pdfium.PdfDocument(data)
        self._open.append(document)
        page = document[0]
        self._open.append(page)
        return page


def _walk(document: pdfium.PdfDocument, page: pdfium.PdfPage, twin: _Twin, found: Found, progress: Progress) -> None:
    drawn = DrawnGlyphs(twin.coded, twin.drawn_codes(), _read_glyphs)
    walk = Walk(document.raw, page.raw, found, Texts(found, twin.letters, drawn))
    walk.page(objects_of(page.raw), twin.objects, progress)


def _read_glyphs(coded: Coded, wanted: list[tuple[int, int]]) -> list[tuple[Shape, ...]]:
    """The shapes of drawn glyphs in glyph space."""
    data = glyph_pages(coded, wanted)
    if data is None:
        return []
    document = pdfium.PdfDocument(data)
    try:
        return [_glyph_shapes(document, index) for index in range(len(document))]
    finally:
        document.close()


def _glyph_shapes(document: pdfium.PdfDocument, index: int) -> tuple[Shape, ...]:
    page = document[index]
    found = Found(tolerance_mm=_GLYPH_TOLERANCE)
    Walk(document.raw, page.raw, found, Texts(found, {}, DrawnGlyphs(None, [], _read_glyphs))).page(
        objects_of(page.raw), [], silent
    )
    page.close()
    return tuple(found.shapes)


_GLYPH_TOLERANCE = 0.01
"""Of clips in glyph space, mostly a thousand units a letter."""


def _remark_page(found: Found, document: pdfium.PdfDocument, page: pdfium.PdfPage, options: ReadOptions) -> None:
    if len(document) > 1:
        found.remarks.add(
            "pdf-pages",
            "The PDF has {pages} pages; page {page} was read.",
            severity="note",
            pages=str(len(document)),
            page=str(options.page),
        )
    if pdfium_c.FPDFPage_GetAnnotCount(page.raw) > 0:
        found.remarks.add("pdf-notes", "Comments and form fields of the page were left out.", severity="note")
