"""The whole job through the real window, as a maker does it."""

import xml.etree.ElementTree as ElementTree

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QPushButton

from app.stages.stage import Stage, State, marks
from core.geometry.flattening import path_bounds_mm
from core.job.cautions import cautions_for
from core.output.export import problems

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def press(qtbot):
    """Press the button of that accessible name on the page."""

    def do(window, name):
        page = window.pages[window.stage]

        def seen():
            return [one for one in page.findChildren(QPushButton) if one.accessibleName() == name and one.isVisible()]

        qtbot.waitUntil(lambda: len(seen()) == 1)
        assert seen()[0].isEnabled(), f"{name} is disabled"
        qtbot.mouseClick(seen()[0], Qt.MouseButton.LeftButton)

    return do


@pytest.fixture
def tick_everything(qtbot):
    """Tick each caution on the page as a click does."""

    def do(window):
        window.go_to(Stage.HAND_OVER)
        page = window.pages[Stage.HAND_OVER]

        def seen():
            return [box for box in page.findChildren(QCheckBox) if box.isVisible()]

        qtbot.waitUntil(lambda: len(seen()) == sum(not one.at_machine for one in cautions_for(window.session.job)))
        for box in seen():
            if not box.isChecked():
                box.click()

    return do


def ids(window, *labels):
    """Ids of the shapes that the artwork calls so."""
    return {shape.id for shape in window.session.plan.drawing.shapes if shape.label in labels}


def layer_of(window, label):
    (shape_id,) = ids(window, label)
    return window.session.plan.layer_of[shape_id]


def test_a_newcomer_gets_from_opening_to_export_by_the_main_actions_alone(
    window, plate, dialogs, settle, tmp_path, tick_everything
):
    dialogs.expect("open", plate)
    page = window.pages[Stage.ARTWORK]
    QTest.mouseClick(page.main_action, Qt.MouseButton.LeftButton)
    settle(window)
    for expected in (Stage.LAYERS, Stage.SHEET, Stage.BURN, Stage.COVERAGE, Stage.PAINT, Stage.HAND_OVER):
        QTest.mouseClick(window.pages[window.stage].main_action, Qt.MouseButton.LeftButton)
        assert window.stage is expected
    settle(window)
    assert not window.pages[Stage.HAND_OVER].main_action.isEnabled()
    tick_everything(window)
    settle(window)
    target = tmp_path / "out.svg"
    dialogs.expect("save", target)
    QTest.mouseClick(window.pages[Stage.HAND_OVER].main_action, Qt.MouseButton.LeftButton)
    settle(window)
    assert target.read_bytes().startswith(b"<?xml") or b"<svg" in target.read_bytes()[:400]
    assert marks(window.session)[Stage.HAND_OVER].state is State.DONE
    assert str(target) in window.banner.text.text()


def test_sorting_is_suggested_with_reasons_and_the_maker_has_the_last_word(with_plate, settle, press):
    window = with_plate
    assert (
        layer_of(window, "left") == "fill"
        and layer_of(window, "plate") == "cut"
        and layer_of(window, "line") == "score"
    )
    assert all(item.why for item in window.session.plan.sorted)
    window.go_to(Stage.LAYERS)
    window.session.select(ids(window, "left"))
    press(window, "All that look like this")
    assert window.session.selection == ids(window, "left", "middle")
    press(window, "Guide: the selected shapes")
    settle(window)
    assert layer_of(window, "left") == layer_of(window, "middle") == "guide" and layer_of(window, "dot") == "fill"
    assert window.menus.actions["undo"].text() == "&Undo: 2 shapes to Guide"
    window.menus.actions["undo"].trigger()
    settle(window)
    assert layer_of(window, "left") == "fill"
    window.menus.actions["redo"].trigger()
    settle(window)
    assert layer_of(window, "left") == "guide"
    press(window, "Back to suggested")
    settle(window)
    assert layer_of(window, "left") == "fill"


def test_leaving_out_a_shape_takes_it_from_the_area(with_plate, settle):
    window = with_plate
    before_mm2 = next(one.area_mm2 for one in window.session.plan.layers if one.layer.id == "fill")
    window.session.select(ids(window, "left"))
    window.menus.actions["leave out"].trigger()
    settle(window)
    after_mm2 = next(one.area_mm2 for one in window.session.plan.layers if one.layer.id == "fill")
    assert before_mm2 - after_mm2 == pytest.approx(8 * 12, rel=1e-6)


