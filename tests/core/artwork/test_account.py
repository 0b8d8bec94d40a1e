"""The account adds up: no shape of a file vanishes, and areas and lengths are all accounted for."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.account import FATES
from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.reading import load_source, read_artwork
from core.artwork.svg import read_svg
from tests.core.artwork.adding_up import accounted, assert_adds_up

SAMPLES = sorted((Path(__file__).parents[3] / "sample_jobs").glob("*.[sd][vx][gf]"))
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'


def read(body: str) -> Drawing:
    return read_svg(f"{HEAD}{body}</svg>".encode(), ReadOptions())


def counts(body: str) -> dict[str, int]:
    _, account, _ = accounted(read(body))
    return {fate: account.count(fate) for fate in FATES if account.count(fate)}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_every_sample_adds_up(path):
    assert_adds_up(read_artwork(load_source(path), ReadOptions()))


PAINTS = st.sampled_from(["none", "#000", "#f00", "#fff", "#00f", "transparent"])
PLACES = st.integers(0, 9)


@st.composite
def elements(draw: st.DrawFn) -> str:
    x, y, w, h = (10 * draw(PLACES), 6 * draw(PLACES), 3 * draw(PLACES), 3 * draw(PLACES))
    geometry = draw(
        st.sampled_from([
            f'rect x="{x}" y="{y}" width="{w}" height="{h}"',
            f'circle cx="{x}" cy="{y}" r="{w}"',
            f'line x1="{x}" y1="{y}" x2="{x + w}" y2="{y + h}"',
            f'path d="M{x} {y}h{w}v{h}"',
            f'path d="M{x} {y}h{w}v{h}zM{x} {y}h{w}"',
            f'use href="#part" x="{x}" y="{y}"',
            'use href="#nowhere"',
            f'image href="a.png" x="{x}" y="{y}" width="5" height="5"',
            'path d="M1 1 Q"',
        ])
    )  # fmt: skip
    fill, stroke = draw(PAINTS), draw(PAINTS)
    width = draw(st.sampled_from(["0", ".1", ".3", "2"]))
    more = draw(
        st.sampled_from([
            "", 'display="none"', 'visibility="hidden"', 'opacity=".2"', 'clip-path="url(#clip)"', 'mask="url(#mask)"',
            'stroke-dasharray="1 1"', 'transform="scale(0)"', 'id="hole"',
        ])
    )  # fmt: skip
    return f'<{geometry} fill="{fill}" stroke="{stroke}" stroke-width="{width}" {more}/>'


DEFS = """<defs><path id="part" d="M0 0h8v8h-8z"/><clipPath id="clip"><rect width="50" height="30"/></clipPath>
<filter id="f"><feFlood/></filter>
<mask id="mask"><rect width="60" height="40" fill="#fff" filter="url(#f)"/></mask></defs>"""


@given(st.lists(elements(), max_size=8), st.sampled_from(["Cut", "Engrave", "Layer 1"]))
def test_no_shape_of_a_random_drawing_vanishes(bodies, layer):
    body = DEFS + f'<g id="{layer}">' + "".join(bodies) + "</g>"
    drawing = read(body)
    assert_adds_up(drawing)
    stacked = sum(shape.kind == "stacked paint" for shape in drawing.shapes)
    drawn = {(shape.source_id, shape.kind, tuple(shape.path.start_points[0])) for shape in drawing.shapes}
    assert len(drawing.shapes) - stacked + sum(one.count for one in drawing.missing) >= len(bodies) or len(drawn) == 0


def test_the_commonest_straight_lines_are_scored_and_have_their_length():
    body = '<line x1="10" y1="10" x2="40" y2="10" stroke="#000" stroke-width=".1"/>'
    body += '<path d="M10 20H40" stroke="#000" stroke-width=".1"/>'
    _, account, artworks = accounted(read(body))
    assert account.length_mm == {"cut": 0.0, "scored": pytest.approx(60.0), "dropped": 0.0}
    assert len(artworks["score"].paths) == 2


def test_a_filled_shape_with_a_line_of_its_own_counts_as_both():
    body = '<rect x="10" y="10" width="20" height="20" fill="#fc0" stroke="#00f" stroke-width=".1"/>'
    drawing, account, _ = accounted(read(body))
    assert [shape.id for shape in drawing.shapes] == ["s1", "s1.line"]
    assert (account.shapes, account.read) == (1, 2)
    assert counts(body) == {"filled": 1, "undecided": 1}


def test_what_can_t_be_read_is_named_with_its_place():
    drawing = read('<image id="photo" href="a.png" x="30" y="20" width="9" height="9"/><flowRoot id="words"/>')
    photo, words = drawing.missing
    assert (photo.unreadable, photo.x_mm, photo.y_mm) == (True, pytest.approx(30), pytest.approx(20))
    assert "photo" in photo.name and "words" in words.name and words.unreadable


def test_what_the_file_hides_is_left_out_with_why():
    body = '<g display="none"><circle r="5"/><rect width="5" height="5"/></g><rect width="9" height="9" fill="none"/>'
    assert counts(body) == {"left_out": 3}
    assert {one.why for one in read(body).missing} == {
        "Hidden in the file.",
        "Neither filled nor stroked: nothing of it is painted.",
    }


def test_a_group_behind_a_mask_made_by_a_filter_is_drawn_or_named():
    body = DEFS + '<g mask="url(#mask)"><circle cx="20" cy="20" r="5"/><circle cx="40" cy="20" r="5"/></g>'
    drawing = read(body)
    assert_adds_up(drawing)
    assert len(drawing.shapes) + sum(one.count for one in drawing.missing) == 2


def test_a_line_drawn_twice_is_dropped_once():
    line = '<line x1="10" y1="10" x2="40" y2="10" stroke="#000" stroke-width=".1"/>'
    assert counts(line + line) == {"scored": 1, "dropped": 1}


def test_what_is_written_wrongly_is_not_readable_rather_than_left_out():
    body = '<path d="nonsense" stroke="#000"/><rect width="-3" height="4"/><circle r="0"/><circle r="3" opacity="0"/>'
    assert counts(body) == {"unreadable": 2, "left_out": 2}
    assert counts('<path id="far" d="M0 0H1e8V9z"/><path d="M1e300 1L2 3V9"/>') == {"unreadable": 2}
