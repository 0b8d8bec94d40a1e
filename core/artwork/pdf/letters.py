"""Where the letters of a page stand and which code of their font each is, read off the coded copy."""

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from pypdfium2 import raw as pdfium_c

from core.artwork.pdf.coded import DRAWN_FONT, HIDDEN, code_of
from core.artwork.pdf.paint import address, matrix_of
from core.geometry.affine import Affine, compose, translation


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Letter:
    """A character where it stands: its code in the font, and the map from text space at size 1 to the page."""

    code: int
    matrix: Affine


def letters_of(page: object) -> dict[int, list[Letter]]:
    """The letters of a page of the copy, by the address of the text object they belong to."""
    letters: dict[int, list[Letter]] = {}
    text = pdfium_c.FPDFText_LoadPage(page)
    if not text:
        return letters
    try:
        for index, code in _codes(text):
            owner = address(pdfium_c.FPDFText_GetTextObject(text, index))
            if owner:
                letters.setdefault(owner, []).append(Letter(code=code, matrix=_place(text, index)))
    finally:
        pdfium_c.FPDFText_ClosePage(text)
    return letters


_LOOK_BACK = 5
"""PDFium tells no letters of a text that repeats one of the last five close by (as boldface is sometimes made)."""


def with_repeats(texts: list[object], letters: dict[int, list[Letter]]) -> dict[int, list[Letter]]:
    """The letters, those included of texts that PDFium took for repetitions of another."""
    complete = dict(letters)
    for index, text in enumerate(texts):
        if address(text) in complete:
            continue
        for other in reversed(texts[max(0, index - _LOOK_BACK) : index]):
            if address(other) in complete and _alike(text, other):
                dx, dy = (new - old for new, old in zip(matrix_of(text)[4:], matrix_of(other)[4:], strict=True))
                complete[address(text)] = [_shifted(letter, dx, dy) for letter in complete[address(other)]]
                break
    return complete


def _alike(text: object, other: object) -> bool:
    same_font = address(pdfium_c.FPDFTextObj_GetFont(text)) == address(pdfium_c.FPDFTextObj_GetFont(other))
    apart = np.abs(np.array(_shape(text)) - np.array(_shape(other))).max()
    return same_font and bool(apart <= 1e-3)


def _shape(text: object) -> tuple[float, ...]:
    """The font's size, the map without its shift, and the size of the text."""
    size, bounds = ctypes.c_float(), [ctypes.c_float() for _ in range(4)]
    pdfium_c.FPDFTextObj_GetFontSize(text, size)
    pdfium_c.FPDFPageObj_GetBounds(text, *bounds)
    left, bottom, right, top = (bound.value for bound in bounds)
    return (size.value, *matrix_of(text)[:4], right - left, top - bottom)


def _shifted(letter: Letter, dx: float, dy: float) -> Letter:
    return replace(letter, matrix=compose(translation(dx, dy), letter.matrix))


def _codes(text: object) -> Iterator[tuple[int, int]]:
    """The index of each letter's first private character, and the code that it and the next one spell."""
    unicodes = [
        pdfium_c.FPDFText_GetUnicode(text, index) for index in range(max(0, pdfium_c.FPDFText_CountChars(text)))
    ]
    for index, (high, low) in enumerate(pairwise(unicodes)):
        code = code_of(high, low)
        if code is not None:
            yield index, code


def _place(text: object, index: int) -> Affine:
    x, y, matrix = ctypes.c_double(), ctypes.c_double(), pdfium_c.FS_MATRIX()
    pdfium_c.FPDFText_GetCharOrigin(text, index, x, y)
    pdfium_c.FPDFText_GetMatrix(text, index, matrix)
    size = pdfium_c.FPDFText_GetFontSize(text, index)
    return (matrix.a * size, matrix.b * size, matrix.c * size, matrix.d * size, x.value, y.value)


def drawn_font_number(font: object) -> int | None:
    """The number of a font whose glyphs are drawings, None for others."""
    buffer = ctypes.create_string_buffer(64)
    length = pdfium_c.FPDFFont_GetBaseFontName(font, buffer, 64) if font else 0
    name = buffer.value.decode("latin-1") if 0 < length <= 64 else ""
    number = name.removeprefix(DRAWN_FONT)
    return int(number) if number != name and number.isdecimal() else None


def hidden_name(item: object) -> str | None:
    """What the switched-off group is called that an object of the copy belongs to, None for one that shows."""
    for index in range(max(0, pdfium_c.FPDFPageObj_CountMarks(item))):
        mark = pdfium_c.FPDFPageObj_GetMark(item, index)
        name = _mark_text(mark)
        if name is not None:
            return name
    return None


def _mark_text(mark: object) -> str | None:
    length = ctypes.c_ulong()
    key = HIDDEN.encode()
    if not mark or not pdfium_c.FPDFPageObjMark_GetParamStringValue(mark, key, None, 0, length) or length.value < 2:
        return None
    buffer = ctypes.create_string_buffer(length.value)
    units = ctypes.cast(buffer, ctypes.POINTER(pdfium_c.FPDF_WCHAR))
    if not pdfium_c.FPDFPageObjMark_GetParamStringValue(mark, key, units, length.value, length):
        return None
    return buffer.raw[: length.value].decode("utf-16-le", "replace").rstrip("\0")
