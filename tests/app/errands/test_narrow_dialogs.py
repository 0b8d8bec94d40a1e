"""Dialogs on the smallest screen: nothing is cut off at the right, no word has less room than it needs."""

import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import (
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QScrollArea,
    QWidget,
)

from tests.app.window.test_clipped_captions import clipped

pytestmark = pytest.mark.usefixtures("shared_window")

SCREEN = (820, 620)
FIELD_EDGES_PX = 18
COMMANDS = (
    "rack", "recipes", "keep recipe", "shop book", "profiles", "cost", "calibrate", "trials", "came out wrong",
    "job done", "make coupon", "keys", "cautions", "about", "proof", "offer", "letterhead",
)  # fmt: skip


def reaching_out(dialog: QWidget) -> list[str]:
    """What is shown and reaches over the right edge of what it lies in."""
    found = []
    for area in dialog.findChildren(QScrollArea):
        over = area.widget().width() - area.viewport().width() if area.isVisible() and area.widget() else 0
        if over > 0:
            found.append(f"{area.accessibleName()}: {over} px wider than there is room")
    for field in dialog.findChildren(QLineEdit):
        if not field.isVisible() or isinstance(field.parent(), QAbstractSpinBox | QComboBox):
            continue
        if field.width() < 70:
            found.append(f"{field.accessibleName()!r} is {field.width()} px wide: nothing can be read in it")
        beyond = field.fontMetrics().horizontalAdvance(field.text()) + FIELD_EDGES_PX - field.width()
        if beyond > 0:
            found.append(f"{field.accessibleName()!r}: {beyond} px more than it shows")
    scrolled = {one for area in dialog.findChildren(QAbstractScrollArea) for one in area.findChildren(QWidget)}
    for one in dialog.findChildren(QWidget):
        if one.isVisible() and not one.isWindow() and one not in scrolled:
            right = QRect(one.mapTo(dialog, QPoint(0, 0)), one.size()).right()
            if right > dialog.width():
                found.append(f"{type(one).__name__} {one.accessibleName()!r} ends at {right} of {dialog.width()}")
    return found


@pytest.mark.parametrize("key", COMMANDS)
def test_nothing_is_cut_off_on_the_smallest_screen(with_plate, dialogs, qtbot, key):
    window = with_plate
    told = []

    def look(dialog):
        room = [round(0.95 * side) for side in SCREEN]
        dialog.show()
        dialog.resize(min(dialog.width(), room[0]), min(dialog.height(), room[1]))
        qtbot.waitUntil(lambda: not window.shop.busy)
        QApplication.processEvents()
        assert dialog.width() <= room[0], f"can't be narrower than {dialog.width()}"
        told.extend((*clipped(dialog), *reaching_out(dialog)))
        told.append("seen")
        dialog.done(0)
        return False

    dialogs.expect("run", look)
    window.menus.actions[key].trigger()
    qtbot.waitUntil(lambda: bool(told))
    assert told == ["seen"]


def test_the_table_of_costs_keeps_its_columns_on_the_smallest_screen(with_plate, dialogs, qtbot):
    """Squeezed to nothing, "With tax" read "th tax" and how a cost comes about had three letters a line."""
    window = with_plate
    widths = {}

    def look(dialog):
        dialog.show()
        dialog.resize(*(round(0.95 * side) for side in SCREEN))
        qtbot.waitUntil(lambda: dialog.cost is not None and not window.shop.busy)
        QApplication.processEvents()
        for table in (dialog.table, dialog.prices):
            metrics = table.horizontalHeader().fontMetrics()
            for column in range(table.columnCount()):
                heading = table.horizontalHeaderItem(column).text()
                widths[heading] = table.columnWidth(column) - metrics.horizontalAdvance(heading)
            assert sum(table.columnWidth(at) for at in range(table.columnCount())) <= table.viewport().width()
        widths["how"] = dialog.table.columnWidth(2)
        return False

    dialogs.expect("run", look)
    window.menus.actions["cost"].trigger()
    qtbot.waitUntil(lambda: bool(widths))
    how = widths.pop("how")
    assert min(widths.values()) >= 0 and how >= 200
