"""Dialogs of ours as they come onto the screen."""

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLineEdit, QPushButton, QVBoxLayout

from app.theme.in_force import apply_theme
from app.widgets import messages
from app.widgets.messages import Dialogs


def test_a_dialog_is_no_larger_than_the_screen(qtbot):
    dialog = QDialog()
    qtbot.addWidget(dialog)
    room = dialog.screen().availableSize()
    dialog.resize(room.width() + 500, room.height() + 500)
    QTimer.singleShot(0, dialog.accept)
    assert Dialogs().run(dialog)
    assert dialog.width() <= room.width() and dialog.height() <= room.height()


def test_enter_never_presses_a_button_that_is_no_default(qtbot, dialogs):
    dialog, clicked = QDialog(), []
    qtbot.addWidget(dialog)
    layout = QVBoxLayout(dialog)
    cancel, edit = QPushButton("Cancel"), QLineEdit()
    cancel.clicked.connect(lambda: clicked.append("cancel"))
    layout.addWidget(cancel)
    layout.addWidget(edit)

    def press(shown):
        shown.show()
        edit.setFocus()
        QTest.keyClick(edit, Qt.Key.Key_Return)
        return True

    dialogs.expect("run", press)
    assert messages.run(dialog) and clicked == []
    cancel.setDefault(True)
    dialogs.expect("run", press)
    assert messages.run(dialog) and clicked == ["cancel"]


@pytest.mark.parametrize("role", ["tell", "ask"])
def test_a_message_has_a_sign_of_ours(qapp, monkeypatch, role):
    """No icon of the desktop's: those look different everywhere, and none is in the theme's colours."""
    from PySide6.QtWidgets import QMessageBox

    seen = []

    def look(box):
        seen.append((box.icon(), box.iconPixmap().isNull()))
        box.buttons()[0].click()

    monkeypatch.setattr(QMessageBox, "exec", look)
    real = messages.Dialogs()
    if role == "tell":
        real.tell(None, "Saving", "It can't be written.", "Try another folder.")
    else:
        real.ask(None, "Saving", "Replace it?", "", (messages.Answer(key="yes", text="Yes"),))
    assert seen == [(QMessageBox.Icon.NoIcon, False)]


@pytest.mark.parametrize("answers", [(), (messages.Answer(key="yes", text="Yes"),)], ids=["told", "asked"])
def test_a_message_that_is_open_follows_another_theme(qapp, qtbot, answers):
    """The desktop turns dark by the clock while a question waits: its sign is that of a question asked then."""

    def box():
        made = (
            messages.asked_box(None, "Saving", "Replace it?", "", answers)[0]
            if answers
            else messages.told_box(None, "Saving", "It can't be written.", "Try another folder.")
        )
        qtbot.addWidget(made)
        return made

    was_open = box()
    first = was_open.iconPixmap().toImage()
    try:
        apply_theme(qapp, "dark")
        assert was_open.iconPixmap().toImage() == box().iconPixmap().toImage() != first
    finally:
        apply_theme(qapp, "light")
    assert was_open.iconPixmap().toImage() == first
