"""What is seen: key pixels of both faces, the gap map, and that stale pictures never come back."""

import threading
from collections import Counter

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QRect
from PySide6.QtGui import QColor, QTransform
from PySide6.QtWidgets import QApplication
from scipy.ndimage import gaussian_filter

from app.canvas.faces_layout import View
from app.canvas.faces_view import FacesView
from app.canvas.frame import Frame
from app.canvas.gap_map import rows_share
from app.canvas.modes import RegionLook
from app.canvas.pictures import Request, frame_around
from app.canvas.placing import Snapped
from app.theme.in_force import apply_theme
from app.theme.theme import DIM, burned_in, contrast_ratio, mixed, theme
from core.geometry.affine import apply
from core.sheet.faces import turn_matrix
from tests.app.canvas.plans import LAYER_OF, make_plan


def near(colour: QColor, wanted: str, by: int = 12) -> bool:
    """Whether a pixel has about a colour."""
    other = QColor(wanted)
    pairs = ((colour.red(), other.red()), (colour.green(), other.green()), (colour.blue(), other.blue()))
    return all(abs(a - b) <= by for a, b in pairs)


def colours_around(canvas, face, x_mm, y_mm, side=16) -> Counter:
    at = face.to_px(x_mm, y_mm).toPoint()
    image = canvas.picture().copy(QRect(at.x() - side // 2, at.y() - side // 2, side, side))
    return Counter(QColor(image.pixel(x, y)).name() for x in range(side) for y in range(side))


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_fills_are_deep_and_hatched_at_their_place_on_both_faces(canvas, turn):
    canvas.show(make_plan(turn=turn))
    for face in (canvas.front, canvas.bed):
        seen = colours_around(canvas, face, 20, 20)
        ground = seen.most_common(1)[0][0]
        assert ground == burned_in(theme())
        assert any(contrast_ratio(colour, ground) >= 3.0 for colour in seen), "no hatch to be seen"


def test_coat_differs_between_the_faces(canvas):
    canvas.show(make_plan())
    picture = canvas.picture()
    assert near(canvas.pixel(canvas.bed, 45, 20, within=picture), theme().canvas.back, by=1)
    assert not near(canvas.pixel(canvas.front, 45, 20, within=picture), theme().canvas.back, by=1)


def test_cut_is_ink_at_both_places(canvas):
    canvas.show(make_plan())
    for face in (canvas.front, canvas.bed):
        assert near(canvas.pixel(face, 98, 30), theme().canvas.ink, by=60)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_bed_shows_the_exact_mirror_of_the_front(canvas, turn):
    canvas.show(make_plan(turn=turn), "artwork")
    picture = canvas.picture()

    def sheet_part(face):
        box = face.sheet_rect.toRect().adjusted(6, 6, -6, -6)
        return picture.copy(box)

    front, bed = sheet_part(canvas.front), sheet_part(canvas.bed)
    mirrored = bed.transformed(QTransform.fromScale(*((-1, 1) if turn == "sideways" else (1, -1))))
    assert front.size() == mirrored.size()
    differing = sum(
        not near(QColor(front.pixel(x, y)), QColor(mirrored.pixel(x, y)).name(), by=2)
        for x in range(0, front.width(), 3)
        for y in range(0, front.height(), 3)
    )
    assert differing == 0


def place_between_rows(plan, nth_row):
    """Front points on a scan row and midway to the next, in the square's middle."""
    planned = plan.layers[0]
    rows = planned.rows
    on_row = rows.row_y_mm[nth_row]
    bed = apply(rows.to_bed, np.array([[80.0, on_row], [80.0, on_row + rows.pitch_mm / 2]]))
    return apply(turn_matrix(plan.job.turn, plan.job.sheet), bed)


@pytest.mark.parametrize("face", ["front", "bed"])
def test_gap_map_close_up_shows_bared_rows_and_left_over_between(canvas, face):
    plan = make_plan(lpi=300)
    canvas.show(plan, "coverage")
    on, between = place_between_rows(plan, 120)
    canvas.view.zooming.zoom_to(on[0], on[1], 1.0)
    canvas.settle()
    one = getattr(canvas, face)
    assert near(canvas.pixel(one, *on), theme().canvas.bared)
    left_over = canvas.pixel(one, *between)
    assert contrast_ratio(left_over.name(), theme().canvas.bared) >= 3.0
    assert left_over.red() > left_over.blue() + 60, "left-over has its own colour"


def test_gap_map_close_up_of_a_clean_fill_shows_no_left_over_within(canvas):
    plan = make_plan(lpi=600)
    canvas.show(plan, "coverage")
    on, between = place_between_rows(plan, 240)
    canvas.view.zooming.zoom_to(on[0], on[1], 1.0)
    canvas.settle()
    for place in (on, between):
        assert near(canvas.pixel(canvas.front, *place), theme().canvas.bared)


def test_gap_map_shows_spill_beyond_the_edge(canvas):
    plan = make_plan(lpi=600)
    canvas.show(plan, "coverage")
    row = place_between_rows(plan, 240)[0]
    half_mm = plan.layers[0].coverage.cleared_width_mm / 2
    canvas.view.zooming.zoom_to(30.0, row[1], 0.5)
    canvas.settle()
    coat_beyond = canvas.pixel(canvas.bed, 30.0 + 2.2 * half_mm, row[1])
    dim = mixed(theme().canvas.back, theme().canvas.ink, DIM)
    assert near(coat_beyond, dim, by=2)
    spilt = colours_around(canvas, canvas.bed, 30.0 + 0.5 * half_mm, row[1], side=8)
    assert not any(near(QColor(colour), dim, by=8) for colour in spilt)
    assert any(near(QColor(colour), theme().canvas.spill, by=60) for colour in spilt)


def test_gap_map_from_afar_tells_much_left_over_from_none(canvas):
    shown = {}
    for lpi in (300, 600):
        canvas.show(make_plan(lpi=lpi), "coverage")
        shown[lpi] = colours_around(canvas, canvas.front, 20, 20).most_common(1)[0][0]
    assert near(QColor(shown[600]), theme().canvas.bared, by=16)
    far = QColor(shown[300])
    assert far.red() > far.blue() + 30


def test_rows_fade_in_between_two_zooms(canvas):
    canvas.show(make_plan())
    frame = frame_around(canvas.front, 1.0)
    pitches = [1.9, 2.0, 3.0, 4.0, 9.0]
    shares = [rows_share(px / frame.view.px_per_mm, frame) for px in pitches]
    assert shares == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0])


