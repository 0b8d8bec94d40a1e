"""The window as a whole: layout, units, looks, findings, dropping out of the way when narrow."""

import gc
import threading
import weakref
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from app.session.session import derive
from app.session.settings import Settings
from app.stages.layers.shapes_table import ShapesTable
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.theme.theme import theme
from app.widgets.fields import LengthField
from tests.windows import a_window, let_go_of_keys, part, wait_until, wait_until_settled

pytestmark = pytest.mark.usefixtures("shared_window")

FAULTY = Path(__file__).parents[3] / "sample_jobs" / "faulty-door-sign.svg"


def test_a_narrow_window_shows_signs_only_and_folds_the_page_away(with_plate, qtbot):
    window = with_plate
    window.resize(820, 620)
    qtbot.waitUntil(lambda: window.rail.width() < 80)
    page = window.pages[window.stage]
    assert not page.isVisible()
    window.rail.button(Stage.BURN).click()
    assert window.stage is Stage.BURN and window.pages[Stage.BURN].isVisible()
    window.rail.button(Stage.BURN).click()
    assert not window.pages[Stage.BURN].isVisible()
    window.resize(1300, 800)
    qtbot.waitUntil(lambda: window.pages[Stage.BURN].isVisible())
    assert window.rail.width() > 100


def test_an_empty_narrow_window_still_offers_to_open_a_file(window, qtbot):
    window.resize(820, 620)
    qtbot.waitUntil(lambda: window.rail.width() < 80)
    assert window.pages[Stage.ARTWORK].main_action.isVisible()


def test_inches_show_everywhere_and_change_no_length(with_plate, qtbot):
    window = with_plate
    before = window.session.job
    window.menus.actions["other units"].trigger()
    texts = {}
    for stage in (Stage.ARTWORK, Stage.SHEET, Stage.HAND_OVER):
        window.go_to(stage)
        qtbot.wait(0)
        page = window.pages[stage]
        texts[stage] = " ".join(str(one.text()) for one in page.findChildren(object) if hasattr(one, "text"))
    assert "2.362 × 1.575 in" in texts[Stage.ARTWORK]
    assert "11.811 in" in texts[Stage.SHEET] and " mm" not in texts[Stage.SHEET].replace("mirrored acrylic 3 mm", "")
    assert "in²" in window.status.cleared.text()
    assert window.session.job is before
    window.menus.actions["other units"].trigger()
    assert "mm²" in window.status.cleared.text()


def test_pointing_shows_the_place_in_both_frames(with_plate):
    window = with_plate
    window.faces.touch.pointed.emit((41.2, 18.0))
    assert window.status.pointer.text() == "front 41.2, 18.0   bed 258.8, 18.0 mm"
    window.menus.actions["turn"].trigger()
    window.faces.touch.pointed.emit((41.2, 18.0))
    assert window.status.pointer.text() == "front 41.2, 18.0   bed 41.2, 182.0 mm"
    window.faces.touch.pointed.emit(None)
    assert "–" in window.status.pointer.text()


def test_light_and_dark(make_window, qapp):
    window = make_window()
    window.menus.actions["looks dark"].trigger()
    assert theme().name == "dark" and Settings.get(window.settings, "looks") == "dark"
    apply_theme(qapp, "light")


def test_no_key_stays_held_from_one_test_to_the_next(qapp):
    elsewhere = QWidget()
    QTest.mouseClick(elsewhere, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier)
    assert qapp.keyboardModifiers() == Qt.KeyboardModifier.ControlModifier
    let_go_of_keys()
    assert qapp.keyboardModifiers() == Qt.KeyboardModifier.NoModifier


def test_selecting_on_a_face_and_in_the_list_is_one_thing(with_plate, qtbot):
    window = with_plate
    window.go_to(Stage.LAYERS)
    table = window.pages[Stage.LAYERS].findChild(ShapesTable)
    shape_ids = [shape.id for shape in window.session.plan.drawing.shapes]
    window.faces.touch.selection_changed.emit((shape_ids[1], shape_ids[3]))
    assert [index.row() for index in table.selectionModel().selectedRows()] == [1, 3]
    table.selectRow(2)
    assert window.session.selection == {shape_ids[2]}
    assert window.faces.state.selection == {shape_ids[2]}


@pytest.mark.parametrize(
    ("action", "count"), [("select all", 5), ("invert", 4), ("select none", 0), ("select undecided", 0)]
)
def test_selections_from_the_menu(with_plate, action, count):
    window = with_plate
    window.session.select([window.session.plan.drawing.shapes[0].id])
    window.menus.actions[action].trigger()
    assert len(window.session.selection) == count


@pytest.fixture
def with_faults(window, settle):
    window.files.open(FAULTY)
    settle(window)
    return window


