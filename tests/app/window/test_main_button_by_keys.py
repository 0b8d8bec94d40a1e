"""The main button of each page by keys: at once from anywhere, and few steps of Tab away."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.stages.stage import Stage
from app.widgets.fields import NumberField

pytestmark = pytest.mark.usefixtures("shared_window")

CTRL = Qt.KeyboardModifier.ControlModifier
MOST_STEPS = 10
"""Of Tab, from the faces: their tools, on Coverage those of the loupe, the main button."""


def press(window, key, modifiers=Qt.KeyboardModifier.NoModifier):
    """Press a key where the focus is."""
    QApplication.processEvents()
    QTest.keyClick(QApplication.focusWidget() or window, key, modifiers)


def test_one_key_leads_from_the_empty_window_to_the_file(window, plate, dialogs, settle, tmp_path):
    """Ctrl and Enter alone, after the file is named: through every page, past the findings that it names."""
    window.activateWindow()
    dialogs.expect("open", plate)
    press(window, Qt.Key.Key_Return, CTRL)
    settle(window)
    assert window.session.complete and window.faces.hasFocus()
    for stage in list(Stage)[1:]:
        press(window, Qt.Key.Key_Return, CTRL)
        settle(window)
        assert window.stage is stage
    press(window, Qt.Key.Key_Return, CTRL)
    page = window.pages[Stage.HAND_OVER]
    assert page.note.text() and window.banner.text.text() == page.note.text(), "why it can't be pressed yet is said"


@pytest.mark.parametrize("stage", list(Stage))
def test_the_main_button_is_few_steps_of_tab_away(with_plate, settle, stage):
    window = with_plate
    window.activateWindow()
    window.go_to(stage)
    settle(window)
    page = window.pages[stage]
    if stage is Stage.HAND_OVER:
        page.main_action.setEnabled(True)  # as once the cautions are ticked
    window.faces.setFocus()
    steps = 0
    while QApplication.focusWidget() is not page.main_action:
        press(window, Qt.Key.Key_Tab)
        steps += 1
        assert steps <= MOST_STEPS
    window.faces.setFocus()
    press(window, Qt.Key.Key_F7)
    assert QApplication.focusWidget() is page.main_action, "the key that goes to the page comes to it at once"


def test_what_is_being_typed_counts_before_it_leads_on(with_plate, settle):
    window = with_plate
    window.activateWindow()
    window.go_to(Stage.SHEET)
    settle(window)
    page = window.pages[Stage.SHEET]
    width = next(one for one in page.findChildren(NumberField) if one.accessibleName() == "Sheet width")
    width.setFocus()
    width.selectAll()
    QTest.keyClicks(width, "240")
    press(window, Qt.Key.Key_Return, CTRL)
    settle(window)
    assert window.session.job.sheet.width_mm == 240 and window.stage is Stage.BURN


def test_a_page_folded_away_is_opened_before_its_button_is_pressed(with_plate, settle):
    window = with_plate
    window.activateWindow()
    window.menus.actions["page"].trigger()
    page = window.pages[Stage.ARTWORK]
    assert not page.isVisible()
    press(window, Qt.Key.Key_Return, CTRL)
    assert window.stage is Stage.ARTWORK and page.isVisible()
    press(window, Qt.Key.Key_Return, CTRL)
    assert window.stage is Stage.LAYERS
    window.go_to(Stage.ARTWORK)
