"""Each shape's purpose and reason, on small drawings written as SVG, 1 unit = 1 mm."""

import pytest

from core.artwork.drawing import Drawing, ReadOptions, SortOptions
from core.artwork.sorting.deciding import sort_shapes
from core.artwork.svg import read_svg


def drawn(body: str, size: str = "100x60") -> Drawing:
    width, height = size.split("x")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
    )
    return read_svg(f"{head}{body}</svg>".encode(), ReadOptions())


def sorted_as(body: str, **options: object) -> list[tuple[str, str]]:
    return [(one.purpose, one.why) for one in sort_shapes(drawn(body), SortOptions(**options))]


def purposes(body: str, **options: object) -> list[str]:
    return [purpose for purpose, _ in sorted_as(body, **options)]


OUTLINE = '<rect x="1" y="1" width="98" height="58" fill="none" stroke="#000" stroke-width=".1"/>'
HOLE = '<circle cx="8" cy="8" r="2" fill="none" stroke="#000" stroke-width=".1"/>'
MOTIF = '<path d="M30 20h30v20h-30z"/>'


def test_a_plate_with_a_hole_and_a_motif():
    assert purposes(OUTLINE + HOLE + MOTIF) == ["cut", "cut", "fill"]


def test_every_shape_has_a_reason_in_words():
    for _, why in sorted_as(OUTLINE + HOLE + MOTIF + '<path d="M5 50H40" stroke="#000" fill="none"/>'):
        assert why.endswith(".") and len(why.split()) >= 3


@pytest.mark.parametrize("closed", ["", "Z"])
def test_open_hairlines_score_and_closed_ones_cut(closed):
    body = f'<path d="M10 10H40V30{closed}" fill="none" stroke="#000" stroke-width=".05"/>'
    assert purposes(body) == ["cut" if closed else "score"]


@pytest.mark.parametrize(("width_mm", "purpose"), [(0.29, "score"), (0.3, "score"), (0.31, "fill"), (2, "fill")])
def test_the_line_limit_parts_lines_from_areas_and_is_named(width_mm, purpose):
    body = f'<path d="M10 10H40" fill="none" stroke="#000" stroke-width="{width_mm}"/>'
    ((found, why),) = sorted_as(body)
    assert found == purpose
    if purpose == "fill":
        assert "0.3 mm" in why and "stroke" in why


def test_the_line_limit_is_the_maker_s():
    body = '<path d="M10 10H40" fill="none" stroke="#000" stroke-width=".5"/>'
    assert purposes(body) == ["fill"]
    assert purposes(body, line_width_mm=0.6) == ["score"]


def test_the_limit_holds_after_scaling():
    line = '<path d="M10 10H40" fill="none" stroke="#000" stroke-width=".2"/>'
    assert purposes(f'<g transform="scale(2)">{line}</g>') == ["fill"]


def test_an_inner_outline_close_to_a_fill_can_t_be_told():
    close = '<rect x="29.8" y="19.8" width="30.4" height="20.4" fill="none" stroke="#000" stroke-width=".1"/>'
    assert purposes(OUTLINE + close + MOTIF)[1] == "undecided"


def test_a_dashed_outline_does_not_come_free():
    body = OUTLINE.replace("/>", ' stroke-dasharray="2 1"/>')
    assert purposes(body) == ["score"]


def test_a_white_page_is_paper():
    paper = '<rect width="100" height="60" fill="#fff"/>'
    assert purposes(paper + MOTIF) == ["guide", "fill"]


@pytest.mark.parametrize(("white_keeps", "purpose"), [(None, "guide"), (True, "guide"), (False, "fill")])
def test_white_over_dark_keeps_the_coat_until_told_otherwise(white_keeps, purpose):
    white = '<circle cx="45" cy="30" r="5" fill="#fffffe"/>'
    assert purposes(MOTIF + white, white_keeps=white_keeps) == ["fill", purpose]


def test_white_away_from_dark_is_a_fill_like_any():
    assert purposes('<circle cx="45" cy="30" r="5" fill="#fff"/>' + MOTIF.replace("30 20", "70 20"))[0] == "fill"


def test_every_shape_is_sorted_once_and_in_order():
    drawing = drawn(OUTLINE + HOLE * 3 + MOTIF * 2)
    assert [one.shape_id for one in sort_shapes(drawing, SortOptions())] == [shape.id for shape in drawing.shapes]


def test_a_straight_line_of_width_0_is_asked_about_though_its_fill_is_not_said_off():
    ((purpose, why),) = sorted_as('<line x1="10" y1="10" x2="40" y2="10" stroke="#0a0" stroke-width="0"/>')
    assert purpose == "undecided" and "width 0" in why


@pytest.mark.parametrize(("colour", "told"), [("#00f", 1), ("#000", 0)])
def test_an_unseen_stroke_round_a_filled_shape_is_told_where_it_has_a_colour_of_its_own(colour, told):
    drawing = drawn(f'<circle cx="30" cy="30" r="9" fill="#000" stroke="{colour}" stroke-width="0"/>')
    assert [one.code for one in drawing.findings].count("unseen-strokes") == told
    assert [one.purpose for one in sort_shapes(drawing, SortOptions())] == ["fill"]
