"""What can scroll on a page: its front, and rooms behind named doors for figures that are rarely changed."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QToolButton

from app.qt.captions import caption, filled
from app.theme.icons import icon
from app.widgets.fields import show_role, words
from app.widgets.plain_text import plain_tip
from app.widgets.scrolled import Scrolled


class Room(Scrolled):
    """A part of a page behind a door. left: the maker wants back to the front of the page.

    in_part: it may lie open below the front where not all of it is seen.
    """

    left = Signal()

    def __init__(self, title: str, page_title: str, *, in_part: bool = False) -> None:
        super().__init__(f"{title}, of {page_title}")
        self.title, self.in_part = title, in_part
        self.back = QToolButton()
        self.back.setIcon(icon("chevron-left"))
        self.back.setText(caption(page_title))
        self.back.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.back.setAccessibleName(filled("Back to {page_title}", page_title=page_title))
        self.back.setToolTip(plain_tip(filled("Back to {page_title} (Esc)", page_title=page_title)))
        self.back.clicked.connect(self.left)
        line = QHBoxLayout()
        line.addWidget(self.back)
        line.addStretch(1)
        self.body.addLayout(line)
        self.head: QLabel = words(title, role="title")
        self.body.addWidget(self.head)
        self._alone = True

    def show_alone(self, alone: bool) -> None:
        """In the place of the whole page, with a way back; or below its front, as a part of it."""
        if alone != self._alone:
            self._alone = alone
            self.back.setVisible(alone)
            show_role(self.head, "title" if alone else "heading")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: Escape leads back."""
        if event.key() == Qt.Key.Key_Escape and self._alone:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def end(self) -> None:
        """Call after the last card: the rest stays empty."""
        self.body.addStretch(1)


def door_button(room: Room, text: str = "") -> QPushButton:
    """The door to a room: its name, and a sign that more lies behind it."""
    button = QPushButton(caption(text or room.title))
    button.setProperty("role", "door")
    button.setIcon(icon("chevron-right"))
    button.setLayoutDirection(Qt.LayoutDirection.RightToLeft)
    button.setAccessibleName(caption(text or room.title))
    return button
