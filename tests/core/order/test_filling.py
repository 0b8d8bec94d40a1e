"""Fields of a design filled in: place and anchor stay, long text is fitted, what goes wrong is told."""

import io

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import read_artwork
from core.errors import JobError, UnreadableError
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import joined
from core.job.job import new_job
from core.job.prepare import plan_steps
from core.order.fields import Field, Picked, matched
from core.order.filling import Filler, field_names, part_bounds_mm, shown_bounds_mm, template_of
from core.order.templates import PLAIN
from core.order.working_out import work_out
from tests.core.order.designs import PLATE, order_of

BADGE = """<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="40mm" viewBox="0 0 90 40">
<defs><clipPath id="never"><rect width="3" height="3"/></clipPath></defs>
<rect id="edge" x="1" y="1" width="70" height="25" rx="3" fill="none" stroke="red" stroke-width="0.1"/>
<text x="36" y="12" font-family="DejaVu Sans" font-size="7" text-anchor="middle">{name}</text>
<path d="M5 22h4v2h-4z" fill="black"/>
<text font-family="DejaVu Sans" font-size="4"><tspan x="20" y="20" fill="navy">{club}</tspan><tspan x="20"
 dy="1.1em" fill="green">No. {n}</tspan></text>
</svg>"""


def filler(svg=BADGE, *, file="badge.svg", picked=(), job=None, **fits):
    source = ArtworkSource(name=file, data=svg if isinstance(svg, bytes) else svg.encode())
    plan = next(plan_steps(job or new_job(source)))
    fields = [Field(name=of, fit=fit) if isinstance(fit, str) else fit for of, fit in fits.items()]
    return Filler(plan, template_of(source, picked), fields)


def box(shapes):
    return path_bounds_mm(joined([shape.path for shape in shapes]))


def texts(part):
    return [shape for shape in part.shapes if shape.is_text]


def codes(part):
    return [one.code for one in part.told]


def test_fields_are_found_in_the_order_of_the_file():
    made = template_of(ArtworkSource(name="badge.svg", data=BADGE.encode()))
    assert field_names(made) == ("name", "club", "n")
    assert made.texts == ("{name}", "{club}No. {n}")
    assert [line.text for line in made.lines] == ["{name}", "{club}", "No. {n}"]


def test_a_filled_file_reads_as_the_part_was_worked_out():
    made = filler(name="two lines")
    values = {"name": "Ānna-Mařia Größel-Öztürk", "club": "Ruderklub <Nord> & Söhne", "n": "7"}
    for part, data in ((made.filled(values), made.file(values)),):
        drawing = read_artwork(ArtworkSource(name="x.svg", data=data), ReadOptions())
        assert [shape.kind for shape in drawing.shapes] == [shape.kind for shape in part.shapes]
        for one, other in zip(drawing.shapes, part.shapes, strict=True):
            assert path_bounds_mm(one.path) == pytest.approx(path_bounds_mm(other.path))
            assert one.fill == other.fill


def test_place_anchor_colour_and_layer_follow_the_text():
    part = filler().filled({"name": "Anna", "club": "Row club", "n": "7"})
    x0, _, x1, _ = box(texts(part)[:1])
    assert (x0 + x1) / 2 == pytest.approx(36, abs=0.3)
    assert box(texts(part)[1:2])[0] == pytest.approx(20, abs=0.6)
    assert [shape.fill for shape in texts(part)] == ["#000000", "#000080", "#008000"]
    assert part.layer_ids == ("cut", "fill", "fill", "fill", "fill")
    assert [shape.kind for shape in part.shapes] == ["rect", "text", "path", "text", "text"]


def test_a_layer_that_the_maker_chose_is_kept():
    from core.job.job import with_overrides

    source = ArtworkSource(name="badge.svg", data=BADGE.encode())
    plan = next(plan_steps(new_job(source)))
    ids = [shape.id for shape in plan.drawing.shapes if shape.is_text]
    part = filler(job=with_overrides(plan.job, ids[1:2], "score")).filled({"name": "A B", "club": "Row", "n": "1"})
    assert part.layer_ids == ("cut", "fill", "fill", "score", "fill")


