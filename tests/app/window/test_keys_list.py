"""The list of keys shows all of them, whole; sentences that send somebody to a menu name the right one."""

import ast
import re
from pathlib import Path

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


def test_what_a_sentence_finds_in_a_menu_is_there():
    """“Note this job as done” was said to be in the menu Trials."""
    menus = {
        title.replace("&", ""): {one.text.replace("&", "").rstrip("…") for one in commands_of(entries)}
        for title, entries in MENUS
    }
    found = []
    for file in (Path(__file__).parents[3] / "app").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found += re.findall(r"“([^”]+)” in the menu (\w+)", node.value)
                found += re.findall(r"([A-Z][a-z ]+) \(menu (\w+)\)", node.value)
    assert len(found) >= 2
    assert [one for one in found if one[0] not in menus[one[1]]] == []