def test_scan_angle_turns_rows_and_gap_map(canvas):
    plan = make_plan(lpi=300, scan_angle_deg=37.0)
    canvas.show(plan, "coverage")
    rows = plan.layers[0].rows
    middle = apply(turn_matrix("sideways", plan.job.sheet), np.array([20.0, 20.0]))
    x, y = apply(rows.from_bed, middle)
    y = rows.row_y_mm[np.abs(rows.row_y_mm - y).argmin()]
    for shift, bared in ((0.0, True), (rows.pitch_mm / 2, False)):
        bed = apply(rows.to_bed, np.array([x, y + shift]))
        front = apply(turn_matrix("sideways", plan.job.sheet), bed)
        canvas.view.zooming.zoom_to(*front, 1.0)
        canvas.settle()
        assert near(canvas.pixel(canvas.front, *front), theme().canvas.bared) == bared


def test_selection_and_hover_are_marked_on_both_faces(canvas):
    canvas.show(make_plan())
    plain = {face.name: colours_around(canvas, face, 10, 20, 6) for face in (canvas.front, canvas.bed)}
    canvas.view.set_selection({"square"})
    canvas.settle()
    for face in (canvas.front, canvas.bed):
        seen = colours_around(canvas, face, 10, 20, 6)
        assert seen != plain[face.name]
        assert any(near(QColor(colour), theme().canvas.selection, by=40) for colour in seen)