@pytest.mark.parametrize("fit", ["narrower", "smaller", "two lines"])
def test_long_text_is_fitted_within_the_outline(fit):
    part = filler(name=fit).filled({"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"})
    plain = filler().filled({"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"})
    assert "text-too-long" in codes(plain)
    if fit == "two lines":
        assert codes(part).count("text-fitted") == 1
        assert "two lines" in part.fits[0].words
        assert len(texts(part)) == len(texts(plain)) + 1
    x0, _, x1, _ = box(texts(part)[:2] if fit == "two lines" else texts(part)[:1])
    assert (x0 + x1) / 2 == pytest.approx(36, abs=0.5)
    if part.fits[0].too_long:  # it stopped at the limit, and says so
        assert min(part.fits[0].setting.width_share, part.fits[0].setting.size_share) == pytest.approx(0.7)
        assert "text-too-long" in codes(part)
    else:
        assert x0 > 1 + 1.9
        assert x1 < 71 - 1.9


def test_narrower_keeps_the_height_smaller_keeps_the_shape():
    long = {"name": "Anna Tannenberg X", "club": "Row", "n": "7"}
    (wide,), (narrow,), (small,) = (
        texts(filler(**fits).filled(long))[:1] for fits in ({}, {"name": "narrower"}, {"name": "smaller"})
    )
    (x0, y0, x1, y1), (nx0, ny0, nx1, ny1), (sx0, sy0, sx1, sy1) = (box([one]) for one in (wide, narrow, small))
    assert x1 - x0 > 67.5
    assert nx1 - nx0 == pytest.approx(sx1 - sx0, abs=0.4)
    assert nx1 - nx0 < 66.1
    assert (ny0, ny1) == pytest.approx((y0, y1), abs=0.01)
    assert (sx1 - sx0) / (sy1 - sy0) == pytest.approx((x1 - x0) / (y1 - y0), rel=0.01)
    assert sy1 < y1 + 0.01


def test_one_word_can_not_be_split():
    part = filler(name="two lines").filled({"name": "Wolfeschlegelsteinhausenberg", "club": "Row", "n": "7"})
    assert {"text-not-fitted", "text-too-long"} <= set(codes(part))


def test_two_lines_that_reach_into_another_text_are_told():
    values = {"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"}
    field = Field(name="name", fit="two lines", limit_pct=100.0)
    assert "text-overlaps" in codes(filler(name=field).filled(values))
    assert "text-overlaps" not in codes(filler().filled(values))
    assert "text-overlaps" not in codes(filler(BADGE.replace('y="20"', 'y="24"'), name=field).filled(values))


def test_two_lines_are_made_smaller_until_they_keep_clear_of_another_text():
    values = {"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"}
    svg = BADGE.replace('y="20"', 'y="20.5"')
    at_full_size = filler(svg, name=Field(name="name", fit="two lines", limit_pct=100.0)).filled(values)
    assert "text-overlaps" in codes(at_full_size)
    part = filler(svg, name=Field(name="name", fit="two lines", limit_pct=50.0)).filled(values)
    assert "text-overlaps" not in codes(part)
    share = part.fits[0].setting.size_share
    assert 0.7 < share < 1.0 and f"{100 * share:.0f} % of its size" in part.fits[0].words
    name, below = (box([one for one in texts(part) if (one.fill == "#000080") is navy and "7" not in one.label])
                   for navy in (False, True))  # fmt: skip
    assert name[3] < below[1] < name[3] + 0.5, "no smaller than is needed"


