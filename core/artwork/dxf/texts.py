"""TEXT, ATTRIB and MTEXT as outlines through installed fonts.

DXF heights are the height of capitals; a font is scaled so that its own capitals come to that. A font that is
missing names itself and its substitute in a finding. MTEXT is set line by line: inline fonts, heights, widths,
slants and colours are followed, stacked fractions are set in one line.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import PureWindowsPath
from typing import Any

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from ezdxf.enums import MAP_TEXT_ENUM_TO_ALIGN_FLAGS, MTextParagraphAlignment, TextEntityAlignment
from ezdxf.tools.text import MTextContext, MTextParser, TokenType, caret_decode, plain_text

from core.artwork.dxf.colours import entity_colour
from core.artwork.fonts.catalogue import installed_fonts
from core.artwork.fonts.outlines import FontAsked, FontUsed, glyph_outline, shape_text
from core.artwork.remarks import Remarks
from core.geometry.affine import Affine, compose, rotation, scaling, translation
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import Path, joined

LINE_PITCH = 5 / 3
"""Distance of MTEXT base lines in capital heights at a spacing factor of 1 (ezdxf documentation, MText)."""

MAX_LETTERS = 100_000
"""In one drawing, and a twentieth of it in one text: more is no artwork, and would take minutes to set."""

UPSIDE_DOWN, BACKWARDS = 4, 2
"""Flags of group 71 of TEXT (DXF Reference, TEXT)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """A font as a DXF style names it: family, or the file's name."""

    family: str
    bold: bool = False
    italic: bool = False
    width_factor: float = 1.0
    slant_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlined:
    """Outlines in the entity's plane, y up. colour: "#rrggbb", or None for the entity's own."""

    path: Path
    colour: str | None = None


def outlined(entity: Any, document: Any, remarks: Remarks) -> list[Outlined]:
    """The outlines of a text entity, in its own plane (MTEXT: in the drawing)."""
    length = len(entity.text if entity.dxftype() == "MTEXT" else entity.dxf.get("text", ""))
    if not remarks.allow("letters", length, MAX_LETTERS) or length > MAX_LETTERS / 20:
        remarks.add("dxf-text-too-long", "{count} [text|texts] too long to be set [was|were] left out.")
        return []
    if entity.dxftype() == "MTEXT":
        return _MTextSetter(entity, document, remarks).outlines()
    if entity.dxftype() == "ATTRIB":
        if entity.is_invisible:
            return []
        if entity.has_embedded_mtext_entity:
            return _MTextSetter(entity.virtual_mtext_entity(), document, remarks).outlines()
    return _single_line(entity, document, remarks)


def single_line_letters(raw: str) -> str:
    """What a TEXT or ATTRIB shows, its control codes followed. Carets at the end stay: the library drops them."""
    decoded = caret_decode(raw)
    return str(plain_text(raw)) + "^" * (len(decoded) - len(decoded.rstrip("^")))


def _single_line(entity: Any, document: Any, remarks: Remarks) -> list[Outlined]:
    dxf = entity.dxf
    text = single_line_letters(dxf.get("text", ""))
    if not text.strip():
        return []
    style = _style(document, dxf.get("style", "Standard"))
    height = dxf.get("height", 1.0)
    path, advance = _set(text, style, height, remarks)
    alignment, first, second = entity.get_placement()
    across, up = dxf.get("width", 1.0) or 1.0, 1.0
    angle_deg = dxf.get("rotation", 0.0)
    anchor = first
    if second is not None and advance > 0:  # fitted between two points
        way = second - first
        across = way.magnitude / advance
        up = across if alignment is TextEntityAlignment.ALIGNED else 1.0
        angle_deg = way.angle_deg
    horizontal, vertical = MAP_TEXT_ENUM_TO_ALIGN_FLAGS[alignment]
    capital_em, small_em, depth_em = _rises_em(style)
    dx = {0: 0.0, 1: 0.5, 2: 1.0, 4: 0.5}.get(horizontal, 0.0) * advance
    dy = {0: 0.0, 1: -height * depth_em / capital_em, 2: height / 2, 3: height}.get(vertical, 0.0)
    if horizontal == 4:
        dy = height * small_em / capital_em / 2
    flags = dxf.get("text_generation_flag", 0)
    across *= -1.0 if flags & BACKWARDS else 1.0
    up *= -1.0 if flags & UPSIDE_DOWN else 1.0
    slant_deg = dxf.get("oblique", 0.0)
    shape = compose(scaling(across, up), compose(_slanted(slant_deg), translation(-dx, -dy)))
    place = compose(translation(anchor.x, anchor.y), compose(rotation(angle_deg), shape))
    return [Outlined(path=path.transformed(place))]


