"""The menu over shapes of the faces: what they are for, and what is like them."""

from collections.abc import Mapping

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

GROUPS = (
    ("put fill", "put cut", "put score", "put guide", "leave out", "as suggested"),
    ("select alike", "invert"),
    ("fit",),
)


def show_shape_menu(parent: QWidget, actions: Mapping[str, QAction], at: QPoint) -> None:
    """Open it at a place of the screen; it goes by itself."""
    menu = QMenu(parent)
    for number, keys in enumerate(GROUPS):
        if number:
            menu.addSeparator()
        for key in keys:
            menu.addAction(actions[key])
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    menu.popup(at)
