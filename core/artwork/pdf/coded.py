"""One page of a PDF again, made over so that PDFium tells what it otherwise keeps to itself.

PDFium gives a letter's place, but of the letter itself only its Unicode, and gives a glyph's outline only for a
Unicode; fonts cut down to the letters in use number their glyphs freely, so there is no way back from that to the
glyph. So the page is copied twice with qpdf, and Unicode is made to say the letter's code in its font: in the one copy,
which is asked for the letters, that of code ``c`` is two private characters that spell ``c``; in the other, which is
asked for outlines, it is ``c`` itself. Objects of both copies and of the page stand in the same order; how they are
painted is always taken from the page itself. In the copies, too, optional content that is switched off carries a
mark (ISO 32000-1, 8.11), and fonts whose glyphs are drawings (type 3) a number.
"""

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pikepdf

from core.artwork.pdf.objects import dictionary, items
from core.artwork.pdf.optional_content import Groups, hidden_groups, name_of, shows
from core.element_faults import note_fault

PRIVATE = 0xE000
"""The first private character (Unicode, Private Use Area): high bytes of codes from here, low bytes 256 further."""

HIDDEN = "TainHidden"
DRAWN_FONT = "TainDrawnFont"
MAX_FONTS = 2_000
_WORDS_INSTEAD = re.compile(rb"/ActualText(?=\s*[(<])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Coded:
    """The copies' bytes; fonts of drawn glyphs by number; how many points a unit of the page is."""

    spelled: bytes
    plain: bytes
    drawn_fonts: tuple[pikepdf.Object, ...]
    source: pikepdf.Pdf
    user_unit: float


def coded_page(data: bytes, page: int) -> Coded | None:
    """The copies of a page (from 1); None when the file is too broken to be copied."""
    try:
        source = pikepdf.open(io.BytesIO(data), suppress_warnings=True)
        if page > len(source.pages):
            return None
        original = source.pages[page - 1]
        if "/Annots" in original.obj:
            del original.obj["/Annots"]
        off = hidden_groups(source.Root)
        user_unit = _user_unit(original)
        one_byte, two_bytes = source.make_stream(b""), source.make_stream(b"")
        fonts = _prepare(original, off, one_byte, two_bytes)
        copies = []
        for destination in (_spelled, _plain):
            one_byte.write(_cmap(1, destination))
            two_bytes.write(_cmap(256, destination))
            copies.append(_one_page(original))
    except (pikepdf.PdfError, pikepdf.PasswordError, *_FAULTS) as fault:
        note_fault(fault, f"Page {page} of the PDF")
        return None
    return Coded(spelled=copies[0], plain=copies[1], drawn_fonts=fonts, source=source, user_unit=user_unit)


_FAULTS = (
    ValueError,
    TypeError,
    KeyError,
    AttributeError,
    IndexError,
    RuntimeError,
    NotImplementedError,
    OverflowError,
)
"""What the library raises where an object of the file is not what it should be."""


def code_of(high: int, low: int) -> int | None:
    """The code that two characters of the copy spell, None where they spell none."""
    if not (PRIVATE <= high < PRIVATE + 256 and PRIVATE + 256 <= low < PRIVATE + 512):
        return None
    return (high - PRIVATE) << 8 | (low - PRIVATE - 256)


def glyph_pages(coded: Coded, wanted: list[tuple[int, int]]) -> bytes | None:
    """A PDF with a page for each (number of a drawn font, code): the glyph's own drawing, in glyph space."""
    document = pikepdf.new()
    try:
        for number, code in wanted:
            page = document.add_blank_page(page_size=(14_400, 14_400))
            procedure = glyph_procedure(coded.drawn_fonts[number], code)
            if procedure is not None:
                page.obj.Contents = document.copy_foreign(procedure)
                resources = dictionary(coded.drawn_fonts[number].get("/Resources"))
                if len(resources.keys()):
                    page.obj.Resources = document.copy_foreign(_indirect(coded.source, resources))
        stream = io.BytesIO()
        document.save(stream)
    except (pikepdf.PdfError, *_FAULTS) as fault:
        note_fault(fault, "The drawn letters of the PDF")
        return None
    return stream.getvalue()


def glyph_procedure(font: pikepdf.Object, code: int) -> pikepdf.Object | None:
    """The drawing of a code in a type 3 font (ISO 32000-1, 9.6.5), None where it has none."""
    place, name = 0, None
    for entry in items(dictionary(font.get("/Encoding")).get("/Differences")):
        if isinstance(entry, int):
            place = int(entry)
        elif isinstance(entry, pikepdf.Name):
            name = str(entry) if place == code else name
            place += 1
    procedure = dictionary(font.get("/CharProcs")).get(name) if name else None
    return procedure if isinstance(procedure, pikepdf.Stream) else None


def glyph_matrix(font: pikepdf.Object) -> tuple[float, float, float, float, float, float]:
    """From glyph space to text space."""
    try:
        a, b, c, d, e, f = (float(value) for value in items(font.get("/FontMatrix")))
    except (ValueError, TypeError):
        return (0.001, 0.0, 0.0, 0.001, 0.0, 0.0)
    return (a, b, c, d, e, f)


def _user_unit(page: pikepdf.Page) -> float:
    try:
        unit = float(page.obj.get("/UserUnit", 1.0))
    except (ValueError, TypeError):
        return 1.0
    return unit if 0 < unit < 1e6 else 1.0


def _one_page(page: pikepdf.Page) -> bytes:
    copy = pikepdf.new()
    copy.pages.append(page)
    stream = io.BytesIO()
    copy.save(stream, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    return stream.getvalue()


def _prepare(
    page: pikepdf.Page, off: Groups, one_byte: pikepdf.Object, two_bytes: pikepdf.Object
) -> tuple[pikepdf.Object, ...]:
    """Codes into all fonts, marks onto hidden groups, told words away; returns the fonts of drawn glyphs."""
    drawn: list[pikepdf.Object] = []
    seen_fonts: set[tuple[int, int]] = set()
    _without_words(page.obj.get("/Contents"))
    for resources in _all_resources(page):
        for group in _values(resources, "/Properties"):
            group_off = not shows(group, off)
            if "/ActualText" in group:
                del group["/ActualText"]
            if group_off:
                group["/" + HIDDEN] = pikepdf.String(name_of(group))
        for drawing in _values(resources, "/XObject"):
            if drawing.get("/Subtype") == "/Form":
                _without_words(drawing)
                if "/OC" in drawing and not shows(drawing["/OC"], off):
                    _mark_all(drawing, name_of(drawing["/OC"]))
        for font in _values(resources, "/Font"):
            if font.objgen in seen_fonts and font.objgen != (0, 0):
                continue
            seen_fonts.add(font.objgen)
            font["/ToUnicode"] = two_bytes if font.get("/Subtype") == "/Type0" else one_byte
            if font.get("/Subtype") == "/Type3" and len(drawn) < MAX_FONTS:
                font["/BaseFont"] = pikepdf.Name(f"/{DRAWN_FONT}{len(drawn)}")
                drawn.append(font)
    return tuple(drawn)


def _spelled(high: int) -> str:
    return f"{PRIVATE + high:04x}{PRIVATE + 256:04x}"


def _plain(high: int) -> str:
    return f"{high:02x}00"


def _cmap(high_bytes: int, destination: Callable[[int], str]) -> bytes:
    """A map to Unicode of all codes with so many high bytes; ``destination`` is that of the first under a high byte."""
    ranges = [f"<{high:02x}00> <{high:02x}ff> <{destination(high)}>" for high in range(high_bytes)]
    blocks = [ranges[i : i + 64] for i in range(0, high_bytes, 64)]
    body = "\n".join(f"{len(block)} beginbfrange\n" + "\n".join(block) + "\nendbfrange" for block in blocks)
    head = "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CMapType 2 def\n"
    codes = "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n"
    return f"{head}{codes}{body}\nendcmap\nend\nend".encode()


def _all_resources(page: pikepdf.Page) -> Iterator[pikepdf.Object]:
    """The resources of the page and of all forms in it, each once."""
    seen: set[tuple[int, int]] = set()
    waiting = [page.obj.get("/Resources") or page.resources]
    while waiting:
        resources = waiting.pop()
        if not isinstance(resources, pikepdf.Dictionary):
            continue
        if resources.objgen != (0, 0):
            if resources.objgen in seen:
                continue
            seen.add(resources.objgen)
        yield resources
        for drawing in _values(resources, "/XObject"):
            if drawing.objgen in seen or drawing.get("/Subtype") != "/Form":
                continue
            seen.add(drawing.objgen)
            waiting += [drawing["/Resources"]] if "/Resources" in drawing else []


def _values(resources: pikepdf.Object, kind: str) -> list[pikepdf.Object]:
    entries = resources.get(kind)
    if not isinstance(entries, pikepdf.Dictionary):
        return []
    return [value for value in entries.values() if isinstance(value, pikepdf.Dictionary | pikepdf.Stream)]


def _without_words(contents: object) -> None:
    """Takes the spoken words off marked content: PDFium would tell them in place of the letters that are drawn."""
    for stream in contents if isinstance(contents, pikepdf.Array) else [contents]:
        if not isinstance(stream, pikepdf.Stream):
            continue
        content = stream.read_bytes()
        changed = _WORDS_INSTEAD.sub(b"/TaintedTxt", content)
        if changed != content:
            stream.write(changed)


def _mark_all(form: pikepdf.Object, name: str) -> None:
    """Puts everything in a hidden form between marks."""
    words = pikepdf.String(name).unparse()
    form.write(b"/OC << /%s %s >> BDC\n" % (HIDDEN.encode(), words) + form.read_bytes() + b"\nEMC")


def _indirect(source: pikepdf.Pdf, value: pikepdf.Object) -> pikepdf.Object:
    return value if value.is_indirect else source.make_indirect(value)