def test_two_lines_that_no_size_keeps_clear_stay_as_they_were_and_are_told():
    svg = BADGE.replace('y="20"', 'y="13"')
    values = {"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"}
    part = filler(svg, name=Field(name="name", fit="two lines", limit_pct=90.0)).filled(values)
    assert "text-overlaps" in codes(part) and part.fits[0].setting.size_share == 1.0


def test_a_room_of_ones_own():
    field = Field(name="name", fit="smaller", room_mm=30.0, limit_pct=20.0)
    part = filler(name=field).filled({"name": "Anna-Maria Tannenberg", "club": "Row", "n": "7"})
    x0, _, x1, _ = box(texts(part)[:1])
    assert 29 < x1 - x0 <= 30.1


def test_letters_that_no_font_has_are_told():
    part = filler().filled({"name": "Anna \U0001f9ff", "club": "Row", "n": "7"})
    assert "glyph-missing" in codes(part) or "glyph-borrowed" in codes(part)


def test_a_font_that_is_not_there_is_told():
    part = filler(BADGE.replace("DejaVu Sans", "No Such Face")).filled({"name": "A", "club": "B", "n": "1"})
    assert any(one.code == "font-missing" and "No Such Face" in one.message for one in part.told)


def test_a_text_that_was_picked():
    svg = BADGE.replace("{name}", "Anna Berg").replace("No. {n}", "No. 1").replace("{club}", "Row")
    with pytest.raises(JobError, match="holds no field"):
        filler(svg)
    part = filler(svg, picked=[Picked(text=0, name="name")]).filled({"name": "Zoë"})
    alone = filler(svg.replace("Anna Berg", "{name}")).filled({"name": "Zoë"})
    assert box(texts(part)[:1]) == pytest.approx(box(texts(alone)[:1]))
    with pytest.raises(UnreadableError, match="no text number 10"):
        filler(svg, picked=[Picked(text=9, name="name")])


def test_a_text_that_is_placed_by_a_reference_is_filled_at_each_place():
    defs = '<defs><g id="t" font-family="DejaVu Sans" font-size="4"><text x="5" y="9">{old}</text></g></defs>'
    uses = '<use href="#t" y="3" fill="#ff0000"/><use href="#t" x="20" y="8" transform="scale(0.5)"/>'
    made = filler(BADGE.replace("</svg>", f"{defs}{uses}</svg>"))
    assert made.unfilled == ()
    part = made.filled({"name": "Anna Berg", "club": "Row", "n": "7", "old": "Hi"})
    plain = '<g font-family="DejaVu Sans" font-size="4"><text x="5" y="12" fill="#ff0000">{old}</text></g>'
    plain += '<g font-family="DejaVu Sans" font-size="2"><text x="12.5" y="8.5">{old}</text></g>'
    alike = filler(BADGE.replace("</svg>", f"{plain}</svg>"))
    other = alike.filled({"name": "Anna Berg", "club": "Row", "n": "7", "old": "Hi"})
    assert len(part.shapes) == len(other.shapes)
    for one, two in zip(texts(part), texts(other), strict=True):
        assert box([one]) == pytest.approx(box([two]), abs=1e-6) and one.fill == two.fill


def test_a_picked_text_that_is_placed_twice_is_filled_twice():
    svg = BADGE.replace("</svg>", '<text id="t" x="5" y="20" font-size="2">Fern</text><use href="#t" y="3"/></svg>')
    number = svg.count("<text", 0, svg.index('<text id="t"'))
    made = filler(svg, picked=[Picked(text=number, name="house")])
    part = made.filled({"name": "Anna", "club": "Row", "n": "7", "house": "Oak"})
    assert [shape.label for shape in texts(part)].count("Oak") == 2 and made.unfilled == ()