def test_findings_are_counted_listed_and_zoomed_to(with_faults, qtbot):
    window = with_faults
    count = len(window.session.plan.findings)
    assert count and window.status.findings.text().startswith(str(count))
    assert not window.findings.isVisible()
    window.status.findings.click()
    assert window.findings.isVisible() and len(window.findings.findings) == count
    zoomed = []
    window.faces.zooming.zoomed.connect(zoomed.append)
    row = next(i for i, one in enumerate(window.findings.findings) if one.x_mm is not None)
    window.findings.pick(row)
    assert zoomed


def test_findings_are_in_inches_in_inch_mode(with_faults):
    window = with_faults

    def sentences():
        model = window.findings.model()
        return [model.index(row, 0).data() for row in range(model.rowCount())]

    metric = sentences()
    assert any("\u00a0mm" in sentence for sentence in metric)  # a figure is never parted from its unit
    window.menus.actions["other units"].trigger()
    assert not any("mm" in sentence for sentence in sentences())
    window.menus.actions["other units"].trigger()
    assert sentences() == metric


def test_a_click_on_a_findings_mark_chooses_it_in_the_list(with_faults):
    window = with_faults
    placed = next(i for i, one in enumerate(window.session.plan.findings) if one.x_mm is not None)
    window.faces.touch.finding_activated.emit(placed)
    assert window.findings.isVisible()
    assert window.findings.chosen == window.session.plan.findings[placed]


def test_going_on_past_findings_is_a_decision_that_holds_until_the_next_file(with_faults, settle):
    from app.stages.stage import State, marks

    window = with_faults
    page = window.pages[Stage.ARTWORK]
    assert marks(window.session)[Stage.ARTWORK].state is State.DECIDE
    assert "finding" in page.main_action.text()
    page.main_action.click()
    assert window.stage is Stage.LAYERS
    assert marks(window.session)[Stage.ARTWORK].state is State.DONE


def test_help_dialogs_open(window, dialogs):
    for key in ("keys", "cautions", "about"):
        dialogs.expect("run", True)
        window.menus.actions[key].trigger()


def test_the_title_names_the_job_and_marks_changes(with_plate):
    window = with_plate
    assert window.windowTitle() == "plate.svg[*] – Tain" and not window.isWindowModified()
    window.menus.actions["turn"].trigger()
    assert window.isWindowModified()


def test_undo_names_what_it_takes_back(with_plate):
    window = with_plate
    assert not window.menus.actions["undo"].isEnabled()
    window.menus.actions["turn"].trigger()
    assert window.menus.actions["undo"].text() == "&Undo: Turn endways"
    window.menus.actions["undo"].trigger()
    assert window.menus.actions["redo"].text() == "&Redo: Turn endways"


def test_what_was_exported_is_told_until_the_job_is_another(with_plate, dialogs, tmp_path, settle, qtbot):
    window = with_plate
    dialogs.expect("save", tmp_path / "plate-bed.svg")
    window.files.ask_export(".svg")
    settle(window)
    assert window.banner.isVisible() and "Exported" in window.banner.text.text()
    window.menus.actions["turn"].trigger()
    assert not window.banner.isVisible()


def test_other_units_after_every_order_of_stages_and_of_files(with_plate, qtbot, plate, tmp_path):
    """Fields of cards that are gone are not asked to show anything, those that are there show the unit in force."""
    window, line, small = with_plate, tmp_path / "line.svg", tmp_path / "small.svg"
    line.write_text(plate.read_text().replace('fill="#000"', 'fill="none" stroke="#f0f" stroke-width="0.1"'))
    small.write_text(plate.read_text().replace('fill="#00c"', 'fill="none" stroke="#00c"'))
    stages, files = list(Stage), (line, small, plate, small, line, plate)  # each after each other one
    for by, path in enumerate(files, start=1):  # seven is prime: each stage follows each other one
        for step in range(len(stages)):
            page = window.pages[stages[by * step % len(stages)]]
            window.go_to(page.stage)
            window.menus.actions["other units"].trigger()
            shown = [one.text() for one in page.findChildren(LengthField) if one.isVisible()]
            other = "mm" if window.settings.inches else "in"
            assert not [text for text in shown if other in text], page.stage
        window.files.open(path)
        qtbot.waitUntil(lambda: not window.files.busy and window.session.current, timeout=20_000)