def test_turning_mirrors_the_bed_and_takes_the_tick_about_the_face_back(with_plate, settle, press, tick_everything):
    window = with_plate
    tick_everything(window)
    assert "run-sheet-goes-along" in window.session.job.cautions_ticked
    window.go_to(Stage.SHEET)
    press(window, "Turn endways")
    settle(window)
    assert window.session.job.turn == "endways"
    assert "run-sheet-goes-along" not in window.session.job.cautions_ticked
    assert "scrap" in window.session.job.cautions_ticked


def test_the_gap_verdict_changes_from_300_to_600_lpi(with_plate, settle, press):
    window = with_plate
    window.go_to(Stage.COVERAGE)
    press(window, "Use 300 lines per inch")
    settle(window)
    (fill,) = [one for one in window.session.plan.layers if one.layer.id == "fill"]
    assert fill.verdict.verdict == "leaves lines"
    assert fill.coverage.left_over_mm2 > 0.1 * fill.area_mm2
    cleared_mm2 = float("".join(letter for letter in window.status.cleared.text() if letter in "0123456789."))
    assert cleared_mm2 == pytest.approx(fill.area_mm2 - fill.coverage.left_over_mm2, abs=1)
    assert marks(window.session)[Stage.COVERAGE].state is State.DECIDE
    press(window, "Use 600 lines per inch")
    settle(window)
    (fill,) = [one for one in window.session.plan.layers if one.layer.id == "fill"]
    assert fill.verdict.verdict == "clean"
    assert fill.coverage.left_over_mm2 < 0.01 * fill.area_mm2
    assert marks(window.session)[Stage.COVERAGE].state is State.DONE


def test_export_needs_every_tick(with_plate, settle, tick_everything):
    window = with_plate
    tick_everything(window)
    page = window.pages[Stage.HAND_OVER]
    assert page.main_action.isEnabled() and window.menus.actions["export dxf"].isEnabled()
    box = next(one for one in page.findChildren(QCheckBox) if one.isVisible())
    box.click()
    assert not page.main_action.isEnabled() and not window.menus.actions["export dxf"].isEnabled()
    assert "1 caution" in page.note.text()


@pytest.mark.parametrize("suffix", ["svg", "dxf"])
def test_an_exported_file_opens_again_as_the_same_job(
    make_window, plate, dialogs, settle, tmp_path, suffix, tick_everything
):
    first = make_window()
    first.files.open(plate)
    settle(first)
    first.session.select(ids(first, "line"))
    first.menus.actions["put cut"].trigger()
    settle(first)
    tick_everything(first)
    settle(first)
    target = tmp_path / f"bed.{suffix}"
    dialogs.expect("save", target)
    first.menus.actions[f"export {suffix}"].trigger()
    settle(first)
    second = make_window()
    second.files.open(target)
    settle(second)
    for one, other in zip(burned(first), burned(second), strict=True):
        assert one.layer.recipe.pitch_mm == pytest.approx(other.layer.recipe.pitch_mm)
        assert one.layer.purpose == other.layer.purpose
        assert one.area_mm2 == pytest.approx(other.area_mm2, rel=1e-3)
        assert one.length_mm == pytest.approx(other.length_mm, rel=1e-3)
        assert one.region.symmetric_difference(other.region).area < 1e-3 * max(one.area_mm2, 1.0)
    assert second.session.job.turn == first.session.job.turn
    assert problems(second.session.plan) == []


def burned(window):
    return [one for one in window.session.plan.layers if one.shape_ids and one.layer.purpose != "guide"]


def test_exporting_asks_before_it_replaces_a_file(with_plate, dialogs, settle, tmp_path, tick_everything):
    window = with_plate
    tick_everything(window)
    settle(window)
    target = tmp_path / "precious.svg"
    target.write_text("precious", "utf-8")
    dialogs.expect("save", target)
    dialogs.expect("ask", "cancel")
    window.menus.actions["export svg"].trigger()
    settle(window)
    assert target.read_text("utf-8") == "precious"
    dialogs.expect("save", target)
    dialogs.expect("ask", "replace")
    window.menus.actions["export svg"].trigger()
    settle(window)
    ElementTree.fromstring(target.read_bytes())