SYMBOL = """<symbol id="t" viewBox="0 0 40 20" preserveAspectRatio="xMinYMax meet"><rect width="4" height="2"/>
<text x="5" y="9" font-family="DejaVu Sans" font-size="4">{old}</text></symbol>"""
IN_SYMBOLS = {
    "symbol": (
        SYMBOL + '<use href="#t" x="10%" y="3" width="20" height="20"/>',
        '<svg x="9" y="3" width="20" height="20" viewBox="0 0 40 20" preserveAspectRatio="xMinYMax meet">{}</svg>',
    ),
    "turned and coloured": (
        SYMBOL + '<use href="#t" width="30" height="12" transform="rotate(20)" fill="#00f"/>',
        '<g transform="rotate(20)" fill="#00f"><svg width="30" height="12" viewBox="0 0 40 20" '
        'preserveAspectRatio="xMinYMax meet">{}</svg></g>',
    ),
    "symbol in a symbol": (
        SYMBOL + '<symbol id="o"><use href="#t" width="20" height="10"/></symbol><use href="#o" x="1mm" y="2"/>',
        '<g transform="translate(3.7795 2)"><svg width="20" height="10" viewBox="0 0 40 20" '
        'preserveAspectRatio="xMinYMax meet">{}</svg></g>',
    ),
    "nested svg": (
        '<defs><svg id="t" x="3" y="2" width="50" height="20">{}</svg></defs><use href="#t" y="4"/>',
        '<svg x="3" y="6" width="50" height="20">{}</svg>',
    ),
}  # fmt: skip
INSIDE = '<rect width="4" height="2"/><text x="5" y="9" font-family="DejaVu Sans" font-size="4">{old}</text>'


@pytest.mark.parametrize("name", IN_SYMBOLS)
def test_a_text_in_a_symbol_is_filled_where_it_is_placed(name):
    placed, written = (part.replace("{}", INSIDE) for part in IN_SYMBOLS[name])
    made = filler(BADGE.replace("</svg>", f"{placed}</svg>"))
    assert made.unfilled == ()
    values = {"name": "Anna Berg", "club": "Row", "n": "7", "old": "Hill House"}
    part, alike = made.filled(values), filler(BADGE.replace("</svg>", f"{written}</svg>")).filled(values)
    assert [shape.label for shape in texts(part)].count("Hill House") == 1
    assert len(part.shapes) == len(alike.shapes)
    for one, two in zip(part.shapes, alike.shapes, strict=True):
        assert box([one]) == pytest.approx(box([two]), abs=1e-3) and one.fill == two.fill


def test_a_symbol_s_text_is_fitted_in_its_own_measure():
    svg = BADGE.replace("</svg>", f'{SYMBOL}<use href="#t" x="3" width="20" height="10"/></svg>')
    made = filler(svg, old=Field(name="old", fit="narrower", limit_pct=20.0))
    part = made.filled({"name": "A", "club": "B", "n": "7", "old": "Waldemar-Constantin of the Long Mountain Ridge"})
    x0, _, x1, _ = box([shape for shape in texts(part) if shape.label.startswith("Waldemar")])
    fit = next(one for one in part.fits if one.line.fields == ("old",))
    assert fit.words and x1 - x0 == pytest.approx(fit.room_mm, rel=0.03)


def test_a_text_that_a_viewport_cuts_off_takes_no_more_room_than_shows_of_it():
    svg = BADGE.replace("</svg>", f'{SYMBOL}<use href="#t" x="3" y="2" width="20" height="10"/></svg>')
    part = filler(svg).filled({"name": "A", "club": "B", "n": "7", "old": "Waldemar-Constantin of the Long Ridge"})
    assert "text-too-long" in codes(part)
    long = [shape for shape in texts(part) if shape.label.startswith("Waldemar")]
    assert box(long)[2] > 40 and shown_bounds_mm(long)[2] == pytest.approx(23)
    assert part_bounds_mm(part)[2] == pytest.approx(71)


