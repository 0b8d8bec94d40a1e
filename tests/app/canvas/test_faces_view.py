"""The real widget: what clicks, bands, keys and the wheel do on both faces."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from core.artwork.drawing import Finding, Shape
from core.sheet.placement import Repeat
from tests.app.canvas.plans import SQUARE, closed, make_plan, shapes

LEFT = Qt.MouseButton.LeftButton
MIDDLE = Qt.MouseButton.MiddleButton
NO_KEY = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


def drag(view, start: QPoint, end: QPoint, *, button=LEFT, modifiers=NO_KEY, let_go=True):
    """Press, move in a few steps and let go."""
    QTest.mousePress(view, button, modifiers, start)
    for step in range(1, 6):
        where = start + (end - start) * step / 5
        move(view, where, button, modifiers)
    if let_go:
        QTest.mouseRelease(view, button, modifiers, end)


def move(view, where: QPoint, button=Qt.MouseButton.NoButton, modifiers=NO_KEY):
    at = QPointF(where)
    event = QMouseEvent(
        QEvent.Type.MouseMove, at, QPointF(view.mapToGlobal(where)), Qt.MouseButton.NoButton, button, modifiers
    )
    QApplication.sendEvent(view, event)


def wheel(view, where: QPointF, steps: float):
    event = QWheelEvent(
        where,
        QPointF(view.mapToGlobal(where.toPoint())),
        QPoint(),
        QPoint(0, round(120 * steps)),
        Qt.MouseButton.NoButton,
        NO_KEY,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view, event)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
@pytest.mark.parametrize("face", ["front", "bed"])
@pytest.mark.parametrize(("place", "shape"), [((20, 20), "square"), ((63, 20), "triangle"), ((98, 30), "outline")])
def test_click_selects_the_shape_at_its_place_on_either_face(canvas, at, turn, face, place, shape):
    canvas.show(make_plan(turn=turn))
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(getattr(canvas, face), *place))
    assert canvas.view.state.selection == {shape}


@pytest.mark.parametrize("face", ["front", "bed"])
def test_click_on_a_copy_selects_the_shape_it_is_a_copy_of(canvas, at, face):
    plan = make_plan(shapes()[:1])
    plan = replace(plan, job=replace(plan.job, repeats=(Repeat(x_mm=75, y_mm=20, rotation_deg=90),)))
    canvas.show(plan)
    canvas.view.zooming.fit("sheet")
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(getattr(canvas, face), 55, 40))  # (20, 20) turned and put there
    assert canvas.view.state.selection == {"square"}
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(getattr(canvas, face), 80, 40))
    assert canvas.view.state.selection == set()


def test_bed_is_mirrored_so_the_same_pixel_offset_hits_another_shape(canvas, at):
    canvas.show(make_plan())
    bed, sheet = canvas.bed, canvas.bed.sheet_rect
    own = sheet.topLeft() + QPointF(20, 20) * bed.view.px_per_mm  # (20, 20) in the bed's own frame is front (80, 20)
    assert bed.to_front(own) == pytest.approx((80, 20))
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, own.toPoint())
    assert canvas.view.state.selection == set()


def test_click_tells_once_and_set_selection_does_not(canvas, at, qtbot):
    canvas.show(make_plan())
    told = []
    canvas.view.touch.selection_changed.connect(told.append)
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(canvas.front, 20, 20))
    canvas.view.set_selection({"triangle"})
    assert told == [("square",)]
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(canvas.front, 50, 20))
    assert told == [("square",), ()]


def test_ctrl_click_adds_and_takes_away(canvas, at):
    canvas.show(make_plan())
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(canvas.front, 20, 20))
    QTest.mouseClick(canvas.view, LEFT, CTRL, at(canvas.bed, 63, 20))
    assert canvas.view.state.selection == {"square", "triangle"}
    QTest.mouseClick(canvas.view, LEFT, SHIFT, at(canvas.front, 20, 20))
    assert canvas.view.state.selection == {"triangle"}


def test_second_click_at_the_same_place_goes_to_the_shape_beneath(canvas, at):
    under = Shape(id="under", kind="rect", path=closed(SQUARE), fill="#00ff00")
    plan = make_plan((under, *shapes()), {"under": "fill", "square": "fill", "triangle": "fill"})
    canvas.show(plan)
    place = at(canvas.front, 20, 20)
    chosen = []
    for _ in range(3):
        QTest.mouseClick(canvas.view, LEFT, NO_KEY, place)
        chosen.append(set(canvas.view.state.selection))
    assert chosen == [{"square"}, {"under"}, {"square"}]


@pytest.mark.parametrize("face", ["front", "bed"])
def test_rubber_band_takes_what_lies_wholly_inside(canvas, at, face):
    canvas.show(make_plan())
    one = getattr(canvas, face)
    drag(canvas.view, at(one, 5, 5), at(one, 85, 42))
    assert canvas.view.state.selection == {"square", "triangle"}


def test_rubber_band_around_nothing_whole_takes_what_it_touches(canvas, at):
    canvas.show(make_plan())
    drag(canvas.view, at(canvas.front, 40, 43), at(canvas.front, 50, 47))
    assert canvas.view.state.selection == {"line"}
    drag(canvas.view, at(canvas.front, 40, 15), at(canvas.front, 50, 20))
    assert canvas.view.state.selection == set()


def test_band_with_ctrl_adds(canvas, at):
    canvas.show(make_plan())
    canvas.view.set_selection({"line"})
    drag(canvas.view, at(canvas.front, 5, 5), at(canvas.front, 35, 35), modifiers=CTRL)
    assert canvas.view.state.selection == {"line", "square"}


def test_escape_gives_the_band_up(canvas, at):
    canvas.show(make_plan())
    canvas.view.set_selection({"line"})
    drag(canvas.view, at(canvas.front, 5, 5), at(canvas.front, 85, 42), let_go=False)
    QTest.keyClick(canvas.view, Qt.Key.Key_Escape)
    QTest.mouseRelease(canvas.view, LEFT, NO_KEY, at(canvas.front, 85, 42))
    assert canvas.view.state.selection == {"line"}


@pytest.mark.parametrize("turn", ["sideways", "endways"])
@pytest.mark.parametrize("face", ["front", "bed"])
def test_wheel_keeps_the_point_under_the_pointer(canvas, turn, face):
    canvas.show(make_plan(turn=turn))
    where = getattr(canvas, face).to_px(31.0, 22.0)
    before = canvas.view.state.view.px_per_mm
    for _ in range(4):
        wheel(canvas.view, where, 1)
    assert canvas.view.state.view.px_per_mm == pytest.approx(before * 1.25**4)
    moved = getattr(canvas, face).to_px(31.0, 22.0)
    assert (moved.x(), moved.y()) == pytest.approx((where.x(), where.y()), abs=1e-6)


def test_zoom_ends_at_both_ends(canvas):
    canvas.show(make_plan())
    canvas.view.zooming.fit("sheet")
    fitted = canvas.view.state.view.px_per_mm
    for _ in range(60):
        canvas.view.zooming.zoom_by(0.8)
    assert canvas.view.state.view.px_per_mm == pytest.approx(fitted / 4)
    for _ in range(90):
        canvas.view.zooming.zoom_by(1.25)
    assert canvas.view.state.view.px_per_mm == pytest.approx(1000.0)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_panning_one_face_moves_the_other_to_the_mirrored_place(canvas, at, turn):
    canvas.show(make_plan(turn=turn))
    canvas.view.zooming.zoom_to(30, 30, 20)
    start = canvas.bed.middle.toPoint()
    front_before, bed_before = canvas.front.to_px(30, 30), canvas.bed.to_px(30, 30)
    drag(canvas.view, start, start + QPoint(40, 24), button=MIDDLE)
    moved = canvas.bed.to_px(30, 30) - bed_before
    mirrored = canvas.front.to_px(30, 30) - front_before
    assert (moved.x(), moved.y()) == pytest.approx((40, 24))
    signs = (-1, 1) if turn == "sideways" else (1, -1)
    assert (mirrored.x(), mirrored.y()) == pytest.approx((40 * signs[0], 24 * signs[1]))


def test_space_with_the_left_button_pans_and_selects_nothing(canvas, at):
    canvas.show(make_plan())
    canvas.view.zooming.zoom_to(20, 20, 30)
    start = at(canvas.front, 20, 20)
    before = canvas.view.state.view
    QTest.keyPress(canvas.view, Qt.Key.Key_Space)
    drag(canvas.view, start, start + QPoint(30, 0))
    QTest.keyRelease(canvas.view, Qt.Key.Key_Space)
    assert canvas.view.state.view.x_mm == pytest.approx(before.x_mm - 30 / before.px_per_mm)
    assert canvas.view.state.selection == set()


def test_pointer_is_told_in_the_front_frame_from_either_face(canvas, at):
    canvas.show(make_plan())
    told = []
    canvas.view.touch.pointed.connect(told.append)
    for face in (canvas.front, canvas.bed):
        move(canvas.view, at(face, 20, 15))
        half_px = 0.5 / face.view.px_per_mm
        assert told[-1] == pytest.approx((20, 15), abs=half_px)
    move(canvas.view, QPoint(3, 3))
    assert told[-1] is None


def test_hovered_shape_is_the_one_at_the_mirrored_place(canvas, at):
    canvas.show(make_plan())
    move(canvas.view, at(canvas.bed, 20, 20))
    assert canvas.view.state.hovered == "square"
    assert "Square" in canvas.view.accessibleDescription()
    move(canvas.view, at(canvas.bed, 50, 20))
    assert canvas.view.state.hovered is None


@pytest.mark.parametrize(("face", "sign"), [("front", 1), ("bed", -1)])
def test_sheet_mode_drags_the_artwork(canvas, at, face, sign):
    canvas.show(make_plan(), "sheet")
    told = []
    canvas.view.touch.placement_dragged.connect(lambda *shift: told.append(shift))
    one = getattr(canvas, face)
    start = at(one, 40, 30)
    scale = one.view.px_per_mm
    drag(canvas.view, start, start + QPoint(sign * round(12 * scale), 0), modifiers=CTRL)
    assert [finished for _, _, finished in told] == [False] * (len(told) - 1) + [True]
    assert len(told) > 2
    assert told[-1][:2] == pytest.approx((round(12 * scale) / scale, 0.0))
    assert canvas.view.state.selection == set()


def test_drag_snaps_to_the_edge_of_the_sheet(canvas, at):
    canvas.show(make_plan(), "sheet")
    told = []
    canvas.view.touch.placement_dragged.connect(lambda *shift: told.append(shift))
    # the outline's left edge lies at 2 mm: dragging by about -2 mm finds the sheet's edge
    start = at(canvas.front, 40, 30)
    drag(canvas.view, start, start + QPoint(round(-1.6 * canvas.front.view.px_per_mm), 0))
    assert told[-1] == pytest.approx((-2.0, 0.0, True))


def test_escape_puts_a_dragged_artwork_back(canvas, at):
    canvas.show(make_plan(), "sheet")
    told = []
    canvas.view.touch.placement_dragged.connect(lambda *shift: told.append(shift))
    start = at(canvas.front, 40, 30)
    drag(canvas.view, start, start + QPoint(40, 30), let_go=False)
    QTest.keyClick(canvas.view, Qt.Key.Key_Escape)
    assert told[-1] == (0.0, 0.0, True)


def test_other_modes_do_not_drag(canvas, at):
    canvas.show(make_plan(), "layers")
    told = []
    canvas.view.touch.placement_dragged.connect(lambda *shift: told.append(shift))
    drag(canvas.view, at(canvas.front, 20, 20), at(canvas.front, 50, 40))
    assert told == []


def test_arrows_nudge_in_sheet_mode_only(canvas):
    canvas.show(make_plan(), "sheet")
    told = []
    canvas.view.touch.placement_dragged.connect(lambda *shift: told.append(shift))
    QTest.keyClick(canvas.view, Qt.Key.Key_Right, CTRL)
    QTest.keyClick(canvas.view, Qt.Key.Key_Up, CTRL | SHIFT)
    assert told == [(1.0, 0.0, True), (0.0, -0.1, True)]
    canvas.view.set_mode("layers")
    QTest.keyClick(canvas.view, Qt.Key.Key_Right, CTRL)
    assert len(told) == 2


def test_keys_pan_zoom_and_fit(canvas):
    canvas.show(make_plan())
    fitted = canvas.view.state.view
    QTest.keyClick(canvas.view, Qt.Key.Key_Plus)
    assert canvas.view.state.view.px_per_mm == pytest.approx(fitted.px_per_mm * 1.25)
    QTest.keyClick(canvas.view, Qt.Key.Key_Right, SHIFT)
    assert canvas.view.state.view.x_mm > fitted.x_mm
    QTest.keyClick(canvas.view, Qt.Key.Key_0)
    assert canvas.view.state.view == fitted


def walk(canvas, *keys):
    """Press these keys; gives the shape that is gone to after each."""
    walked = []
    for key in keys:
        QTest.keyClick(canvas.view, key)
        walked.append(canvas.view.state.hovered)
    return walked


def test_arrows_walk_to_the_shape_that_lies_that_way(canvas):
    canvas.show(make_plan())
    assert walk(canvas, Qt.Key.Key_Left) == ["square"]  # the first, wherever the walk begins
    assert walk(canvas, Qt.Key.Key_Right, Qt.Key.Key_Right) == ["outline", "triangle"]
    assert walk(canvas, Qt.Key.Key_Right) == ["triangle"]
    assert walk(canvas, Qt.Key.Key_Down, Qt.Key.Key_Left)[-1] in ("line", "outline", "square")


def test_every_shape_is_come_to_in_the_order_it_was_drawn(canvas):
    canvas.show(make_plan())
    down, up = Qt.Key.Key_PageDown, Qt.Key.Key_PageUp
    assert walk(canvas, down, down, down, down, down) == ["square", "triangle", "outline", "line", "line"]
    assert walk(canvas, up, Qt.Key.Key_Home, Qt.Key.Key_End) == ["outline", "square", "line"]


def test_space_selects_and_enter_activates_the_shape_the_keys_are_at(canvas):
    canvas.show(make_plan())
    activated = []
    canvas.view.touch.shape_activated.connect(lambda shape, where: activated.append((shape, where)))
    walk(canvas, Qt.Key.Key_PageDown, Qt.Key.Key_PageDown)
    QTest.keyClick(canvas.view, Qt.Key.Key_Space)
    assert canvas.view.state.selection == {"triangle"}
    QTest.keyClick(canvas.view, Qt.Key.Key_Return)
    assert [shape for shape, _ in activated] == ["triangle"]
    assert isinstance(activated[0][1], QPoint)
    QTest.keyClick(canvas.view, Qt.Key.Key_Space)
    assert canvas.view.state.selection == set()


def test_the_walk_brings_a_shape_out_of_view_into_it(canvas):
    canvas.show(make_plan())
    canvas.view.zooming.zoom_to(20, 20, 10)
    walk(canvas, Qt.Key.Key_PageDown, Qt.Key.Key_PageDown)
    front = canvas.front
    assert front.area.contains(front.to_px(70, 25).toPoint())


def test_double_click_activates(canvas, at):
    canvas.show(make_plan())
    activated = []
    canvas.view.touch.shape_activated.connect(lambda shape, where: activated.append(shape))
    QTest.mouseDClick(canvas.view, LEFT, NO_KEY, at(canvas.bed, 63, 20))
    assert activated == ["triangle"]


def ask_for_menu(view, place):
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, view.mapToGlobal(place))
    QApplication.sendEvent(view, event)


def test_context_menu_selects_what_is_under_it_first(canvas, at):
    canvas.show(make_plan())
    asked = []
    canvas.view.touch.context_requested.connect(lambda ids, where: asked.append(ids))
    place = at(canvas.front, 20, 20)
    ask_for_menu(canvas.view, place)
    canvas.view.set_selection({"square", "line"})
    ask_for_menu(canvas.view, place)
    assert asked == [("square",), ("square", "line")]


def test_finding_marks_are_clicked_on_either_face(canvas, at):
    canvas.show(make_plan())
    findings = (
        Finding(code="a", message="Nowhere."),
        Finding(code="b", message="Here.", x_mm=45.0, y_mm=25.0, severity="problem"),
    )
    canvas.view.set_finding_marks(findings)
    told = []
    canvas.view.touch.finding_activated.connect(told.append)
    for face in (canvas.front, canvas.bed):
        QTest.mouseClick(canvas.view, LEFT, NO_KEY, at(face, 45.0, 25.0) - QPoint(0, 16))
    assert told == [1, 1]


def test_zoom_to_puts_the_place_in_the_middle(canvas):
    canvas.show(make_plan())
    canvas.view.zooming.zoom_to(60, 20, 10)
    front = canvas.front
    assert front.to_front(front.middle) == pytest.approx((60, 20))
    assert min(front.area.width(), front.area.height()) / front.view.px_per_mm == pytest.approx(10)


def test_narrow_views_stack_the_faces_and_it_can_be_told(canvas):
    canvas.show(make_plan())
    assert canvas.front.frame.y() == canvas.bed.frame.y()
    canvas.view.resize(500, 900)
    assert canvas.front.frame.x() == canvas.bed.frame.x()
    assert canvas.front.frame.bottom() < canvas.bed.frame.top()
    canvas.view.set_arrangement("side by side")
    assert canvas.front.frame.y() == canvas.bed.frame.y()


def test_view_stays_for_the_same_artwork_and_fits_for_another_sheet(canvas):
    plan = make_plan()
    canvas.show(plan)
    canvas.view.zooming.fit("sheet")
    canvas.view.zooming.zoom_to(20, 20, 10)
    zoomed = canvas.view.state.view
    canvas.show(make_plan(lpi=300))
    assert canvas.view.state.view == zoomed
    larger = replace(plan.job.sheet, width_mm=300.0)
    canvas.show(replace(plan, job=replace(plan.job, sheet=larger)))
    assert canvas.view.state.view.x_mm == pytest.approx(150.0)


def test_resizing_keeps_a_fitted_sheet_fitted(canvas):
    canvas.show(make_plan())
    canvas.view.zooming.fit("sheet")
    before = canvas.view.state.view.px_per_mm
    canvas.view.resize(1400, 900)
    assert canvas.view.state.view.px_per_mm > before * 1.3
    assert canvas.front.area.contains(canvas.front.sheet_rect.toRect())


def test_without_a_plan_nothing_is_hit_and_the_invitation_is_said(canvas):
    canvas.view.set_empty_text("Drop artwork here", "SVG or DXF.")
    QTest.mouseClick(canvas.view, LEFT, NO_KEY, QPoint(200, 200))
    move(canvas.view, QPoint(210, 210))
    wheel(canvas.view, QPointF(200, 200), 1)
    QTest.keyClick(canvas.view, Qt.Key.Key_Plus)
    assert "Drop artwork here" in canvas.view.accessibleDescription()
    assert canvas.view.accessibleName()
    canvas.picture()


def test_overlays_are_painted_on_both_faces(canvas):
    class Notes:
        def __init__(self):
            self.faces = []

        def paint(self, painter, face):
            self.faces.append(face.name)

    notes = Notes()
    canvas.show(make_plan())
    canvas.view.add_overlay(notes)
    canvas.picture()
    assert notes.faces == ["front", "bed"]


def test_escape_takes_the_selection_back_and_then_ends_the_walk(canvas):
    canvas.show(make_plan())
    walk(canvas, Qt.Key.Key_Down)
    canvas.view.set_selection({"square"})
    assert walk(canvas, Qt.Key.Key_Escape) == ["square"] and canvas.view.state.selection == frozenset()
    assert walk(canvas, Qt.Key.Key_Escape) == [None]
