"""Pixels and millimetres: layout of the faces, rulers, snapping."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLineF, QPointF, QRectF

from app.canvas.aim import LENS_PX, Aim
from app.canvas.faces_layout import View, fitted, is_stacked, laid_out, panned, within_reach, zoomed_at
from app.canvas.loupe import lens_box
from app.canvas.pictures import MARGIN_SHARE, frame_around, overview_frame, place_on, serves
from app.canvas.placing import along_one_axis
from app.canvas.rulers import LABEL_ROOM_PX, label_step, label_text, round_step, scale_bar, ticks_per_label
from app.canvas.snapping import snapped
from core.sheet.placement import Sheet

SHEET = Sheet(width_mm=300.0, height_mm=200.0, thickness_mm=3.0)
sizes = st.tuples(st.integers(260, 2600), st.integers(260, 1600))
views = st.builds(
    View, x_mm=st.floats(-100, 400), y_mm=st.floats(-100, 300), px_per_mm=st.floats(0.1, 1000)
)  # fmt: skip
turns = st.sampled_from(["sideways", "endways"])


@given(size=sizes, view=views, turn=turns, px=st.floats(-3000, 3000), py=st.floats(-3000, 3000))
def test_pixels_and_front_points_map_back(size, view, turn, px, py):
    for face in laid_out(size, "by width", view, SHEET, turn):
        back = face.to_px(*face.to_front(QPointF(px, py)))
        assert (back.x(), back.y()) == pytest.approx((px, py), abs=1e-6)


@given(size=sizes, view=views, turn=turns)
def test_faces_are_of_one_size_and_show_one_place(size, view, turn):
    front, bed = laid_out(size, "by width", view, SHEET, turn)
    assert front.area.size() == bed.area.size()
    assert front.to_front(front.middle) == bed.to_front(bed.middle) == (view.x_mm, view.y_mm)
    assert not front.frame.intersects(bed.frame)


@given(view=views, turn=turns, x=st.floats(0, 300), y=st.floats(0, 200))
def test_bed_frame_is_the_turned_front(view, turn, x, y):
    _, bed = laid_out((1000, 600), "by width", view, SHEET, turn)
    own = bed.own(x, y)
    assert own == ((300 - x, y) if turn == "sideways" else (x, 200 - y))
    origin, at = bed.sheet_rect.topLeft(), bed.to_px(x, y)
    offset = (at.x() - origin.x(), at.y() - origin.y())
    assert offset == pytest.approx((own[0] * view.px_per_mm, own[1] * view.px_per_mm), rel=1e-6, abs=1e-5)


@given(view=views, turn=turns, px=st.floats(0, 1000), py=st.floats(0, 600), factor=st.floats(0.2, 5))
def test_zooming_keeps_the_point(view, turn, px, py, factor):
    for face in laid_out((1000, 600), "by width", view, SHEET, turn):
        zoomed = zoomed_at(face, QPointF(px, py), factor)
        after = next(one for one in laid_out((1000, 600), "by width", zoomed, SHEET, turn) if one.name == face.name)
        assert after.to_front(QPointF(px, py)) == pytest.approx(face.to_front(QPointF(px, py)), abs=1e-6)


def test_fit_shows_the_whole_sheet_and_pan_is_held_within_reach():
    view = View(x_mm=0, y_mm=0, px_per_mm=1)
    front, _ = laid_out((1000, 600), "by width", view, SHEET, "sideways")
    fit = fitted(front)
    shown, _ = laid_out((1000, 600), "by width", fit, SHEET, "sideways")
    assert shown.area.contains(shown.sheet_rect.toAlignedRect())
    far = panned(shown, 1e6, 0)
    assert within_reach(far, shown, (0, 0, 300, 200)).x_mm == 0


def test_pictures_serve_small_pans_and_no_zoom():
    view = View(x_mm=150, y_mm=100, px_per_mm=4.0)
    front, _ = laid_out((1001, 600), "by width", view, SHEET, "sideways")
    frame = frame_around(front, 1.0)
    assert frame.width_px % 2 == front.area.width() % 2
    assert serves(frame, front, 1.0)
    near = panned(front, 0.3 * MARGIN_SHARE * front.area.width(), 0)
    far = panned(front, 0.9 * MARGIN_SHARE * front.area.width(), 0)
    for moved, serving in ((near, True), (far, False)):
        assert serves(frame, laid_out((1001, 600), "by width", moved, SHEET, "sideways")[0], 1.0) == serving
    assert not serves(frame, front, 2.0)
    box = place_on(front, frame)
    assert (box.left() - round(box.left()), box.top() - round(box.top())) == (0, 0)


def test_overview_holds_everything():
    frame = overview_frame((10.0, 20.0, 310.0, 120.0), 900, 1.0)
    assert max(frame.width_px, frame.height_px) <= 900
    x0, y0, x1, y1 = frame.box
    assert (x0, y0) < (10.0, 20.0)
    assert x1 > 310.0
    assert y1 > 120.0


@given(st.floats(1e-3, 1e5))
def test_label_steps_are_round_and_leave_room(px_per_unit):
    step = label_step(px_per_unit)
    assert LABEL_ROOM_PX * (1 - 1e-6) <= step * px_per_unit <= 2.5 * LABEL_ROOM_PX * (1 + 1e-6)
    assert step == pytest.approx(round_step(step))
    digits = f"{step:.6e}".split("e")[0].rstrip("0").rstrip(".")
    assert digits in ("1", "2", "5")
    assert step * px_per_unit / ticks_per_label(step * px_per_unit) >= 6 * (1 - 1e-6)


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [(50, 50, "50"), (-50, 50, "−50"), (0.0, 0.05, "0.00"), (-0.0, 1, "0"), (1.25, 0.05, "1.25"), (3, 0.5, "3.0")],
)
def test_labels_have_just_the_decimals_they_need(value, step, text):
    assert label_text(value, step) == text


@given(st.floats(0.05, 1000), st.booleans())
def test_scale_bar_is_as_long_as_it_says(px_per_mm, inches):
    length_px, text = scale_bar(px_per_mm, inches=inches, room_px=96)
    number, unit = text.split()
    assert unit == ("in" if inches else "mm")
    assert float(number) * (25.4 if inches else 1.0) * px_per_mm == pytest.approx(length_px, rel=1e-6)
    assert 96 / 2.6 <= length_px <= 96 * (1 + 1e-6)


def test_snapping_to_edges_and_middle():
    bounds = (20.0, 30.0, 120.0, 80.0)
    left = snapped(bounds, SHEET, -19.2, 5.0, reach_mm=2.0)
    assert (left.dx_mm, left.dy_mm, left.x_lines_mm, left.y_lines_mm) == (-20.0, 5.0, (0.0,), ())
    middle = snapped(bounds, SHEET, 81.0, 44.0, reach_mm=2.0)
    assert (middle.dx_mm, middle.dy_mm) == (80.0, 45.0)
    assert (middle.x_lines_mm, middle.y_lines_mm) == ((150.0,), (100.0,))
    whole = snapped((0.0, 0.0, 300.0, 10.0), SHEET, 0.4, 50.0, reach_mm=2.0)
    assert whole.x_lines_mm == (0.0, 150.0, 300.0)


def test_one_axis_keeps_the_larger_part():
    assert along_one_axis(3.0, -4.0) == (0.0, -4.0)
    assert along_one_axis(-5.0, 4.0) == (-5.0, 0.0)


@pytest.mark.parametrize(
    ("size", "sheet_mm", "stacked"),
    [
        ((1600, 900), (300, 200), False),
        ((1000, 900), (600, 150), True),
        ((1000, 900), (150, 300), False),
        ((600, 400), (150, 300), True),
    ],
)
def test_faces_lie_where_they_show_the_sheet_larger(size, sheet_mm, stacked):
    assert is_stacked(size, "by width", sheet_mm) == stacked
    assert is_stacked(size, "stacked", sheet_mm)
    assert not is_stacked(size, "side by side", sheet_mm)


@pytest.mark.parametrize("shown_mm", [(300, 200), (160, 168)])
def test_a_size_that_wavers_does_not_flip_the_faces(shown_mm):
    """Going through all widths up and down, the faces change over once each way, and later than on the way up."""
    turned_over = {}
    for name, widths in (("wider", range(500, 1600, 4)), ("narrower", range(1600, 500, -4))):
        lies, at = is_stacked((widths[0], 700), "by width", shown_mm), []
        for width in widths:
            now = is_stacked((width, 700), "by width", shown_mm, was=lies)
            if now != lies:
                at.append(width)
            lies = now
        turned_over[name] = at
    assert (len(turned_over["wider"]), len(turned_over["narrower"])) == (1, 1)
    assert turned_over["wider"][0] > turned_over["narrower"][0] + 40


@given(size=sizes, view=views, turn=turns, x=st.floats(0, 300), y=st.floats(0, 200))
def test_the_lens_stays_within_its_face(size, view, turn, x, y):
    """Over a place near an edge it was cut off, or lay half under the other face."""
    for face in laid_out(size, "by width", view, SHEET, turn):
        box = lens_box(face, Aim(x_mm=x, y_mm=y, span_mm=1.0, paint=None))
        assert QRectF(face.area).contains(box)
        room = QRectF(face.area).adjusted(LENS_PX, LENS_PX, -LENS_PX, -LENS_PX)
        if room.isValid() and room.contains(face.to_px(x, y)):
            assert QLineF(box.center(), face.to_px(x, y)).length() < 1e-6
