"""The fonts of the run sheet: the built-in ones, or installed ones where the maker's words need more letters."""

from dataclasses import dataclass

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from core.artwork.fonts.catalogue import FontFace, find_face, installed_fonts

BUILT_IN_ENCODING = "cp1252"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fonts:
    """Names as the PDF library knows them."""

    regular: str = "Helvetica"
    bold: str = "Helvetica-Bold"


def fonts_for(words: str) -> Fonts:
    """The built-in fonts where they have every letter of ``words``, else the installed pair that misses fewest."""
    wanted = {letter for letter in words if letter.isprintable()}
    if not _missing_in_built_in(wanted):
        return Fonts()
    preferred = [find_face("sans-serif"), *installed_fonts()]
    best: tuple[int, FontFace | None] = (len(_missing_in_built_in(wanted)), None)
    for face in preferred:
        if face is None or face.index or face.italic or not 300 <= face.weight <= 500:
            continue
        missing = _missing_in(face, wanted)
        if missing is not None and missing < best[0]:
            best = (missing, face)
        if best[0] == 0:
            break
    if best[1] is None:
        return Fonts()
    regular = registered(best[1])
    bold = find_face(best[1].families[0], weight=700)
    covered = bold is not None and not bold.index and _missing_in(bold, wanted) == best[0]
    return Fonts(regular=regular, bold=registered(bold) if covered and bold is not None else regular)


def _missing_in_built_in(wanted: set[str]) -> set[str]:
    return {letter for letter in wanted if not letter.encode(BUILT_IN_ENCODING, "ignore")}


def _missing_in(face: FontFace, wanted: set[str]) -> int | None:
    """How many letters the face lacks; None where the PDF library can't use it."""
    try:
        font = TTFont("probe", face.file)
    except (TTFError, OSError, ValueError, KeyError):
        return None
    return sum(ord(letter) not in font.face.charToGlyph for letter in wanted)


def registered(face: FontFace) -> str:
    """The name under which the PDF library knows an installed face."""
    name = f"{face.families[0]} {face.weight:g}"
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, face.file))
    return name
