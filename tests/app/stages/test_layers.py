"""The Layers page: questions, names, colours, layers of their own."""

import pytest
from PySide6.QtWidgets import QLabel, QPushButton

from app.stages.layers.page import undecided_groups
from app.stages.layers.shapes_table import ShapesTable
from app.stages.stage import Stage, State, marks
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

UNDECIDED = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<rect x="2" y="2" width="76" height="56" fill="none" stroke="#000" stroke-width="0.1"/>
<rect x="10" y="10" width="20" height="20" fill="none" stroke="#00f" stroke-width="0.1"/>
<rect x="20" y="20" width="20" height="20" fill="none" stroke="#00f" stroke-width="0.1"/>
</svg>"""
WHITE = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<rect x="2" y="2" width="76" height="56" fill="#000"/><circle cx="40" cy="30" r="10" fill="#fff"/>
</svg>"""


@pytest.fixture
def open_art(window, tmp_path, settle):
    def do(text):
        path = tmp_path / "art.svg"
        path.write_text(text, "utf-8")
        window.files.open(path)
        settle(window)
        window.go_to(Stage.LAYERS)
        return window

    return do


def buttons(window, start):
    page = window.pages[Stage.LAYERS]
    return [
        one for one in page.findChildren(QPushButton) if one.accessibleName().startswith(start) and not one.isHidden()
    ]


def test_what_can_not_be_told_is_asked_once_for_shapes_of_a_kind(open_art, settle, qtbot):
    window = open_art(UNDECIDED)
    groups = undecided_groups(window.session.plan)
    assert groups, "these crossing outlines should be undecided"
    page = window.pages[Stage.LAYERS]
    assert not page.main_action.isEnabled() and "not decided yet" in page.note.text(), "why not is told beside it"
    assert marks(window.session)[Stage.LAYERS].state is State.DECIDE
    assert not window.pages[Stage.LAYERS].main_action.isEnabled()
    qtbot.waitUntil(lambda: any("the" in one.accessibleName() for one in buttons(window, "Score: the ")))
    while undecided_groups(window.session.plan):
        answer = next(one for one in buttons(window, "Score: the ") if "selected" not in one.accessibleName())
        answer.click()
        settle(window)
    assert "undecided" not in window.session.plan.layer_of.values()
    assert window.pages[Stage.LAYERS].note.text() == "" and window.pages[Stage.LAYERS].main_action.isEnabled()
    assert window.pages[Stage.LAYERS].main_action.isEnabled()


@pytest.mark.parametrize(("name", "keeps"), [("White: keep", True), ("White: clear", False)])
def test_white_over_dark_is_asked_about(open_art, settle, name, keeps):
    window = open_art(WHITE)
    page = window.pages[Stage.LAYERS]
    assert not part(page, "white over dark").isHidden()
    (answer,) = buttons(window, name)
    answer.click()
    settle(window)
    assert window.session.job.sorting.white_keeps is keeps and part(page, "white over dark").isHidden()
    (fill,) = [one for one in window.session.plan.layers if one.layer.id == "fill"]
    hole_mm2 = 3.14159 * 100
    assert fill.area_mm2 == pytest.approx(76 * 56 - (hole_mm2 if keeps else 0), rel=1e-3)


def test_a_layer_takes_another_name_and_colour(with_plate, dialogs, settle):
    window = with_plate
    window.go_to(Stage.LAYERS)
    card = window.pages[Stage.LAYERS].layer_rows["fill"]
    part(card, "Name of the fill layer Fill").setText("Letters")
    part(card, "Name of the fill layer Fill").editingFinished.emit()
    dialogs.expect("colour", "#123456")
    next(one for one in card.findChildren(QPushButton) if one.accessibleName().startswith("Colour of ")).click()
    settle(window)
    layer = next(one for one in window.session.job.layers if one.id == "fill")
    assert (layer.name, layer.colour) == ("Letters", "#123456")


def test_a_layer_keeps_its_name_when_the_new_one_is_empty(with_plate):
    window = with_plate
    window.go_to(Stage.LAYERS)
    page = window.pages[Stage.LAYERS]
    card = page.layer_rows["fill"]
    part(card, "Name of the fill layer Fill").setText("  ")
    part(card, "Name of the fill layer Fill").editingFinished.emit()
    assert part(card, "Name of the fill layer Fill").text() == "Fill" and "needs a name" in page.note.text()


def test_shapes_go_to_a_fill_layer_of_their_own_and_back(with_plate, settle):
    window = with_plate
    window.go_to(Stage.LAYERS)
    page = window.pages[Stage.LAYERS]
    dot = next(shape.id for shape in window.session.plan.drawing.shapes if shape.label == "dot")
    window.session.select([dot])
    part(page, "Put on a fill layer of their own").click()
    settle(window)
    assert window.session.plan.layer_of[dot] == "fill-2"
    window.go_to(Stage.COVERAGE)
    assert len(window.pages[Stage.COVERAGE].cards) == 2
    window.go_to(Stage.LAYERS)
    row = page.layer_rows["fill-2"]
    next(one for one in row.findChildren(QPushButton) if one.accessibleName().startswith("Remove the layer")).click()
    settle(window)
    assert window.session.plan.layer_of[dot] == "fill"


def test_the_width_of_lines_is_the_makers(with_plate, tmp_path, settle, dialogs):
    window = with_plate
    window.go_to(Stage.LAYERS)
    part(window.pages[Stage.LAYERS], "Strokes up to this width are lines").setValue(0.05)
    settle(window)
    line = next(shape.id for shape in window.session.plan.drawing.shapes if shape.label == "line")
    assert window.session.plan.layer_of[line] == "fill"


def test_why_a_shape_is_where_it_is(with_plate):
    window = with_plate
    window.go_to(Stage.LAYERS)
    page = window.pages[Stage.LAYERS]
    window.session.select([window.session.plan.drawing.shapes[1].id])
    said = " ".join(one.text() for one in page.findChildren(QLabel))
    assert "Suggested: fill." in said


def test_on_a_tall_window_the_list_of_shapes_takes_the_room_that_is_left(with_plate, settle, qtbot):
    window = with_plate
    window.go_to(Stage.LAYERS)
    heights = []
    for size in ((1280, 800), (1920, 1080), (2560, 1440)):
        window.resize(*size)
        settle(window)
        qtbot.wait(1)
        page = window.pages[Stage.LAYERS]
        heights.append(page.findChild(ShapesTable).height())
        empty_px = page.front.viewport().height() - page.front.content.childrenRect().bottom()
    assert heights[0] < heights[1] < heights[2] and heights[2] > 500 and empty_px < 60
