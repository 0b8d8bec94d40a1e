"""Filled fields against outside tools.

Outlines: the filled file as resvg (resvg_py 0.5, a general renderer that shapes text by itself) paints it, beside
the part's regions as they are burned. Widths: the advance that HarfBuzz gives for the same font, size and text.
"""

from pathlib import Path

import numpy as np
import pytest
import uharfbuzz as hb
from lxml import etree

from core.artwork.drawing import ArtworkSource, Shape
from core.artwork.fonts.catalogue import find_face
from core.artwork.painting import painted_regions
from core.geometry.flattening import path_bounds_mm
from core.geometry.svg_data import polygon_data, polygons
from core.job.job import new_job
from core.job.prepare import plan_steps
from core.order.fields import Field
from core.order.filling import Filler, template_of
from core.order.list_reading import load_list
from core.order.order import Order
from core.order.running import parse_running
from core.order.working_out import fill_order
from tests.references.resvg_oracle import rendered

ROOT = Path(__file__).parents[2]
NAMES = (
    "Anna Berg",
    "Jürgen Größel-Öztürk",
    "Åse Ødegård",
    "Zażółć Gęślą",
    "Ελένη Παππά",
    "Юлия Щукина",
    "\u05d3\u05d5\u05d3 \u05db\u05d4\u05df",
    "\u0645\u0631\u064a\u0645 \u062d\u0633\u0646",
    "Maximiliane-Charlotte von Tannenberg-Hohenlinden",
    "AVATAR Toffee",
)
MM_PER_UNIT = 25.4 / 96
DESIGN = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="128" height="64" viewBox="0 0 128 64">'
    '<rect x="2" y="2" width="124" height="60" fill="none" stroke="red" stroke-width="0.1"/>'
    '<text x="64" y="30" font-family="DejaVu Sans" font-size="14" text-anchor="middle">{name}</text></svg>'
)


def filler(fit: str, design: str = DESIGN) -> Filler:
    if find_face("DejaVu Sans") is None:
        pytest.skip("DejaVu Sans is not installed")
    source = ArtworkSource(name="plate.svg", data=design.encode())
    return Filler(next(plan_steps(new_job(source))), template_of(source), [Field(name="name", fit=fit, limit_pct=25.0)])


def painted(body: bytes, px: int = 8) -> np.ndarray:
    """What resvg paints, so many pixels to a unit of the design."""
    size = f'width="{128 * px}" height="{64 * px}"'.encode()
    return rendered(body.replace(b'width="128" height="64"', size, 1), as_it_is=True)


def outlines(shapes: list) -> bytes:
    """The regions that are burned, as a picture of the design's size in mm."""
    regions = painted_regions(shapes, tolerance_mm=0.002)[0]
    data = "".join(polygon_data(polygon) for region in regions for polygon in polygons(region))
    head = DESIGN[: DESIGN.index("viewBox")]
    box_mm = f"0 0 {128 * MM_PER_UNIT:.9g} {64 * MM_PER_UNIT:.9g}"
    return f'{head} viewBox="{box_mm}"><path fill-rule="evenodd" d="{data}"/></svg>'.encode()


@pytest.mark.parametrize(("fit", "px"), [("as it is", 8), ("narrower", 8), ("smaller", 16), ("two lines", 8)])
def test_every_row_is_drawn_as_a_general_renderer_draws_the_filled_file(fit: str, px: int) -> None:
    made = filler(fit)
    scores = {}
    for name in NAMES:
        values = {"name": name}
        theirs = painted(made.file(values).replace(b' stroke="red"', b""), px)
        ours = painted(outlines([shape for shape in made.filled(values).shapes if shape.is_text]), px)
        scores[name] = float((theirs & ours).sum() / (theirs | ours).sum())
    assert min(scores.values()) >= 0.99, scores
    assert len(scores) == len(NAMES)


