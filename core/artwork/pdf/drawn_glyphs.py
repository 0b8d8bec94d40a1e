"""Glyphs that are drawings of their own (type 3 fonts, ISO 32000-1, 9.6.5): each is read as a small page."""

from collections.abc import Callable
from dataclasses import dataclass

from core.artwork.drawing import Shape
from core.artwork.pdf.coded import Coded, glyph_matrix, glyph_procedure
from core.geometry.affine import Affine
from core.geometry.path import Path, joined

MAX_GLYPHS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnGlyph:
    """A glyph's shapes in glyph space, y up. outline: all of them as one, where they are plain fills, else None.

    takes_colour: painted in the text's colour, not in its own.
    """

    shapes: tuple[Shape, ...]
    outline: Path | None
    takes_colour: bool


class DrawnGlyphs:
    """The drawn glyphs that a page uses, by number of their font and code."""

    def __init__(
        self,
        coded: Coded | None,
        wanted: list[tuple[int, int]],
        read: Callable[[Coded, list[tuple[int, int]]], list[tuple[Shape, ...]]],
    ) -> None:
        self._matrices: dict[int, Affine] = {}
        self._glyphs: dict[tuple[int, int], DrawnGlyph] = {}
        wanted = wanted[:MAX_GLYPHS]
        if coded is None or not wanted:
            return
        for number, _ in wanted:
            self._matrices[number] = glyph_matrix(coded.drawn_fonts[number])
        for (number, code), shapes in zip(wanted, read(coded, wanted), strict=False):
            takes = _takes_colour(coded, number, code)
            self._glyphs[number, code] = DrawnGlyph(shapes=shapes, outline=_as_one(shapes), takes_colour=takes)

    def glyph(self, number: int, code: int) -> DrawnGlyph | None:
        """One glyph, None where it can't be read."""
        return self._glyphs.get((number, code))

    def matrix(self, number: int) -> Affine:
        """From glyph space to text space."""
        return self._matrices[number]


def _as_one(shapes: tuple[Shape, ...]) -> Path | None:
    plain = all(
        shape.fill and shape.stroke is None and shape.clip is None and shape.area is None for shape in shapes
    ) and (len(shapes) <= 1 and all(shape.fill_rule == "nonzero" for shape in shapes))
    return joined([shape.path for shape in shapes]) if plain else None


def _takes_colour(coded: Coded, number: int, code: int) -> bool:
    """Whether the drawing begins by saying that it is a stencil (operator d1; table 113)."""
    procedure = glyph_procedure(coded.drawn_fonts[number], code)
    if procedure is None:
        return True
    tokens = procedure.read_bytes()[:400].split()
    return b"d0" not in tokens[:12]