def test_what_a_style_sheet_would_draw_otherwise_elsewhere_stays_and_is_told():
    style = "<style>symbol text { fill: #0a0; font-size: 2px }</style>"
    uses = '<use href="#t" width="20" height="10"/><g id="g"><text x="50" y="35">{new}</text></g><use href="#g" y="2"/>'
    made = filler(BADGE.replace("</svg>", f"{style}{SYMBOL}{uses}</svg>"))
    assert made.unfilled == ("{old}",)
    part = made.filled({"name": "Anna", "club": "Row", "n": "7", "new": "Oak"})
    assert [shape.label for shape in texts(part)].count("Oak") == 2


def test_a_field_that_cuts_out_or_paints_something_else_is_told():
    assert filler(BADGE.replace("</svg>", '<g display="none"><text id="t">{old}</text></g></svg>')).unfilled == ()
    clip = '<clipPath id="c"><text x="5" y="20">{old}</text></clipPath>'
    assert filler(BADGE.replace("</svg>", f"{clip}</svg>")).unfilled == ()
    cut = f'{clip}<rect width="50" height="30" clip-path="url(#c)"/>'
    assert filler(BADGE.replace("</svg>", f"{cut}</svg>")).unfilled == ("{old}",)


def test_a_design_with_fields_is_told_where_it_would_be_burned_as_it_stands():
    source = ArtworkSource(name="plate.svg", data=PLATE.encode())
    told = [one for one in next(plan_steps(new_job(source))).findings if one.code == "fields-as-they-stand"]
    assert [one.message.partition(":")[0] for one in told] == ["{name}, {role}"] and len(told[0].shape_ids) >= 2
    plain = ArtworkSource(name="plate.svg", data=PLATE.replace("{name}", "{1}").replace("{role}", "a } b {").encode())
    assert not [one for one in next(plan_steps(new_job(plain))).findings if one.code == "fields-as-they-stand"]
    sheets = work_out(order_of("Name,Role\nAnna,Cook\n")).sheets
    assert not [one for one in sheets[0].plan.findings if one.code == "fields-as-they-stand"]


def test_letters_placed_one_by_one_are_set_anew_from_the_first():
    svg = BADGE.replace('x="36" y="12"', 'x="5 9 13 17 20 22" y="12"').replace(' text-anchor="middle"', "")
    part = filler(svg).filled({"name": "Anna Berg", "club": "Row", "n": "7"})
    plain = BADGE.replace('x="36" y="12"', 'x="5" y="12"').replace(' text-anchor="middle"', "")
    assert box(texts(part)[:1]) == pytest.approx(
        box(texts(filler(plain).filled({"name": "Anna Berg", "club": "Row", "n": "7"}))[:1])
    )


def test_turned_text_is_measured_along_its_own_line():
    svg = BADGE.replace('text-anchor="middle">', 'text-anchor="middle" transform="rotate(-90 36 13)">', 1)
    made = filler(svg, name=Field(name="name", fit="smaller", limit_pct=20.0))
    part = made.filled({"name": "Anna-Maria", "club": "Row", "n": "7"})
    assert part.fits[0].room_mm == pytest.approx(20, abs=0.1)
    x0, y0, x1, y1 = box(texts(part)[:1])
    assert y0 == pytest.approx(3, abs=0.05)
    assert y1 < 24
    assert y1 - y0 > x1 - x0


def test_a_pdf_can_not_be_filled():
    with pytest.raises(UnreadableError, match="is a PDF"):
        template_of(ArtworkSource(name="x.pdf", data=b"%PDF-1.4"))


def dxf():
    document = ezdxf.new("R2010", units=4)
    document.styles.add("S", font="DejaVuSans.ttf")
    model = document.modelspace()
    model.add_lwpolyline([(0, 0), (70, 0), (70, 25), (0, 25)], close=True)
    text = model.add_text("{name}", height=5, dxfattribs={"style": "S"})
    text.set_placement((35, 15), align=TextEntityAlignment.MIDDLE_CENTER)
    block_text = {"style": "S", "char_height": 3, "attachment_point": 5, "insert": (35, 6)}
    model.add_mtext("\\{club\\}", dxfattribs=block_text)
    document.blocks.new("B").add_circle((0, 0), 1)
    model.add_blockref("B", (5, 20)).add_attrib("N", "{n}", (10, 19), dxfattribs={"height": 2, "style": "S"})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