@dataclass(slots=True, kw_only=True, eq=False)
class _Word:
    """Set text on a line: its outlines from the start of its base line, and how far it reaches."""

    path: Path
    width: float
    height: float
    colour: str | None
    is_space: bool = False


@dataclass(slots=True, kw_only=True, eq=False)
class _TextLine:
    """align: 0 left, 1 centre, 2 right, None as the whole text is attached."""

    words: list[_Word] = field(default_factory=list)
    align: int | None = None

    @property
    def width(self) -> float:
        end = len(self.words)
        while end and self.words[end - 1].is_space:
            end -= 1
        return sum(word.width for word in self.words[:end])


class _MTextSetter:
    """Sets one MTEXT."""

    def __init__(self, entity: Any, document: Any, remarks: Remarks) -> None:
        self._entity = entity
        self._remarks = remarks
        self._style = _style(document, entity.dxf.get("style", "Standard"))
        self._height = entity.dxf.get("char_height", 1.0)
        self._fonts_told: set[str] = set()

    def outlines(self) -> list[Outlined]:
        """All lines placed at the insertion point."""
        dxf = self._entity.dxf
        lines = self._lines(dxf.get("width", 0.0))
        if not lines:
            return []
        box = dxf.get("width", 0.0) or max(line.width for line in lines)
        attachment = dxf.get("attachment_point", 1) - 1
        column, row = attachment % 3, attachment // 3
        heights = [max([word.height for word in line.words], default=self._height) for line in lines]
        pitch = LINE_PITCH * (dxf.get("line_spacing_factor", 1.0) or 1.0)
        baselines = [-heights[0]]
        for height in heights[1:]:
            baselines.append(baselines[-1] - pitch * height)
        top = (0.0, -baselines[-1] / 2, -baselines[-1])[row]
        angle_deg = self._entity.get_rotation()
        flip = -1.0 if dxf.get("extrusion", (0, 0, 1))[2] < 0 else 1.0
        place = compose(translation(dxf.insert.x, dxf.insert.y), compose(rotation(angle_deg), scaling(1.0, flip)))
        parts: dict[str | None, list[Path]] = {}
        for line, baseline in zip(lines, baselines, strict=True):
            align = column if line.align is None else line.align
            x = -box * column / 2 + (box - line.width) * align / 2
            for word in line.words:
                at = compose(place, translation(x, baseline + top))
                parts.setdefault(word.colour, []).append(word.path.transformed(at))
                x += word.width
        return [Outlined(path=joined(paths), colour=colour) for colour, paths in parts.items()]

    def _lines(self, box: float) -> list[_TextLine]:
        """Words broken into lines at paragraphs and at the width of the box (0: no limit)."""
        lines = [_TextLine()]
        for word, align in self._words():
            if word is None:
                lines.append(_TextLine())
                continue
            line = lines[-1]
            if box > 0 and not word.is_space and line.words and line.width and self._reach(line) + word.width > box:
                line = _TextLine()
                lines.append(line)
            if word.is_space and not line.words and len(lines) > 1:
                continue
            line.align = align
            line.words.append(word)
        while lines and not lines[-1].words:
            lines.pop()
        return lines

    @staticmethod
    def _reach(line: _TextLine) -> float:
        return sum(word.width for word in line.words)

    def _words(self) -> Iterator[tuple[_Word | None, int | None]]:
        context = MTextContext()
        context.cap_height = self._height
        context.aci = 256
        for token in MTextParser(self._entity.all_columns_raw_content(), context):
            kind, ctx = token.type, token.ctx
            align = _PARAGRAPH_ALIGNS.get(ctx.paragraph.align)
            if kind == TokenType.WORD:
                yield self._word(token.data, ctx), align
            elif kind in (TokenType.SPACE, TokenType.NBSP, TokenType.TABULATOR):
                count = 4 if kind == TokenType.TABULATOR else 1
                yield self._word("\N{NO-BREAK SPACE}" * count, ctx, is_space=True), align
            elif kind == TokenType.STACK:
                upper, lower, _ = token.data
                self._remarks.add("dxf-text-stacked", "{count} stacked [fraction is|fractions are] set in one line.")
                yield self._word(f"{upper}/{lower}" if lower else upper, ctx), align
            elif kind in (TokenType.NEW_PARAGRAPH, TokenType.NEW_COLUMN):
                yield None, align

    def _word(self, text: str, ctx: MTextContext, *, is_space: bool = False) -> _Word:
        style = self._style
        face = ctx.font_face
        if face.family and face.family.casefold() != "sans-serif":
            style = Lettering(family=face.family, bold=face.weight >= 600, italic="italic" in face.style.lower())
        path, width = _set(text, style, ctx.cap_height, self._remarks, self._fonts_told)
        across = (ctx.width_factor if ctx.width_factor != 1.0 else style.width_factor) or 1.0
        path = path.transformed(compose(scaling(across, 1.0), _slanted(ctx.oblique or style.slant_deg)))
        colour = None
        if ctx.rgb is not None:
            colour = "#{:02x}{:02x}{:02x}".format(*ctx.rgb)
        elif ctx.aci not in (0, 256):
            colour = entity_colour(None, ctx.aci)
        return _Word(path=path, width=width * across, height=ctx.cap_height, colour=colour, is_space=is_space)