def test_nothing_on_the_page_moves_while_the_dose_window_is_dragged(with_plate, settle, qtbot):
    window = with_plate
    window.go_to(Stage.BURN)
    card = next(iter(window.burn_page.advice_cards.values()))
    qtbot.waitUntil(lambda: card.plot.window_shown is not None, timeout=20_000)
    plot, fill = card.plot, next(iter(window.burn_page.advice_cards))

    def recipe():
        return next(layer for layer in window.session.job.layers if layer.id == fill).recipe

    before, where = recipe(), plot.mapTo(window, QPoint(0, 0))
    at = plot.to_px(before.pitch_mm, before.speed_mm_s).toPoint()
    QTest.mousePress(plot, Qt.MouseButton.LeftButton, pos=at)
    for step, text in enumerate(("", "One line.", "Many lines. " * 40), start=1):
        window.burn_page.say(text)
        part(card.list, "what that means").setText(text)
        in_window = plot.mapTo(window, at) + QPoint(-12 * step, 0)  # the hand keeps its height on the desk
        QTest.mouseMove(plot, plot.mapFrom(window, in_window))
        qtbot.wait(20)
        assert plot.mapTo(window, QPoint(0, 0)) == where
    assert recipe().pitch_mm != before.pitch_mm
    assert recipe().speed_mm_s == pytest.approx(before.speed_mm_s, abs=5)  # as near as a pixel tells
    QTest.mouseRelease(plot, Qt.MouseButton.LeftButton, pos=at + QPoint(-36, 0))
    assert not plot.is_held
    settle(window)


def test_a_drag_ends_with_the_plot_that_it_is_on(with_plate, qtbot):
    window = with_plate
    window.go_to(Stage.BURN)
    card = next(iter(window.burn_page.advice_cards.values()))
    qtbot.waitUntil(lambda: card.plot.window_shown is not None, timeout=20_000)
    QTest.mousePress(card.plot, Qt.MouseButton.LeftButton, pos=card.plot.area.center().toPoint())
    assert card.plot.is_held
    window.go_to(Stage.SHEET)  # by a key, the button still down
    assert not card.plot.is_held


def test_nothing_beside_the_faces_comes_or_goes_while_a_button_is_held(with_plate, qtbot):
    window = with_plate
    window.settings.set("findings_shown", True)
    window.banner.say("note", "Something to read.", holds=lambda: True)
    faces = window.faces
    qtbot.wait(1)
    where, size = faces.mapTo(window, QPoint(0, 0)), faces.size()
    QTest.mousePress(faces, Qt.MouseButton.LeftButton, pos=QPoint(60, 60))
    window.banner.hide()
    window.settings.set("findings_shown", False)
    qtbot.wait(1)
    QTest.mouseMove(faces, QPoint(90, 90))
    assert (faces.mapTo(window, QPoint(0, 0)), faces.size()) == (where, size)
    QTest.mouseRelease(faces, Qt.MouseButton.LeftButton, pos=QPoint(90, 90))
    assert not window.banner.isVisible() and not window.findings.isVisible()


def test_shapes_go_to_a_purpose_that_the_job_has_no_layer_of(with_plate, settle):
    """As in the job of a coupon, which has layers for what it tries only."""
    window, job = with_plate, with_plate.session.job
    window.session.begin(replace(job, layers=tuple(layer for layer in job.layers if layer.purpose != "guide")))
    settle(window)
    shape = window.session.plan.drawing.shapes[-1].id
    window.session.select([shape])
    window.menus.actions["put guide"].trigger()
    settle(window)
    (layer,) = [layer for layer in window.session.job.layers if layer.purpose == "guide"]
    assert window.session.plan.layer_of[shape] == layer.id


def test_a_window_that_is_gone_leaves_nothing_of_it_behind(plate, home):
    """What hears of the settings once kept the whole window's plan alive."""
    with a_window(home, plate) as window:
        status = weakref.ref(window.status)
    del window
    gc.collect()
    assert status() is None


def test_a_wait_is_over_with_what_was_so_while_another_wait_within_it_went_on(qapp):
    so, over = [], []
    QTimer.singleShot(30, lambda: so.append(True))
    QTimer.singleShot(150, so.clear)
    QTimer.singleShot(400, lambda: over.append(True))
    QTimer.singleShot(0, lambda: wait_until(lambda: bool(over)))
    wait_until(lambda: bool(so))
    assert over and not so


def test_a_wait_in_vain_says_what_it_waits_for_and_where_that_stands(make_window, plate):
    gate = threading.Event()

    def held(job, progress):
        gate.wait(30)
        yield from derive(job, progress)

    window = make_window(derive=held)
    window.files.open(plate)
    wait_until(lambda: window.session.busy)
    with pytest.raises(TimeoutError, match=r"the plan, work of the thread “plan”(?s:.*)gate.wait") as told:
        wait_until_settled(window, within_ms=50)
    gate.set()
    wait_until_settled(window)
    assert window.session.complete and "not within 50 ms" in str(told.value)


def test_a_picture_that_cannot_be_drawn_is_told_and_not_waited_for(with_plate, settle, monkeypatch, qtbot):
    window = with_plate

    def broken(request, progress):
        raise ZeroDivisionError

    monkeypatch.setattr("app.canvas.pictures.draw", broken)
    with qtbot.capture_exceptions() as told:
        window.faces.zooming.zoom_by(5.0)
        settle(window)
    assert {one[0] for one in told} == {ZeroDivisionError}
    monkeypatch.undo()
    window.faces.zooming.zoom_by(1.5)
    settle(window)