def test_paint_mode_shows_regions_in_their_colours(canvas):
    plan = make_plan()
    canvas.view.set_region_looks([RegionLook(region=plan.layers[0].region, colour="#204080")])
    canvas.show(plan, "paint")
    for face in (canvas.front, canvas.bed):
        assert near(canvas.pixel(face, 20, 20), "#204080", by=2)


def test_undecided_and_left_out_shapes_are_seen(canvas):
    canvas.show(make_plan(layer_of=LAYER_OF | {"square": "undecided", "triangle": "leave out"}))
    for x_mm in (10, 60):
        seen = colours_around(canvas, canvas.front, x_mm, 20, 24)
        assert len(seen) > 2


def test_coverage_still_being_worked_out_shows_the_fill(canvas):
    canvas.show(make_plan(complete=False), "coverage")
    assert near(canvas.pixel(canvas.front, 20, 20), theme().canvas.bared)


def test_dark_theme_redraws_everything(canvas):
    canvas.show(make_plan())
    app = QApplication.instance()
    try:
        apply_theme(app, "dark")
        canvas.settle()
        assert canvas.picture().pixelColor(canvas.front.area.right() - 4, 100).name() == theme().canvas.desk
        assert colours_around(canvas, canvas.front, 20, 20).most_common(1)[0][0] == burned_in(theme())
    finally:
        apply_theme(app, "light")


def test_newest_plan_wins_however_quickly_they_come(canvas):
    filled = make_plan()
    emptied = make_plan(layer_of=LAYER_OF | {"square": "leave out"})
    canvas.view.set_mode("layers")
    for _ in range(5):
        canvas.view.set_plan(filled)
        canvas.view.set_plan(emptied)
    canvas.settle()
    assert near(canvas.pixel(canvas.bed, 20, 20), theme().canvas.back, by=2)
    for _ in range(5):
        canvas.view.set_plan(emptied)
        QApplication.processEvents()
        canvas.view.set_plan(filled)
    canvas.settle()
    assert colours_around(canvas, canvas.bed, 20, 20).most_common(1)[0][0] == burned_in(theme())


def test_no_plan_clears_what_was_under_way(canvas):
    canvas.view.set_plan(make_plan())
    canvas.view.set_plan(None)
    canvas.settle()
    QApplication.processEvents()
    assert canvas.view.state.plan is None
    assert canvas.picture().pixelColor(4, 4).name() == theme().palette.window


def test_pictures_are_delivered_on_the_gui_thread(canvas):
    threads = []
    canvas.view.drawn.connect(lambda: threads.append(threading.current_thread()))
    canvas.show(make_plan())
    assert threads
    assert set(threads) == {threading.main_thread()}


@pytest.mark.parametrize("orderly", [True, False])
def test_no_thread_is_left(qtbot, orderly):
    before = set(threading.enumerate())
    view = FacesView()
    view.resize(600, 400)
    view.set_plan(make_plan())
    if orderly:
        view.shutdown()
    else:
        view.deleteLater()
        QApplication.sendPostedEvents(view, QEvent.Type.DeferredDelete)
    assert set(threading.enumerate()) <= before


