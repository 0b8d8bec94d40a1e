"""Text to outlines, through installed fonts: HarfBuzz shapes it, the fonts' own outlines are what is drawn.

Nothing is drawn in a wrong font unsaid: what comes back names the font asked for and the one used.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import uharfbuzz as hb

from core.artwork.fonts.bidi import visual_runs
from core.artwork.fonts.catalogue import FontFace, any_face, find_face, generic_of, installed_fonts
from core.geometry.affine import Affine
from core.geometry.path import Path, PathBuilder, joined

_LOADED_FONTS = 48
_JOINING_REACH = 5
"""Characters beside a part that HarfBuzz looks at for the forms of joined letters."""

_WEIGHT_STEP = 200
"""Weights this far apart look different."""


Variation = tuple[tuple[str, float], ...]
"""Where a variable font is taken: each axis's tag and value (OpenType, fvar)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FontUsed:
    """The font that was asked for, and what was used: ``family`` is None where nothing could be.

    ``substituted`` says that a named font is missing; a generic family ("serif") is never missing.
    ``style_differs`` says that the face used is not as bold or not as slanted as asked.
    ``without_glyph`` are characters that no installed font has.
    """

    asked: str
    family: str | None
    substituted: bool
    style_differs: bool = False
    without_glyph: str = ""
    axes_missing: tuple[str, ...] = ()
    """Axes of variation that were asked for by name and that the font does not have."""
    borrowed: tuple[tuple[str, str], ...] = ()
    """Characters that the font lacks, and the family of the installed font that they were taken from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FontAsked:
    """What text says of its font. ``families`` in the order of preference; ``features`` are OpenType tags."""

    families: tuple[str, ...]
    weight: float = 400
    italic: bool = False
    width_pct: float = 100
    features: tuple[tuple[str, int], ...] = ()
    axes: Variation = ()
    """Axes of a variable font that are asked for by name (CSS Fonts 4, font-variation-settings)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glyph:
    """One shaped glyph, in visual order; lengths in em, y up as fonts have it.

    ``start`` is the index of the first character of its cluster, ``characters`` how many stand in the cluster (0 on
    the cluster's further glyphs).
    """

    face: FontFace
    glyph: int
    start: int
    characters: int
    advance_em: float
    dx_em: float
    dy_em: float
    right_to_left: bool
    variation: Variation = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FontMetrics:
    """In em, y up: descent and underline position are negative below the baseline."""

    ascent_em: float
    descent_em: float
    x_height_em: float
    underline_em: float
    underline_thickness_em: float
    strikeout_em: float
    subscript_em: float
    """How far a subscript drops."""
    superscript_em: float
    """How far a superscript rises."""


def outline_text(
    text: str,
    *,
    family: str,
    weight: float = 400,
    style: str = "normal",
    size_mm: float,
    width_pct: float = 100,
    letter_spacing_mm: float = 0.0,
    direction: str = "ltr",
) -> tuple[Path, float, FontUsed]:
    """One line of text as outlines: its path (mm, y down, from the start of the baseline at the origin), its
    advance in mm, and the font used.

    ``family`` may be a CSS list; ``style`` is "normal", "italic" or "oblique"; ``size_mm`` is the em, not the cap
    height (see ``font_metrics``). Without any font on the machine the path is empty and the advance 0.
    """
    asked = FontAsked(families=split_families(family), weight=weight, italic=style != "normal", width_pct=width_pct)
    glyphs, used = shape_text(text, asked, right_to_left=direction == "rtl")
    parts = []
    x_mm = 0.0
    for glyph in glyphs:
        outline = glyph_outline(glyph.face, glyph.glyph, glyph.variation)
        if len(outline):
            place: Affine = (size_mm, 0.0, 0.0, size_mm, x_mm + glyph.dx_em * size_mm, -glyph.dy_em * size_mm)
            parts.append(outline.transformed(place))
        x_mm += glyph.advance_em * size_mm + (letter_spacing_mm if glyph.characters else 0.0)
    return joined(parts), x_mm, used


def split_families(text: str) -> tuple[str, ...]:
    """The names in a CSS font-family list."""
    names = (name.strip().strip("\"'").strip() for name in text.split(","))
    return tuple(name for name in names if name)


def shape_text(text: str, asked: FontAsked, *, right_to_left: bool = False) -> tuple[list[Glyph], FontUsed]:
    """Glyphs of one line in visual order, with kerning, ligatures and marks; and the font used.

    Characters that the font lacks come from another installed one. ``right_to_left`` is the base direction; runs
    against it are told by their characters.
    """
    runs = visual_runs(text, right_to_left=right_to_left)
    return shape_runs(text, runs, asked)


