"""The list of keys shows all of them, whole."""

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QLabel, QScrollArea

from app.window.menus import MENUS, commands_of


def test_every_key_is_seen_whole(window, dialogs, qtbot):
    shown = []

    def look(dialog):
        dialog.show()
        qtbot.waitExposed(dialog)
        seen = dialog.findChild(QScrollArea).viewport()
        for label in dialog.findChildren(QLabel, "key"):
            assert label.width() >= label.sizeHint().width(), label.text()
            assert label.mapTo(seen, QPoint(label.width(), 0)).x() <= seen.width(), label.text()
            shown.append(label.text())
        return True

    dialogs.expect("run", look)
    window.menus.actions["keys"].trigger()
    wanted = [one.keys for _, entries in MENUS for one in commands_of(entries) if one.keys]
    assert len(wanted) > 30
    assert [keys for keys in wanted if not any(keys in text for text in shown)] == []