def test_a_text_in_a_symbol_is_drawn_as_a_general_renderer_draws_it_at_each_place() -> None:
    text = '<text x="40" y="20" font-family="DejaVu Sans" font-size="9" text-anchor="middle">{name}</text>'
    symbol = f'<symbol id="s" viewBox="0 0 80 30" preserveAspectRatio="xMidYMax meet">{text}</symbol>'
    uses = '<use href="#s" x="4" y="4" width="80" height="24"/>'
    uses += '<use href="#s" width="60" height="30" transform="translate(50 20) rotate(14)"/>'
    head = DESIGN[: DESIGN.index("<text")]
    made, name = filler("narrower", f"{head}{symbol}{uses}</svg>"), {"name": "Jürgen Größel"}
    before = f"{head}{symbol}{uses}</svg>".replace("{name}", name["name"]).replace(' stroke="red"', "").encode()
    theirs = painted(before)
    assert made.unfilled == () and [fit.words for fit in made.filled(name).fits] == ["", ""]
    for ours in (made.file(name).replace(b' stroke="red"', b""), outlines(_texts(made, name))):
        mine = painted(ours)
        assert float((theirs & mine).sum() / (theirs | mine).sum()) >= 0.99


def _texts(made: Filler, values: dict[str, str]) -> list[Shape]:
    return [shape for shape in made.filled(values).shapes if shape.is_text]


def test_every_row_of_the_sample_is_drawn_as_a_general_renderer_draws_it() -> None:
    """All 24 badges of the club; the row with a letter that no font has is told instead."""
    club = ROOT / "sample_jobs" / "club"
    source = ArtworkSource(name="badge.svg", data=(club / "badge.svg").read_bytes())
    names = load_list(club / "members.csv")
    fields = (
        Field(name="name", column="Name", fit="two lines", limit_pct=55.0),
        Field(name="role", column="Role"),
        Field(name="number", running=parse_running("01 …")),
    )
    filled = fill_order(Order(design=new_job(source), names=names, fields=fields))
    made = Filler(next(plan_steps(new_job(source))), template_of(source), fields)
    missing = {one.row for one in filled.findings if one.code == "glyph-missing"}
    scores = {}
    for part in filled.parts:
        texts = [shape for shape in filled.filled[part.number].shapes if shape.is_text]
        regions = painted_regions(texts, tolerance_mm=0.002)[0]
        data = "".join(polygon_data(polygon) for region in regions for polygon in polygons(region))
        head = b'<svg xmlns="http://www.w3.org/2000/svg" width="1440" height="520" viewBox="0 0 72 26">'
        ours = rendered(head + f'<path fill-rule="evenodd" d="{data}"/></svg>'.encode(), as_it_is=True)
        root = etree.fromstring(made.file(dict(part.values)))
        for element in list(root):
            if element.get("id") in ("Outline", "Waves"):
                root.remove(element)
        root.set("width", "1440")
        root.set("height", "520")
        theirs = rendered(etree.tostring(root), as_it_is=True)
        if part.row not in missing:
            scores[part.row] = float((theirs & ours).sum() / (theirs | ours).sum())
    assert len(filled.parts) == 24 and missing == {18} and len(scores) == 23
    assert min(scores.values()) >= 0.99, scores


@pytest.mark.parametrize("name", NAMES[:6])
def test_widths_follow_from_harfbuzz_advances(name: str) -> None:
    """The ink reaches from the first glyph's left bearing to the last one's right bearing: HarfBuzz tells all three."""
    made = filler("as it is")
    face = find_face("DejaVu Sans")
    font = hb.Font(hb.Face(hb.Blob.from_file_path(face.file), face.index))
    buffer = hb.Buffer()
    buffer.add_str(name)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    advance = sum(position.x_advance for position in buffer.glyph_positions)
    first, last = buffer.glyph_infos[0].codepoint, buffer.glyph_infos[-1].codepoint
    left = font.get_glyph_extents(first).x_bearing
    end = font.get_glyph_extents(last)
    right = buffer.glyph_positions[-1].x_advance - end.x_bearing - end.width
    expected_mm = (advance - left - right) / font.face.upem * 14 * 25.4 / 96
    fit = made.filled({"name": name}).fits[0]
    assert fit.width_mm == pytest.approx(expected_mm, abs=0.02)


def test_a_narrowed_line_has_the_length_that_was_asked_for() -> None:
    made = filler("narrower")
    part = made.filled({"name": NAMES[8]})
    x0, _, x1, _ = path_bounds_mm(next(shape.path for shape in part.shapes if shape.is_text))
    room_mm = (124 - 0) * 25.4 / 96 - 2 * 2.0
    assert x1 - x0 == pytest.approx(room_mm, rel=0.01)
    assert x1 - x0 <= room_mm * 1.001