def test_dragged_artwork_moves_at_once_and_only_until_the_new_plan(canvas):
    canvas.show(make_plan(), "sheet")
    canvas.view.touch.show_drag(Snapped(dx_mm=35.0, dy_mm=0.0))
    assert near(canvas.pixel(canvas.bed, 20, 20), theme().canvas.back, by=2)
    assert colours_around(canvas, canvas.bed, 55, 20).most_common(1)[0][0] == burned_in(theme())
    canvas.show(make_plan(to_front=(1, 0, 0, 1, 35.0, 0.0)), "sheet")
    assert near(canvas.pixel(canvas.bed, 20, 20), theme().canvas.back, by=2)
    assert colours_around(canvas, canvas.bed, 55, 20).most_common(1)[0][0] == burned_in(theme())


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_hatch_runs_along_the_scan_rows_of_the_bed(canvas, turn):
    """Direction of least change, from the structure tensor of the pixels (J. Bigün, G. Granlund, ICCV 1987)."""
    canvas.show(make_plan(turn=turn, scan_angle_deg=30.0))
    canvas.view.zooming.zoom_to(20, 20, 25)
    canvas.settle()
    at = canvas.bed.to_px(20, 20).toPoint()
    image = canvas.picture().copy(QRect(at.x() - 60, at.y() - 60, 120, 120))
    grey = np.array([[QColor(image.pixel(x, y)).lightness() for x in range(120)] for y in range(120)], float)
    gy, gx = np.gradient(gaussian_filter(grey, 2.0))  # blurred, as differences of pixels lean towards the diagonals
    across = 0.5 * np.arctan2(2 * (gx * gy).sum(), (gx * gx - gy * gy).sum())
    assert (np.degrees(across) + 90.0) % 180.0 == pytest.approx(30.0, abs=2.0)


def test_only_the_newest_of_quick_plans_is_made_ready(canvas):
    taken = []
    canvas.view.pictures.scene_changed.connect(lambda: taken.append(canvas.view.pictures.scene.plan))
    plans = [make_plan() for _ in range(4)]
    for plan in plans:
        canvas.view.set_plan(plan)
    canvas.settle()
    assert taken == plans[-1:]


def test_a_picture_given_up_is_never_shown(canvas):
    """While one picture is held up, another one is wanted: the first must not come to be shown, not even briefly."""
    begun, go_on, shown = threading.Event(), threading.Event(), []
    slot = canvas.view.pictures.overview
    slot.changed.connect(lambda: shown.append(slot.picture.key))

    def held_up(work):
        begun.set()
        go_on.wait(10)

    frame = Frame(view=View(x_mm=0.0, y_mm=0.0, px_per_mm=1.0), width_px=40, height_px=30, density=1.0)
    slot.want(Request(key="old", frame=frame, theme=theme(), paint=held_up))
    assert begun.wait(10)
    slot.want(Request(key="new", frame=frame, theme=theme(), paint=lambda work: None))
    go_on.set()
    canvas.settle()
    assert shown == ["new"]


def test_wishes_of_one_kind_wait_for_the_picture_under_way_and_only_the_last_is_drawn(canvas):
    begun, go_on, shown = threading.Event(), threading.Event(), []
    slot = canvas.view.pictures.overview
    slot.changed.connect(lambda: shown.append(slot.picture.frame.view.x_mm))

    def held_up(work):
        begun.set()
        go_on.wait(10)

    def request(x_mm):
        frame = Frame(view=View(x_mm=x_mm, y_mm=0.0, px_per_mm=1.0), width_px=40, height_px=30, density=1.0)
        return Request(key="same", frame=frame, theme=theme(), paint=held_up)

    slot.want(request(0.0))
    assert begun.wait(10)
    for x_mm in (1.0, 2.0, 3.0):
        slot.want(request(x_mm))
    go_on.set()
    canvas.settle()
    assert shown == [0.0, 3.0]


def test_artwork_beyond_the_sheet_is_seen_on_the_dark_desk_too(canvas):
    app = QApplication.instance()
    try:
        apply_theme(app, "dark")
        canvas.show(make_plan(to_front=(1, 0, 0, 1, 0.0, 20.0)))
        ground = canvas.pixel(canvas.front, 20, 72)
        assert contrast_ratio(ground.name(), theme().canvas.ink) >= 3.0
        assert near(canvas.pixel(canvas.front, 20, 90), theme().canvas.desk, by=2)
    finally:
        apply_theme(app, "light")