def shape_runs(text: str, runs: Iterable[tuple[int, int, int]], asked: FontAsked) -> tuple[list[Glyph], FontUsed]:
    """Glyphs of parts of a line, each (start, stop, level), in the order given; letters join over the parts' ends."""
    main, substituted = _main_face(asked)
    name = asked.families[0] if asked.families else ""
    if main is None:
        return [], FontUsed(asked=name, family=None, substituted=True)
    missing: dict[str, None] = {}
    borrowed: dict[str, str] = {}
    glyphs: list[Glyph] = []
    for start, stop, level in runs:
        spans = _face_spans(text, start, stop, main, asked, missing)
        for face, span_start, span_stop in spans:
            if face is not main:
                borrowed |= {one: face.family for one in text[span_start:span_stop] if not _shows_nothing(one)}
        for face, span_start, span_stop in reversed(spans) if level % 2 else spans:
            glyphs.extend(_shaped(text, span_start, span_stop, face, asked, level % 2 == 1))
    for glyph in glyphs:  # what a font has as a picture made of dots only can't be burned
        one = text[glyph.start] if glyph.characters == 1 else " "
        if not _shows_nothing(one) and not len(glyph_outline(glyph.face, glyph.glyph, glyph.variation)):
            missing[one] = None
    axes = _loaded(main).axes
    slanted = main.italic or (asked.italic and not axes.keys().isdisjoint(("slnt", "ital")))
    differs = slanted != asked.italic or (abs(main.weight - asked.weight) >= _WEIGHT_STEP and "wght" not in axes)
    used = FontUsed(
        asked=name,
        family=main.family,
        substituted=substituted,
        style_differs=differs,
        without_glyph="".join(missing),
        axes_missing=tuple(tag for tag, _ in asked.axes if tag not in axes),
        borrowed=tuple((one, family) for one, family in borrowed.items() if one not in missing),
    )
    return glyphs, used


def main_metrics(asked: FontAsked) -> FontMetrics | None:
    """The metrics of the font that ``asked`` comes to; None without any font."""
    face, _ = _main_face(asked)
    return font_metrics(face) if face else None


@lru_cache(maxsize=256)
def font_metrics(face: FontFace) -> FontMetrics:
    """Ascent, x-height, lines under and through, by the font's own tables."""
    loaded = _loaded(face)
    font, em = loaded.font, loaded.em
    extents = font.get_font_extents("ltr")

    def metric(tag: hb.OTMetricsTag, default: float) -> float:
        value = font.get_metric_position(tag)
        return value / em if value else default

    return FontMetrics(
        ascent_em=extents.ascender / em,
        descent_em=extents.descender / em,
        x_height_em=metric(hb.OTMetricsTag.X_HEIGHT, 0.5),
        underline_em=metric(hb.OTMetricsTag.UNDERLINE_OFFSET, -0.1),
        underline_thickness_em=metric(hb.OTMetricsTag.UNDERLINE_SIZE, 0.05),
        strikeout_em=metric(hb.OTMetricsTag.STRIKEOUT_OFFSET, 0.26),
        subscript_em=metric(hb.OTMetricsTag.SUBSCRIPT_EM_Y_OFFSET, 0.2),
        superscript_em=metric(hb.OTMetricsTag.SUPERSCRIPT_EM_Y_OFFSET, 0.4),
    )


@lru_cache(maxsize=8192)
def glyph_outline(face: FontFace, glyph: int, variation: Variation = ()) -> Path:
    """A glyph's outline with an em of 1, y down. EMPTY for blanks and for glyphs made of dots."""
    loaded = _loaded(face)
    pen = _OutlinePen(loaded.em)
    if loaded.axes:
        loaded.font.set_variations(dict(variation))
    loaded.font.draw_glyph(glyph, _draw_functions(), pen)
    pen.builder.close()
    return pen.builder.build()


@dataclass(slots=True)
class _LoadedFont:
    font: hb.Font
    em: float
    characters: frozenset[int]
    axes: dict[str, tuple[float, float]] = field(default_factory=dict)
    """Least and most of each axis of variation."""


@lru_cache(maxsize=_LOADED_FONTS)
def _loaded(face: FontFace) -> _LoadedFont:
    hb_face = hb.Face(hb.Blob.from_file_path(face.file), face.index)
    axes = {axis.tag: (axis.min_value, axis.max_value) for axis in hb_face.axis_infos}
    return _LoadedFont(
        font=hb.Font(hb_face),
        em=float(hb_face.upem),
        characters=frozenset(hb_face.unicodes),
        axes=axes,
    )


def _variation(face: FontFace, asked: FontAsked) -> Variation:
    """Where a variable font is taken for what is asked: its own axes only, each within its range."""
    axes = _loaded(face).axes
    if not axes:
        return ()
    wanted = {"wght": asked.weight, "wdth": asked.width_pct}
    if asked.italic and not face.italic:
        wanted |= {"ital": 1.0, "slnt": -14.0}  # 14 degrees: CSS Fonts 4, font-style oblique
    wanted |= dict(asked.axes)
    return tuple((tag, min(max(wanted[tag], low), high)) for tag, (low, high) in axes.items() if tag in wanted)


