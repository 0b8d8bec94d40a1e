"""Variable fonts are taken where the text asks for them (OpenType 1.9, fvar and gvar; CSS Fonts 4)."""

from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.tables.TupleVariation import TupleVariation

from core.artwork.fonts import outlines
from core.artwork.fonts.catalogue import FontFace, faces_of
from core.artwork.fonts.outlines import FontAsked, glyph_outline, shape_text

WIDE_BY_UNITS = {"wght": 200, "BEND": 400}
"""How much further the box of A reaches to the right at the end of each axis, of 1000 an em."""


def _box(width: int):  # type: ignore[no-untyped-def]
    pen = TTGlyphPen(None)
    for step, corner in (
        (pen.moveTo, (0, 0)),
        (pen.lineTo, (0, 500)),
        (pen.lineTo, (width, 500)),
        (pen.lineTo, (width, 0)),
    ):
        step(corner)
    pen.closePath()
    return pen.glyph()


@pytest.fixture
def face(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FontFace:
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder([".notdef", "A"])
    font.setupCharacterMap({ord("A"): "A"})
    font.setupGlyf({".notdef": _box(10), "A": _box(300)})
    font.setupHorizontalMetrics({".notdef": (600, 0), "A": (600, 0)})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": "Stretchy", "styleName": "Regular"})
    font.setupOS2(usWeightClass=400)
    font.setupPost()
    axes = [("wght", 400, 400, 900, "Weight"), ("BEND", 0, 0, 10, "Bend")]
    font.setupFvar(axes, [])
    moved = {
        tag: TupleVariation({tag: (0, 1, 1)}, [(0, 0), (0, 0), (units, 0), (units, 0), *[(0, 0)] * 4])
        for tag, units in WIDE_BY_UNITS.items()
    }
    font.setupGvar({"A": list(moved.values()), ".notdef": []})
    path = tmp_path / "stretchy.ttf"
    font.save(str(path))
    (made,) = faces_of(path)
    monkeypatch.setattr(outlines, "find_face", lambda *asked: made)
    return made


def width_em(asked: FontAsked) -> float:
    (glyph,), _ = shape_text("A", asked)
    return float(glyph_outline(glyph.face, glyph.glyph, glyph.variation).end_points[:, 0].max())


@pytest.mark.parametrize(
    ("weight", "axes", "expected"),
    [
        (400, (), 0.3),
        (900, (), 0.5),
        (650, (), 0.4),
        (1000, (), 0.5),
        (400, (("BEND", 5.0),), 0.5),
        (900, (("BEND", 99.0),), 0.9),
        (400, (("wght", 900.0),), 0.5),
    ],
)
def test_outlines_follow_the_axes(face: FontFace, weight: float, axes, expected: float) -> None:
    assert width_em(FontAsked(families=("Stretchy",), weight=weight, axes=axes)) == pytest.approx(expected, abs=2e-3)


def test_one_weight_after_the_other(face: FontFace) -> None:
    widths = [width_em(FontAsked(families=("Stretchy",), weight=weight)) for weight in (400, 900, 400)]
    assert widths == pytest.approx([0.3, 0.5, 0.3], abs=2e-3)


def test_an_axis_that_the_font_lacks_is_said(face: FontFace) -> None:
    _, used = shape_text("A", FontAsked(families=("Stretchy",), weight=800, axes=(("SOFT", 3.0), ("BEND", 1.0))))
    assert used.axes_missing == ("SOFT",)
    assert not used.style_differs  # its weight axis is used
