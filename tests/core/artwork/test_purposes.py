"""Sixty and more small files: each shape gets the purpose that a maker would give it, and nothing is cut by mistake."""

import pytest

from core.artwork.drawing import ReadOptions, SortOptions
from core.artwork.separating import separated
from core.artwork.sorting.deciding import sort_shapes
from core.artwork.svg import read_svg
from tests.core.artwork.purpose_files import FILES, File


def found(file: File) -> list[tuple[str, str]]:
    options = SortOptions()
    drawing = separated(read_svg(file.svg, ReadOptions()), line_width_mm=options.line_width_mm)
    return [(one.purpose, one.why) for one in sort_shapes(drawing, options)]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_purposes_are_what_a_maker_would_expect(file):
    assert [purpose for purpose, _ in found(file)] == file.purposes, file.why


def test_at_least_sixty_files_and_fifty_of_them_settled_unasked():
    assert len({file.name for file in FILES}) == len(FILES) >= 60
    settled = [file for file in FILES if not any(purpose == "undecided" for purpose, _ in found(file))]
    assert len(settled) >= 50, [file.name for file in FILES if file not in settled]


def test_no_line_is_cut_wrongly_in_any():
    wrong = [
        file.name
        for file in FILES
        for (purpose, _), expected in zip(found(file), file.purposes, strict=True)
        if purpose == "cut" and expected != "cut"
    ]
    assert not wrong


def test_every_file_says_why():
    for file in FILES:
        assert file.why.endswith((".", "?")) and len(file.why.split()) >= 4
