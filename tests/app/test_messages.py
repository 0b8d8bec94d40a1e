"""Dialogs of ours as they come onto the screen."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QDialog

from app.messages import Dialogs


def test_a_dialog_is_no_larger_than_the_screen(qtbot):
    dialog = QDialog()
    qtbot.addWidget(dialog)
    room = dialog.screen().availableSize()
    dialog.resize(room.width() + 500, room.height() + 500)
    QTimer.singleShot(0, dialog.accept)
    assert Dialogs().run(dialog)
    assert dialog.width() <= room.width() and dialog.height() <= room.height()