_PARAGRAPH_ALIGNS = {
    MTextParagraphAlignment.LEFT: 0,
    MTextParagraphAlignment.CENTER: 1,
    MTextParagraphAlignment.RIGHT: 2,
}


def _set(
    text: str, style: Lettering, height: float, remarks: Remarks, fonts_told: set[str] | None = None
) -> tuple[Path, float]:
    """One line with capitals of this height, y up from the start of its base line; and its advance.

    fonts_told: those of the same text of which it was told already that they are missing.
    """
    path, advance, used = _outlined_line(text, style, height / _rises_em(style)[0])
    _remark_font(used, style, remarks, fonts_told if fonts_told is not None else set())
    return path.transformed((1.0, 0.0, 0.0, -1.0, 0.0, 0.0)), advance


def _outlined_line(text: str, style: Lettering, em: float) -> tuple[Path, float, FontUsed]:
    """One line, y down, letter by letter as drawing programs set it: no kerning, no ligatures."""
    glyphs, used = shape_text(text, _asked(style))
    parts = []
    x = 0.0
    for glyph in glyphs:
        outline = glyph_outline(glyph.face, glyph.glyph, glyph.variation)
        if len(outline):
            parts.append(outline.transformed((em, 0.0, 0.0, em, x + glyph.dx_em * em, -glyph.dy_em * em)))
        x += glyph.advance_em * em
    return joined(parts), x, used


@lru_cache(maxsize=256)
def _rises_em(style: Lettering) -> tuple[float, float, float]:
    """Height of a capital, height of a small letter, depth of a descender below the base line (above zero), in em."""
    bounds = [path_bounds_mm(_outlined_line(letter, style, 1.0)[0], 1e-4) for letter in "Xxp"]
    (_, capital, _, _), (_, small, _, _), (_, _, _, depth) = bounds
    if not (capital < 0 and small < 0 and depth > 0):  # a font of signs, or none
        return 0.7, 0.5, 0.2
    return -capital, -small, depth


def _remark_font(used: FontUsed, style: Lettering, remarks: Remarks, told: set[str]) -> None:
    is_told = style.family in told
    if used.family is None or used.substituted:
        told.add(style.family)
    if used.family is None:
        if not is_told:
            remarks.add(
                "dxf-no-font",
                "{count} [text|texts] left out: font “{font}” is missing and there is no other.",
                font=style.family,
            )
    elif used.substituted and not is_told:
        remarks.add(
            "dxf-font-missing",
            "Font “{font}” is missing; {count} [text is|texts are] set in “{other}” instead.",
            font=style.family,
            other=used.family,
        )
    for letter, family in used.borrowed:
        remarks.add(
            "dxf-glyph-borrowed",
            "The font “{font}” has no “{letter}”; it was taken from {other}.",
            font=used.family or style.family,
            letter=letter,
            other=family,
            severity="note",
        )
    if used.without_glyph:
        remarks.add("dxf-no-glyph", "No installed font has these characters: {letters}", letters=used.without_glyph)


def _asked(style: Lettering) -> FontAsked:
    return FontAsked(
        families=(style.family,), weight=700 if style.bold else 400, italic=style.italic, features=_LETTER_BY_LETTER
    )


_LETTER_BY_LETTER = (("kern", 0), ("liga", 0), ("clig", 0))


def _slanted(angle_deg: float) -> Affine:
    """Letters leaning to the right."""
    return (1.0, 0.0, math.tan(math.radians(angle_deg)) if abs(angle_deg) < 85 else 0.0, 1.0, 0.0, 0.0)


def _style(document: Any, name: str) -> Lettering:
    entry = document.styles.get(name) if document.styles.has_entry(name) else None
    if entry is None:
        return Lettering(family=name)
    family, italic, bold = entry.get_extended_font_data()
    file = PureWindowsPath(entry.dxf.get("font", "") or "").name
    return Lettering(
        family=family or _family_of_file(file) or name,
        bold=bold,
        italic=italic,
        width_factor=entry.dxf.get("width", 1.0) or 1.0,
        slant_deg=entry.dxf.get("oblique", 0.0),
    )


@lru_cache(maxsize=64)
def _family_of_file(file: str) -> str:
    """The family of an installed font file of this name; else the name without its ending."""
    wanted = file.casefold()
    for face in installed_fonts():
        if PureWindowsPath(face.file.replace("/", "\\")).name.casefold() == wanted:
            return face.family
    return PureWindowsPath(file).stem