class _OutlinePen:
    def __init__(self, em: float) -> None:
        self.builder = PathBuilder()
        self.em = em

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Font units to an em of 1, y down."""
        return x / self.em, -y / self.em


@lru_cache(maxsize=1)
def _draw_functions() -> hb.DrawFuncs:
    functions = hb.DrawFuncs()
    functions.set_move_to_func(lambda x, y, pen: pen.builder.move_to(*pen.at(x, y)))
    functions.set_line_to_func(lambda x, y, pen: pen.builder.line_to(*pen.at(x, y)))
    functions.set_quadratic_to_func(lambda cx, cy, x, y, pen: pen.builder.quad_to(*pen.at(cx, cy), *pen.at(x, y)))
    functions.set_cubic_to_func(
        lambda ax, ay, bx, by, x, y, pen: pen.builder.cubic_to(*pen.at(ax, ay), *pen.at(bx, by), *pen.at(x, y))
    )
    functions.set_close_path_func(lambda pen: pen.builder.close())
    return functions


def _main_face(asked: FontAsked) -> tuple[FontFace | None, bool]:
    """The first family that is installed, else a fallback; and whether a named font had to be replaced."""
    for i, family in enumerate(asked.families):
        face = find_face(family, asked.weight, asked.italic, asked.width_pct)
        if face is not None:
            return face, i > 0 and generic_of(asked.families[0]) is None
    named = any(generic_of(family) is None for family in asked.families)
    return any_face(asked.weight, asked.italic), named


def _face_spans(
    text: str, start: int, stop: int, main: FontFace, asked: FontAsked, missing: dict[str, None]
) -> list[tuple[FontFace, int, int]]:
    """Parts of a run by the font that has their characters; marks stay with their base."""
    spans: list[tuple[FontFace, int, int]] = []
    for i in range(start, stop):
        character = text[i]
        face = spans[-1][0] if spans and _goes_with_previous(character) else _face_for(ord(character), main, asked)
        if face is None:
            if not character.isspace() and unicodedata.category(character) != "Cf":
                missing[character] = None
            face = main
        if spans and spans[-1][0] is face:
            spans[-1] = (face, spans[-1][1], i + 1)
        else:
            spans.append((face, i, i + 1))
    return spans


def _shows_nothing(character: str) -> bool:
    """Whether it is no letter, digit or sign: spaces, controls, marks."""
    return unicodedata.category(character)[0] not in "LNPS"


def _goes_with_previous(character: str) -> bool:
    return unicodedata.category(character) in ("Mn", "Mc", "Me", "Cf") or character.isspace()


@lru_cache(maxsize=8192)
def _face_for(character: int, main: FontFace, asked: FontAsked) -> FontFace | None:
    if character in _loaded(main).characters:
        return main
    for family in asked.families:
        face = find_face(family, asked.weight, asked.italic, asked.width_pct)
        if face is not None and character in _loaded(face).characters:
            return face
    seen: set[str] = set()
    for one in installed_fonts():
        if one.family in seen:
            continue
        seen.add(one.family)
        face = find_face(one.family, asked.weight, asked.italic, asked.width_pct)
        if face is not None and character in _loaded(face).characters:
            return face
    return None


def _shaped(text: str, start: int, stop: int, face: FontFace, asked: FontAsked, right_to_left: bool) -> list[Glyph]:
    loaded = _loaded(face)
    variation = _variation(face, asked)
    if loaded.axes:
        loaded.font.set_variations(dict(variation))
    buffer = hb.Buffer()
    near = max(start - _JOINING_REACH, 0)
    letters = [ord(character) for character in text[near : stop + _JOINING_REACH]]
    buffer.add_codepoints(letters, item_offset=start - near, item_length=stop - start)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if right_to_left else "ltr"
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_CHARACTERS
    hb.shape(loaded.font, buffer, dict(asked.features))
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    if infos is None or positions is None:
        return []
    begins = sorted({info.cluster for info in infos})
    length_of = dict(zip(begins, np.diff([*begins, stop - near]).tolist(), strict=True))
    glyphs = []
    counted: set[int] = set()
    for info, position in zip(infos, positions, strict=True):
        first = info.cluster not in counted
        counted.add(info.cluster)
        glyphs.append(
            Glyph(
                face=face,
                glyph=info.codepoint,
                start=near + info.cluster,
                characters=int(length_of[info.cluster]) if first else 0,
                advance_em=position.x_advance / loaded.em,
                dx_em=position.x_offset / loaded.em,
                dy_em=position.y_offset / loaded.em,
                right_to_left=right_to_left,
                variation=variation,
            )
        )
    return glyphs


__all__ = [
    "FontAsked",
    "FontMetrics",
    "FontUsed",
    "Glyph",
    "Variation",
    "font_metrics",
    "glyph_outline",
    "main_metrics",
    "outline_text",
    "shape_runs",
    "shape_text",
    "split_families",
]
