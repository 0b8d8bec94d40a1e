"""Lines of text measured as they are drawn, and fitted: which way they run, where they end, what was done to them."""

import math

import pytest
import shapely

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.order.fields import Field
from core.order.filling import template_of
from core.order.line_fits import LineFit, course_of, fitted_line, free_room
from core.order.templates import PLAIN, Setting

FREE = shapely.box(0, 0, 60, 40)
SIDE_MM = 0.5
"""The anchor is read off the ink: an n of 5 mm stands off it by less (its side bearing)."""


def template(text, **look):
    words = " ".join(f'{name.replace("_", "-")}="{value}"' for name, value in look.items())
    svg = f"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
    <text font-family="DejaVu Sans" font-size="5" {words}>{text}</text></svg>"""
    return template_of(ArtworkSource(name="tag.svg", data=svg.encode()), ())


def fitted(text="{name}", value="Bo", look=None, free=FREE, **field):
    one = template(text, **(look or {"x": 30, "y": 20, "text_anchor": "middle"}))
    line = one.lines[0]
    return fitted_line(
        one,
        line,
        {"name": value},
        Field(name="name", **field),
        course_of(one, line, ReadOptions()),
        free,
        ReadOptions(),
    )


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("turned_deg", [0, 30, -90])
def test_a_course_tells_anchor_direction_and_unit_from_what_is_drawn(anchor, turned_deg):
    one = template("{name}", x=0, y=0, text_anchor=anchor, transform=f"translate(30 20) rotate({turned_deg}) scale(.5)")
    course = course_of(one, one.lines[0], ReadOptions())
    along = math.radians(turned_deg)
    assert course.anchor == anchor and course.mm_per_unit == pytest.approx(0.5)
    assert course.to_line[:2] == pytest.approx((math.cos(along), -math.sin(along)), abs=1e-9)
    assert course.anchor_mm == pytest.approx(30 * math.cos(along) + 20 * math.sin(along), abs=SIDE_MM)


def test_text_along_a_path_has_no_course_and_says_so():
    path = '<textPath href="#bend">{name}</textPath>'
    one = template(path + '</text><path id="bend" d="M5 30Q30 5 55 30" fill="none"/><text>')
    line = one.lines[0]
    assert course_of(one, line, ReadOptions()) is None
    fit = fitted_line(
        one, line, {"name": "Bo"}, Field(name="name", fit="smaller"), None, FREE, ReadOptions()
    )  # fmt: skip
    assert fit.setting == PLAIN and "path" in fit.why_not


@pytest.mark.parametrize("fit", ["as it is", "narrower", "smaller", "two lines"])
def test_what_fits_is_left_alone(fit):
    found = fitted(fit=fit)
    assert found.setting == PLAIN and not found.too_long and found.words == ""
    assert found.room_mm == pytest.approx(2 * (30 - 2.0), abs=0.1)  # from the middle to either edge, less the margin


@pytest.mark.parametrize("fit", ["narrower", "smaller"])
def test_what_is_a_little_too_long_fits_afterwards_and_says_what_was_done(fit):
    found = fitted(value="Maximiliane Holm-Berg", fit=fit)
    assert not found.too_long and found.width_mm <= found.room_mm * 1.003
    share = found.setting.width_share if fit == "narrower" else found.setting.size_share
    assert 0.7 < share < 1.0 and f"{100 * share:.0f} %" in found.words and f"made {fit}" in found.words


def test_no_less_than_the_limit_and_then_it_is_told_as_too_long():
    found = fitted(value="Maximiliane Holm-Berg " * 3, fit="smaller", limit_pct=80.0)
    assert found.too_long and found.setting.size_share == pytest.approx(0.8) and found.needed_mm > found.room_mm


def test_two_lines_break_at_a_word_and_one_word_says_why_not():
    found = fitted(value="Maximiliane von Holm-Bergen", fit="two lines")
    assert " ".join(found.setting.lines) == "Maximiliane von Holm-Bergen" and "two lines" in found.words
    assert "one word" in fitted(value="Donaudampfschifffahrtsgesellschaft", fit="two lines").why_not


@pytest.mark.parametrize(("anchor", "x", "room_mm"), [("start", 10, 48.0), ("end", 50, 48.0), ("middle", 20, 36.0)])
def test_room_reaches_from_the_anchor_to_the_edge_less_the_margin(anchor, x, room_mm):
    found = fitted(look={"x": x, "y": 20, "text_anchor": anchor}, fit="as it is")
    assert found.room_mm == pytest.approx(room_mm, abs=SIDE_MM)


def test_room_that_was_given_counts_alone_and_holes_are_in_the_way():
    assert fitted(fit="as it is", room_mm=17.0).room_mm == pytest.approx(17.0)
    holed = FREE.difference(shapely.box(45, 10, 50, 30))
    assert fitted(fit="as it is", free=holed, margin_mm=1.0).room_mm == pytest.approx(2 * (45 - 30 - 1.0), abs=0.1)


def test_free_room_is_the_innermost_outline_without_what_lies_in_it():
    page, plate, hole, aside = (shapely.box(*of) for of in (
        (0, 0, 90, 60), (5, 5, 60, 40), (50, 10, 55, 15), (70, 5, 80, 15)
    ))  # fmt: skip
    assert free_room([plate, hole, aside], page, (20.0, 20.0)).equals(plate.difference(hole))
    assert free_room([plate, hole, aside], page, (65.0, 50.0)).equals(
        page.difference(shapely.union_all([plate, aside]))
    )


def test_what_was_done_is_told_in_one_line():
    line = template("{name}").lines[0]
    setting = Setting(lines=("a", "b"), width_share=0.9, size_share=0.75)
    fit = LineFit(line=line, setting=setting, width_mm=1.0, room_mm=2.0)
    assert fit.words == "set in two lines, made narrower, 90 % of its width, made smaller, 75 % of its size"
