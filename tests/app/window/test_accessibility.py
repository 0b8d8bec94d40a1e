"""Names for screen readers, keys for everything, mnemonics that do not clash, marks in words."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QScrollArea,
    QSlider,
    QWidget,
)

from app.dialogs.help import about_dialog, cautions_dialog, keys_dialog
from app.dialogs.units_question import UnitsQuestion
from app.stages.stage import Stage, State
from app.window.menus import MENUS, Submenu, commands_of, key_sections
from core.job.cautions import cautions_for

pytestmark = pytest.mark.usefixtures("shared_window")

INTERACTIVE = (QAbstractButton, QAbstractItemView, QAbstractSpinBox, QComboBox, QLineEdit, QScrollArea, QSlider)
QT_OWN = ("qt_", "ScrollLeftButton", "ScrollRightButton")


def own(widget):
    """Whether a widget is ours rather than a part that Qt builds into its own."""
    parent = widget.parentWidget()
    inside = isinstance(parent, (QAbstractSpinBox, QComboBox)) or (
        parent is not None and isinstance(parent.parentWidget(), QComboBox)
    )
    return (
        not inside and not widget.objectName().startswith(QT_OWN) and "QTableCornerButton" not in type(widget).__name__
    )


def nameless(root: QWidget):
    """Interactive widgets below ``root`` that a screen reader would announce by kind alone."""
    found = []
    for widget in root.findChildren(QWidget):
        if not isinstance(widget, INTERACTIVE) or not own(widget):
            continue
        if widget.metaObject().className() in ("QTableCornerButton", "QHeaderView", "QComboBoxListView"):
            continue
        said = widget.accessibleName() or (widget.text() if isinstance(widget, QAbstractButton) else "")
        if not said.strip():
            found.append(f"{type(widget).__name__} {widget.objectName()} in {type(widget.parentWidget()).__name__}")
    return found


def test_every_interactive_widget_has_a_name(with_plate, qtbot):
    window = with_plate
    for stage in Stage:
        window.go_to(stage)
        qtbot.wait(0)
        assert nameless(window) == [], stage.title


def test_dialogs_have_names_too(qtbot, with_plate):
    for dialog in (
        UnitsQuestion(None, "a.svg", 100, 50),
        keys_dialog(None, key_sections()),
        about_dialog(None),
        cautions_dialog(None, cautions_for(with_plate.session.job)),
    ):
        qtbot.addWidget(dialog)
        assert nameless(dialog) == []


def test_every_button_that_shows_no_text_has_a_tooltip(with_plate, qtbot):
    window = with_plate
    for stage in Stage:
        window.go_to(stage)
        qtbot.wait(0)
    mute = [
        one.accessibleName()
        for one in window.findChildren(QAbstractButton)
        if own(one)
        and not one.text()
        and one.isVisible()
        and not one.toolTip()
        and not isinstance(one, QCheckBox)
        and "Corner" not in one.metaObject().className()
    ]
    assert mute == []


def test_marks_are_said_in_words(with_plate):
    for stage in Stage:
        name = with_plate.rail.button(stage).accessibleName()
        assert name.startswith(stage.title)
        assert any(state.value in name for state in State), name


def test_no_two_commands_share_keys():
    taken: dict[str, str] = {}
    for _, entries in MENUS:
        for entry in commands_of(entries):
            for keys in filter(None, (entry.keys, entry.also)):
                assert keys not in taken, f"{keys}: {entry.key} and {taken[keys]}"
                assert not QKeySequence(keys).isEmpty()
                taken[keys] = entry.key


def test_menu_entries_with_keys_say_them_in_their_tooltips(window):
    for _, entries in MENUS:
        for entry in commands_of(entries):
            if entry.keys:
                assert entry.keys in window.menus.actions[entry.key].toolTip()


def mnemonics(texts):
    return [text[text.index("&") + 1].lower() for text in texts if "&" in text.replace("&&", "")]


def test_mnemonics_do_not_clash(with_plate, qtbot):
    window = with_plate
    bar = mnemonics([title for title, _ in MENUS])
    for stage in Stage:
        window.go_to(stage)
        qtbot.wait(0)
        page = window.pages[stage]
        seen = [one for one in page.findChildren(QWidget) if one.isVisible()]
        texts = [one.text() for one in seen if isinstance(one, (QAbstractButton, QLabel))]
        letters = sorted(bar + mnemonics(texts))
        assert len(letters) == len(set(letters)), (stage.title, letters)


@pytest.mark.parametrize(("title", "entries"), MENUS)
def test_mnemonics_within_a_menu_do_not_clash(title, entries):
    inner = [entry.entries for entry in entries if isinstance(entry, Submenu)]
    for level in (entries, *inner):
        letters = sorted(mnemonics([entry.text for entry in level]))
        assert len(letters) == len(set(letters)), letters


@pytest.mark.parametrize("size", [(1280, 720)])
def test_no_menu_is_taller_than_a_small_screen(window, size):
    for action in window.menuBar().actions():
        assert action.menu().sizeHint().height() <= size[1] - 60, action.text()
    for name, menu in window.menus.submenus.items():
        assert menu.sizeHint().height() <= size[1], name


def press(window, key, modifiers=Qt.KeyboardModifier.NoModifier):
    """Press a key where the focus is, once what was asked for before is shown."""
    QApplication.processEvents()
    QTest.keyClick(QApplication.focusWidget() or window, key, modifiers)


def tab_to(window, name, *, most=400):
    """Walk with the Tab key until the widget of that name has the focus."""
    for _ in range(most):
        widget = QApplication.focusWidget()
        if widget is not None and widget.accessibleName() == name:
            return widget
        press(window, Qt.Key.Key_Tab)
    raise AssertionError(f"Tab never comes to {name}")


def test_the_whole_job_by_keyboard_alone(window, plate, dialogs, settle, tmp_path):
    ctrl = Qt.KeyboardModifier.ControlModifier
    both = ctrl | Qt.KeyboardModifier.ShiftModifier
    window.activateWindow()
    dialogs.expect("open", plate)
    press(window, Qt.Key.Key_O, ctrl)
    settle(window)
    press(window, Qt.Key.Key_2, ctrl)
    press(window, Qt.Key.Key_F7)
    assert window.stage is Stage.LAYERS
    tab_to(window, "Shapes")
    press(window, Qt.Key.Key_Home, ctrl)
    press(window, Qt.Key.Key_Down)
    assert len(window.session.selection) == 1
    press(window, Qt.Key.Key_A, both)
    assert len(window.session.selection) == 2
    press(window, Qt.Key.Key_G, both)
    settle(window)
    assert window.session.undo_label == "2 shapes to Guide"
    press(window, Qt.Key.Key_Z, ctrl)
    settle(window)
    assert window.session.undo_label is None
    press(window, Qt.Key.Key_T, ctrl)
    settle(window)
    assert window.session.job.turn == "endways"
    press(window, Qt.Key.Key_5, ctrl)
    press(window, Qt.Key.Key_F7)
    tab_to(window, "Use 300 lines per inch")
    press(window, Qt.Key.Key_Space)
    settle(window)
    verdicts = [one.verdict.verdict for one in window.session.plan.layers if one.verdict is not None]
    assert verdicts == ["leaves lines"]
    tab_to(window, "Use 600 lines per inch")
    press(window, Qt.Key.Key_Space)
    settle(window)
    press(window, Qt.Key.Key_7, ctrl)
    press(window, Qt.Key.Key_F7)
    for caution in (one for one in cautions_for(window.session.job) if not one.at_machine):
        tab_to(window, caution.message)
        press(window, Qt.Key.Key_Space)
    settle(window)
    dialogs.expect("save", tmp_path / "out.svg")
    press(window, Qt.Key.Key_E, ctrl)
    settle(window)
    dialogs.expect("save", tmp_path / "out.dxf")
    press(window, Qt.Key.Key_E, both)
    settle(window)
    assert (tmp_path / "out.svg").exists() and (tmp_path / "out.dxf").exists()
    assert window.session.handed_over


def test_undo_works_while_a_field_has_the_focus(with_plate, settle, qtbot):
    window = with_plate
    window.go_to(Stage.SHEET)
    press(window, Qt.Key.Key_F7)
    width = tab_to(window, "Sheet width")
    press(window, Qt.Key.Key_Up)
    settle(window)
    assert window.session.job.sheet.width_mm == 301
    assert width.hasFocus()
    press(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    settle(window)
    assert window.session.job.sheet.width_mm == 300


def test_tab_walks_a_page_in_the_order_it_is_seen(with_plate, qtbot):
    window = with_plate
    for stage in Stage:
        window.go_to(stage)
        work = (window.burn_page.advising, window.paint_page.painting, window.shop)
        qtbot.waitUntil(lambda work=work: not any(one.busy for one in work), timeout=60_000)
        qtbot.wait(1)  # what came in just now is shown by the next event
        page = window.pages[stage]
        seen = [one for one in page.tab_stops() if one.isVisible() and one.isEnabled()]
        seen[0].setFocus()
        walked = []
        while page.isAncestorOf(focused := QApplication.focusWidget()) and len(walked) < 300:
            walked.append(focused)
            press(window, Qt.Key.Key_Tab)
        assert [one.accessibleName() for one in walked] == [one.accessibleName() for one in seen], stage.title


def test_arrow_keys_go_along_the_stages(with_plate):
    window = with_plate
    window.rail.button(Stage.ARTWORK).setFocus()
    press(window, Qt.Key.Key_Down)
    press(window, Qt.Key.Key_Down)
    assert window.stage is Stage.SHEET and window.rail.button(Stage.SHEET).hasFocus()
    press(window, Qt.Key.Key_Up)
    assert window.stage is Stage.LAYERS


def test_f6_and_f7_go_between_faces_and_page(with_plate):
    window = with_plate
    window.activateWindow()
    press(window, Qt.Key.Key_F7)
    assert window.pages[window.stage].isAncestorOf(QApplication.focusWidget())
    press(window, Qt.Key.Key_F6)
    focused = QApplication.focusWidget()
    assert focused is window.faces or window.faces.isAncestorOf(focused)


def test_tab_leaves_the_faces_in_one_step_however_far_the_walk_went(with_plate):
    window = with_plate
    window.activateWindow()
    window.faces.setFocus()
    press(window, Qt.Key.Key_PageDown)
    press(window, Qt.Key.Key_Right)
    assert window.faces.hasFocus() and window.faces.state.hovered is not None
    press(window, Qt.Key.Key_Tab)
    assert not window.faces.hasFocus()


def test_a_newcomer_comes_to_a_sample_by_tab_and_opens_it_by_space(window, settle):
    window.activateWindow()
    tab_to(window, "Open the sample Crest (SVG)")
    press(window, Qt.Key.Key_Space)
    settle(window)
    assert window.session.job.source.name == "crest.svg" and window.faces.hasFocus()
