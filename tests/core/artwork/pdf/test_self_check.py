"""What is read wrongly is told: the reader is hindered in one way after another, and each must be noticed."""

from dataclasses import replace

import numpy as np
import pytest

from core.artwork.drawing import Drawing, ReadOptions, Shape
from core.artwork.pdf import reading, self_check
from core.artwork.pdf.found import Found
from core.artwork.pdf.glyphs import Glyphs
from core.artwork.pdf.reading import read_pdf
from core.geometry.affine import translation
from tests.core.artwork.pdf.test_reading import MM, pdf

CONTENT = """20 20 60 40 re f 0.5 w 20 100 m 180 100 l S 1 0 0 RG 3 w 100 20 m 180 60 l S
0 0 1 rg 120 110 30 30 re f 1 1 1 rg 130 115 10 20 re f 0 g BT /F1 12 Tf 20 120 Td (Small words) Tj ET"""


def differences(drawing: Drawing) -> list[tuple[float, float]]:
    return [(finding.x_mm, finding.y_mm) for finding in drawing.findings if finding.code == "pdf-differs"]


def with_shapes_changed(monkeypatch: pytest.MonkeyPatch, change) -> Drawing:
    """The page, where ``change(number, shape)`` gives each shape otherwise, or None."""
    add = Found.add

    def changed(self: Found, *args, **options) -> None:
        number = len(self.shapes)
        add(self, *args, **options)
        if len(self.shapes) > number:
            shape = change(number, self.shapes[number])
            self.shapes[number] = replace(self.shapes[number], fill=None, stroke=None) if shape is None else shape

    monkeypatch.setattr(Found, "add", changed)
    return read_pdf(pdf(CONTENT), ReadOptions())


def moved(shape: Shape, dx_mm: float) -> Shape:
    return replace(shape, path=shape.path.transformed(translation(dx_mm, 0.0)))


def test_a_page_that_is_read_well_has_no_remark() -> None:
    assert differences(read_pdf(pdf(CONTENT), ReadOptions())) == []


@pytest.mark.parametrize("lost", range(6))
def test_a_lost_shape_is_noticed(monkeypatch: pytest.MonkeyPatch, lost: int) -> None:
    drawing = with_shapes_changed(monkeypatch, lambda number, shape: None if number == lost else shape)
    assert len(differences(drawing)) == 1


@pytest.mark.parametrize("shifted", range(6))
def test_a_shifted_shape_is_noticed(monkeypatch: pytest.MonkeyPatch, shifted: int) -> None:
    drawing = with_shapes_changed(monkeypatch, lambda number, shape: moved(shape, 1.0) if number == shifted else shape)
    assert len(differences(drawing)) == 1


def test_a_wrong_colour_is_noticed_where_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    drawing = with_shapes_changed(
        monkeypatch, lambda number, shape: replace(shape, fill="#0000ff") if number == 4 else shape
    )
    ((x_mm, y_mm),) = differences(drawing)
    assert 130 * MM <= x_mm <= 140 * MM
    assert 15 * MM <= y_mm <= 35 * MM


def test_a_letter_of_another_shape_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    outline = Glyphs.outline
    monkeypatch.setattr(Glyphs, "outline", lambda self, font, code: outline(self, font, code if code != 0x53 else 0x58))
    assert len(differences(read_pdf(pdf(CONTENT), ReadOptions()))) == 1


def test_letters_without_a_copy_of_the_page_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "coded_page", lambda data, page: None)
    drawing = read_pdf(pdf(CONTENT), ReadOptions())
    assert {"pdf-text", "pdf-differs"} <= {finding.code for finding in drawing.findings}


def test_a_page_too_large_to_check_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(self_check, "MAX_CHECKED_SEGMENTS", 5)
    assert "pdf-unchecked" in {finding.code for finding in read_pdf(pdf(CONTENT), ReadOptions()).findings}


def test_rounding_to_pixels_is_no_difference() -> None:
    one = np.zeros((32, 32, 4), np.uint8)
    other = one.copy()
    one[8:20, 8:20, 3] = 255
    other[9:21, 8:20, 3] = 255
    assert not self_check.differing(one, other).any()
    other[:] = 0
    assert self_check.differing(one, other).max() == pytest.approx(1.0)