def test_the_artwork_itself_is_never_written_over(with_plate, plate, dialogs, settle, tick_everything):
    window = with_plate
    before = plate.read_bytes()
    tick_everything(window)
    settle(window)
    dialogs.expect("save", plate)
    dialogs.expect("tell")
    window.menus.actions["export svg"].trigger()
    settle(window)
    assert plate.read_bytes() == before and "artwork itself" in dialogs.told[0][0]


def test_changing_the_recipe_asks_for_another_scrap(with_plate, settle, tick_everything):
    window = with_plate
    tick_everything(window)
    before = {one.code for one in cautions_for(window.session.job) if not one.at_machine}
    assert window.session.job.cautions_ticked == before
    window.go_to(Stage.BURN)
    speed = named(window, "Speed of Fill")
    speed.setValue(700)
    assert window.session.job.cautions_ticked == before - {"scrap", "run-sheet-goes-along"}
    assert next(one for one in window.session.job.layers if one.id == "fill").recipe.speed_mm_s == 700


def test_pitch_and_lines_per_inch_are_one(with_plate):
    window = with_plate
    window.go_to(Stage.BURN)
    named(window, "Lines per inch of Fill").setValue(508)
    assert named(window, "Pitch of Fill").value() == pytest.approx(0.05)
    named(window, "Pitch of Fill").setValue(0.0254)
    assert named(window, "Lines per inch of Fill").value() == pytest.approx(1000)


def test_a_recipe_goes_back_to_its_starting_point(with_plate, press):
    window = with_plate
    window.go_to(Stage.BURN)
    named(window, "Power of Fill").setValue(33)
    assert "Set by hand" in window.session.job.layers[0].recipe.origin.kind.capitalize()
    window.burn_page.open_room(window.burn_page.figures_room)
    press(window, "Fill back to the starting point")
    assert window.session.job.layers[0].recipe == window.session.job.stock.fill


def named(window, name):
    """The editor of that accessible name on the present page."""
    found = [
        one for one in window.pages[window.stage].findChildren(object) if getattr(one, "accessibleName", str)() == name
    ]
    assert len(found) == 1, name
    return found[0]


def test_the_sheet_is_placed_by_numbers_and_by_buttons(with_plate, settle, press):
    from core.job.decisions import placed_bounds_mm

    window = with_plate
    window.go_to(Stage.SHEET)
    named(window, "From the sheet's left edge").setValue(20)
    settle(window)
    named(window, "From the sheet's top edge").setValue(30)
    settle(window)
    x0, y0, _, _ = placed_bounds_mm(window.session.plan)
    assert (x0, y0) == (pytest.approx(20), pytest.approx(30))
    press(window, "Put it to bottom right of the sheet")
    settle(window)
    x0, y0, x1, y1 = placed_bounds_mm(window.session.plan)
    assert (x1, y1) == (pytest.approx(295), pytest.approx(195))
    press(window, "Put it to the middle of the sheet")
    settle(window)
    x0, y0, x1, y1 = placed_bounds_mm(window.session.plan)
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == (pytest.approx(150), pytest.approx(100))


def test_two_placements_typed_before_the_plan_is_back_both_hold(with_plate, settle):
    from core.job.decisions import placed_bounds_mm

    window = with_plate
    window.go_to(Stage.SHEET)
    named(window, "From the sheet's left edge").setValue(11)
    named(window, "From the sheet's top edge").setValue(13)
    settle(window)
    x0, y0, _, _ = placed_bounds_mm(window.session.plan)
    assert (x0, y0) == (pytest.approx(11), pytest.approx(13))


def test_a_quarter_turn_keeps_the_middle_where_it_is(with_plate, settle):
    from core.job.decisions import placed_bounds_mm

    window = with_plate
    window.go_to(Stage.SHEET)
    named(window, "From the sheet's left edge").setValue(100)
    settle(window)
    x0, y0, x1, y1 = placed_bounds_mm(window.session.plan)
    window.menus.actions["rotate"].trigger()
    settle(window)
    a0, b0, a1, b1 = placed_bounds_mm(window.session.plan)
    assert ((a0 + a1) / 2, (b0 + b1) / 2) == (pytest.approx((x0 + x1) / 2), pytest.approx((y0 + y1) / 2))
    assert (a1 - a0, b1 - b0) == (pytest.approx(y1 - y0), pytest.approx(x1 - x0))


