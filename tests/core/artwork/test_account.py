"""The account adds up: no shape of a file vanishes, and areas and lengths are all accounted for."""

from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.account import FATES, Account, account_data, account_of
from core.artwork.composing import LayerArtwork, compose_layers
from core.artwork.drawing import Drawing, ReadOptions, SortOptions
from core.artwork.painting import drawing_regions, united
from core.artwork.reading import load_source, read_artwork
from core.artwork.separating import separated, whole_id
from core.artwork.sorting import sort_shapes
from core.artwork.svg import read_svg
from core.geometry.flattening import flatten
from core.job.job import standard_layers
from core.sheet.stock import MIRRORED_ACRYLIC_3

SAMPLES = sorted((Path(__file__).parents[3] / "sample_jobs").glob("*.[sd][vx][gf]"))
LAYERS = standard_layers(MIRRORED_ACRYLIC_3)
OPTIONS = SortOptions()

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'


def accounted(drawing: Drawing) -> tuple[Drawing, Account, dict[str, LayerArtwork]]:
    drawing = separated(drawing, line_width_mm=OPTIONS.line_width_mm)
    fates = {one.shape_id: (one.purpose, one.why) for one in sort_shapes(drawing, OPTIONS)}
    artworks, _ = compose_layers(drawing, {key: fate for key, (fate, _) in fates.items()}, LAYERS, OPTIONS)
    account = account_of(drawing, fates, [(layer.purpose, artworks[layer.id]) for layer in LAYERS], OPTIONS)
    return drawing, account, artworks


def read(body: str) -> Drawing:
    return read_svg(f"{HEAD}{body}</svg>".encode(), ReadOptions())


def counts(body: str) -> dict[str, int]:
    _, account, _ = accounted(read(body))
    return {fate: account.count(fate) for fate in FATES if account.count(fate)}


def assert_adds_up(drawing: Drawing) -> None:
    """Every shape once; areas and lengths against what GEOS makes of the same geometry."""
    parts, account, artworks = accounted(drawing)
    told = [shape_id for entry in account.entries for shape_id in entry.shape_ids]
    assert sorted(told) == sorted(shape.id for shape in parts.shapes)
    assert {whole_id(one) for one in told} == {shape.id for shape in drawing.shapes}
    missing = sum(one.count for one in drawing.missing)
    assert account.shapes == len(drawing.shapes) + missing
    assert account.read == len(parts.shapes) + missing == sum(account.count(fate) for fate in FATES)
    assert sum(account.area_mm2.values()) == pytest.approx(account.read_mm2, rel=1e-9, abs=1e-6)
    assert sum(account.length_mm.values()) == pytest.approx(account.read_mm, rel=1e-9, abs=1e-6)
    data = account_data(account)
    assert data["read"] == sum(data[fate] for fate in FATES)

    regions = dict(zip((shape.id for shape in parts.shapes), drawing_regions(parts, line_width_mm=0.3), strict=True))
    filled = [regions[shape_id] for shape_id in artworks["fill"].shape_ids]
    burned_mm2 = account.area_mm2.get("filled", 0.0)
    painted_mm2 = united(filled).area
    kept_back = any("kept there" in entry.why for entry in account.entries)
    assert burned_mm2 == pytest.approx(painted_mm2, rel=1e-6, abs=1e-3) or (kept_back and burned_mm2 < painted_mm2)
    for purpose, fate in (("cut", "cut"), ("score", "scored")):
        lines = [flatten(path, 1e-4).points for path in artworks[purpose].paths]
        traced_mm = sum(shapely.length(shapely.linestrings(points)) for points in lines if len(points) > 1)
        assert account.length_mm.get(fate, 0.0) == pytest.approx(traced_mm, rel=1e-3, abs=1e-3)


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


def test_a_line_drawn_twice_is_dropped_once():
    line = '<line x1="10" y1="10" x2="40" y2="10" stroke="#000" stroke-width=".1"/>'
    assert counts(line + line) == {"scored": 1, "dropped": 1}