@pytest.mark.parametrize("fit", ["as it is", "narrower", "smaller", "two lines"])
def test_a_dxf(fit):
    made = filler(dxf(), name="plate.dxf", club=fit, n="as it is")
    made._fields["name"] = Field(name="name", fit=fit)
    values = {"name": "Anna-Maria Tannenberg", "club": "Row {club} \\P 50%%d", "n": "7"}
    part, data = made.filled(values), made.file(values)
    drawing = read_artwork(ArtworkSource(name="x.dxf", data=data), ReadOptions())
    of_file = sorted(path_bounds_mm(shape.path) for shape in drawing.shapes)
    x0 = min(bounds[0] for bounds in of_file)  # a drawing's page begins where its shapes do
    of_part = sorted(path_bounds_mm(shape.path) for shape in part.shapes)
    shift = of_part[0][0] - x0
    for one, other in zip(of_file, of_part, strict=True):
        assert (one[0] + shift, one[1], one[2] + shift, one[3]) == pytest.approx(other, abs=0.01)
    assert (
        part.fits[0].words
        == {
            "as it is": "",
            "narrower": part.fits[0].words,
            "smaller": part.fits[0].words,
            "two lines": "set in two lines, made smaller, 91 % of its size",  # the text below is that near
        }[fit]
    )
    assert ("text-too-long" in codes(part)) == (fit == "as it is")
    width_mm = part_bounds_mm(part)[2] - part_bounds_mm(part)[0]
    assert (width_mm > 70.5) == (fit == "as it is")


def dxf_with_blocks():
    """A text and an MTEXT in blocks: one placed twice, turned and larger the second time, one from within another."""
    document = ezdxf.new("R2010", units=4)
    document.styles.add("S", font="DejaVuSans.ttf")
    model = document.modelspace()
    model.add_lwpolyline([(-40, -40), (160, -40), (160, 100), (-40, 100)], close=True)
    tag, badge = document.blocks.new("Tag"), document.blocks.new("Badge")
    tag.add_lwpolyline([(0, 0), (40, 0), (40, 10), (0, 10)], close=True)
    text = tag.add_text("{name}", height=4, dxfattribs={"style": "S"})
    text.set_placement((20, 5), align=TextEntityAlignment.MIDDLE_CENTER)
    badge.add_mtext(
        "\\{club\\}", dxfattribs={"style": "S", "char_height": 3, "attachment_point": 5, "insert": (20, 14)}
    )
    badge.add_blockref("tag", (0, 0))
    model.add_blockref("Tag", (5, 5)).add_attrib("N", "{n}", (6, 40), dxfattribs={"height": 3, "style": "S"})
    model.add_blockref("BADGE", (100, 5), dxfattribs={"rotation": 90, "xscale": 1.25, "yscale": 1.25})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def of_texts(drawing):
    return sorted(path_bounds_mm(shape.path) for shape in drawing.shapes if shape.is_text)