def test_dragging_on_a_face_moves_the_artwork_as_one_step(with_plate, settle):
    from core.job.decisions import placed_bounds_mm

    window = with_plate
    x0, y0, _, _ = placed_bounds_mm(window.session.plan)
    for dx_mm in (1.0, 2.0, 5.0):
        window.faces.touch.placement_dragged.emit(dx_mm, -3.0, False)
    window.faces.touch.placement_dragged.emit(5.0, -3.0, True)
    settle(window)
    moved = placed_bounds_mm(window.session.plan)
    assert moved[:2] == (pytest.approx(x0 + 5), pytest.approx(y0 - 3))
    window.menus.actions["undo"].trigger()
    settle(window)
    assert placed_bounds_mm(window.session.plan)[:2] == (pytest.approx(x0), pytest.approx(y0))


def test_artwork_off_the_sheet_is_in_the_way_until_it_fits(with_plate, settle, press):
    window = with_plate
    window.go_to(Stage.SHEET)
    named(window, "Sheet width").setValue(40)
    settle(window)
    assert marks(window.session)[Stage.SHEET].state is State.BLOCKED
    press(window, "Make the sheet fit the artwork")
    settle(window)
    assert marks(window.session)[Stage.SHEET].state is State.DONE
    assert window.session.job.sheet.width_mm == pytest.approx(78, abs=1)


def test_pvc_is_refused(with_plate, settle, tick_everything):
    from core.sheet.stock import PVC_3

    window = with_plate
    tick_everything(window)
    window.go_to(Stage.SHEET)
    stock = named(window, "Stock")
    stock.chosen.emit(PVC_3)
    settle(window)
    assert marks(window.session)[Stage.SHEET].state is State.BLOCKED
    tick_everything(window)
    settle(window)
    page = window.pages[Stage.HAND_OVER]
    assert not page.main_action.isEnabled() and "hydrogen chloride" in page.note.text()


def test_a_stock_brings_its_recipes_and_takes_all_ticks_back(with_plate, settle, tick_everything):
    from core.sheet.stock import BACK_PAINTED_ACRYLIC_3

    window = with_plate
    tick_everything(window)
    window.go_to(Stage.SHEET)
    named(window, "Stock").chosen.emit(BACK_PAINTED_ACRYLIC_3)
    settle(window)
    assert window.session.job.layers[0].recipe == BACK_PAINTED_ACRYLIC_3.fill
    assert window.session.job.cautions_ticked == frozenset()


def test_a_click_on_either_face_selects_the_same_shape(with_plate, qtbot):
    window = with_plate
    window.go_to(Stage.LAYERS)
    (dot,) = ids(window, "dot")
    shape = next(one for one in window.session.plan.drawing.shapes if one.id == dot)
    bounds = path_bounds_mm(shape.path.transformed(window.session.plan.drawing_to_front))
    middle = ((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2)
    for face in window.faces.state.faces:
        window.session.select(())
        qtbot.mouseClick(window.faces, Qt.MouseButton.LeftButton, pos=face.to_px(*middle).toPoint())
        assert window.session.selection == {dot}, face.name


def test_numbers_that_make_no_sense_are_turned_down_in_words(with_plate, qtbot):
    window = with_plate
    for stage, name, text in (
        (Stage.SHEET, "Sheet width", "0"),
        (Stage.SHEET, "Sheet height", "-40"),
        (Stage.BURN, "Speed of Fill", "-800"),
        (Stage.BURN, "Pitch of Fill", "0"),
        (Stage.BURN, "Lines per inch of Fill", "nan"),
        (Stage.BURN, "Power of Fill", "120"),
    ):
        window.go_to(stage)
        before = window.session.job
        field = named(window, name)
        field.selectAll()
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Qt.Key.Key_Return)
        note = window.pages[stage].note
        assert window.session.job is before, name
        assert name in note.text() and note.isVisible(), name