@pytest.mark.parametrize("fit", ["as it is", "narrower", "smaller", "two lines"])
def test_texts_in_blocks_of_a_dxf_say_the_same_wherever_the_block_is_placed(fit):
    made = filler(dxf_with_blocks(), name="plate.dxf", club="as it is", n="as it is")
    made._fields["name"] = Field(name="name", fit=fit, room_mm=48.0)
    assert made.unfilled == ()
    values = {"name": "Anna-Maria Tannenberg", "club": "Row {club}", "n": "7"}
    part, data = made.filled(values), made.file(values)

    # the file, read by ezdxf: exploding is its own way to place what a block holds
    document = ezdxf.read(io.StringIO(data.decode()))
    placed, waiting = [], list(document.modelspace())
    while waiting:
        one = waiting.pop(0)
        waiting += list(one.virtual_entities()) if one.dxftype() == "INSERT" else []
        placed += [one] if one.dxftype() in ("TEXT", "MTEXT") else []
    said = sorted(one.plain_text() for one in placed)
    names = ["Anna-Maria", "Tannenberg"] if fit == "two lines" else ["Anna-Maria Tannenberg"]
    assert said == sorted([*names * 2, "Row {club}"])

    # the part, against the file read as ordinary artwork
    of_file = of_texts(read_artwork(ArtworkSource(name="x.dxf", data=data), ReadOptions()))
    of_part = sorted(path_bounds_mm(shape.path) for shape in part.shapes if shape.is_text)
    assert len(of_part) == len(of_file)
    for one, other in zip(of_file, of_part, strict=True):
        assert one == pytest.approx(other, abs=0.01)
    (name,) = [one for one in part.fits if one.line.fields == ("name",)]
    assert name.too_long == (fit == "as it is") and (name.setting != PLAIN) == (fit != "as it is")
    assert (name.width_mm > 48.1) == (fit == "as it is")  # where it is placed first, as large as in the block


def test_columns_are_matched_by_name():
    columns = ("First name", "Role", "No")
    assert matched("first_name", columns) == "First name"
    assert matched("ROLE", columns) == "Role"
    assert matched("club", columns) == ""


NAMES_WITH_CODES = ("50%%d", "%", "100 %%%", "a%%u b", "^J", "C:\\P {x}", "\\fArial; B", "\\\\", "%%c^x %%", "a  b")


@pytest.mark.parametrize("fit", ["as it is", "two lines"])
@pytest.mark.parametrize(
    ("kind", "raw", "around"),
    [
        ("TEXT", "{name}", "{}"),
        ("TEXT", "{name}%%d", "{}°"),
        ("TEXT", "%{name}%%p", "%{}±"),
        ("ATTRIB", "%%d {name}", "° {}"),
        ("MTEXT", "\\{name\\}", "{}"),
        ("MTEXT", "{\\fDejaVu Sans|b0|i0;\\C1;{name}%%d}", "{}°"),
        ("MTEXT", "\\H1.2x;{name} \\\\", "{} \\"),
    ],
)
def test_codes_in_a_value_come_out_letter_by_letter(kind, raw, around, fit):
    """ezdxf reads the filled file: what stands in it is the list's words, and the drawing's own codes still work."""
    document = ezdxf.new("R2010", units=4)
    document.styles.add("S", font="DejaVuSans.ttf")
    model = document.modelspace()
    model.add_lwpolyline([(0, 0), (30, 0), (30, 25), (0, 25)], close=True)
    if kind == "MTEXT":
        model.add_mtext(raw, dxfattribs={"style": "S", "char_height": 3, "attachment_point": 5, "insert": (15, 12)})
    elif kind == "TEXT":
        model.add_text(raw, height=4, dxfattribs={"style": "S"}).set_placement((2, 12))
    else:
        document.blocks.new("B").add_circle((0, 0), 1)
        model.add_blockref("B", (5, 20)).add_attrib("N", raw, (2, 12), dxfattribs={"height": 3, "style": "S"})
    stream = io.StringIO()
    document.write(stream)
    made = filler(stream.getvalue().encode(), name="plate.dxf")
    made._fields["name"] = Field(name="name", fit=fit)
    for name in (*NAMES_WITH_CODES, "Anna %%d Maria-Magdalena Tannenberg {x} \\P"):
        again = ezdxf.read(io.StringIO(made.file({"name": name}).decode()))
        texts = [*again.modelspace().query("TEXT MTEXT"), *(a for i in again.query("INSERT") for a in i.attribs)]
        said = " ".join(one.plain_text().replace("\n", " ") for one in texts)
        assert said.split() == around.replace("{}", name).split()
    lines = len(texts) + sum(one.plain_text().count("\n") for one in texts)
    assert lines == (2 if fit == "two lines" and kind != "ATTRIB" else 1)


@pytest.mark.parametrize("raw", ["{name}", "{name}^ "])
@pytest.mark.parametrize("value", ["Anna^", "^", "^^", "%%d^"])
def test_a_caret_at_the_end_of_a_text_is_drawn(raw, value):
    """As many outlines as where the carets stand in front: the DXF library leaves out those at the end."""
    data = made_dxf(raw)
    letters = value + "^" * raw.count("^")
    in_front = "^" * letters.count("^") + letters.replace("^", "")
    wanted = outline_count(filler(made_dxf("{name}"), file="x.dxf").filled({"name": in_front}).shapes)
    made = filler(data, file="x.dxf")
    part = made.filled({"name": value})
    assert outline_count(part.shapes) == wanted > 0
    filled = ArtworkSource(name="x.dxf", data=made.file({"name": value}))
    assert outline_count(read_artwork(filled, ReadOptions()).shapes) == wanted
    assert part.fits[0].line.text == "{name}" + "^" * raw.count("^")


LOW = """<svg xmlns="http://www.w3.org/2000/svg" width="62mm" height="8mm" viewBox="0 0 62 8">
<rect x="1" y="1" width="60" height="6" fill="none" stroke="red" stroke-width="0.1"/>
<text x="3" y="5.4" font-family="DejaVu Sans" font-size="4">{name}</text></svg>"""


def test_where_two_lines_are_too_high_one_is_made_smaller():
    made = filler(LOW, name=Field(name="name", fit="two lines", limit_pct=70))
    (fit,) = made.filled({"name": "Maximiliane Tannenberg-Holst"}).fits
    assert not fit.too_long and not fit.setting.lines and 0.7 < fit.setting.size_share < 1
    part = made.filled({"name": "Maximiliane Charlotte Tannenberg-Holst von und zu Hohenfels"})
    assert part.fits[0].too_long and not part.fits[0].setting.lines
    assert "but there is room for 5" in part.told[0].message


def test_a_missing_font_is_told_once_a_text_however_many_words_it_has():
    document = ezdxf.new("R2010", units=4)
    look = {"char_height": 3, "attachment_point": 5}
    for at in (0, 20):
        text = "{\\fNo Such Font|b0;Anna Maria of the landing stage}"
        document.modelspace().add_mtext(text, dxfattribs={**look, "insert": (15, at)})
    stream = io.StringIO()
    document.write(stream)
    drawing = read_artwork(ArtworkSource(name="x.dxf", data=stream.getvalue().encode()), ReadOptions())
    told = [one.message for one in drawing.findings if one.code == "dxf-font-missing"]
    assert len(told) == 1 and "2 texts are set" in told[0]


def made_dxf(raw: str) -> bytes:
    document = ezdxf.new("R2010", units=4)
    document.styles.add("S", font="DejaVuSans.ttf")
    document.modelspace().add_text(raw, height=4, dxfattribs={"style": "S"}).set_placement((2, 12))
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def outline_count(shapes) -> int:
    return sum(len(shape.path.starts) for shape in shapes)


def test_an_mtext_whose_look_changes_between_its_words_is_not_split():
    document = ezdxf.new("R2010", units=4)
    model = document.modelspace()
    model.add_lwpolyline([(0, 0), (30, 0), (30, 25), (0, 25)], close=True)
    model.add_mtext("Herr \\C1;{name}", dxfattribs={"char_height": 3, "attachment_point": 5, "insert": (15, 12)})
    stream = io.StringIO()
    document.write(stream)
    made = filler(stream.getvalue().encode(), name="plate.dxf")
    made._fields["name"] = Field(name="name", fit="two lines")
    part = made.filled({"name": "Anna Maria-Magdalena Tannenberg"})
    assert part.fits[0].why_not == "its text is in several parts" and "text-not-fitted" in codes(part)
