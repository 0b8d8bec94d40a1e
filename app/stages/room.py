"""What can scroll on a page: its front, and rooms behind named doors for figures that are rarely changed."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QScrollArea, QToolButton, QVBoxLayout, QWidget

from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.icons import icon
from app.widgets.fields import words
from app.widgets.plain_text import plain_tip

MARGIN_PX = 16


class Scrolled(Guarded, QScrollArea):
    """A column of cards as wide as the page, ``body``, that scrolls upright only."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.content = QWidget()
        self.content.setProperty("role", "page")
        self.body = QVBoxLayout(self.content)
        self.body.setContentsMargins(MARGIN_PX, MARGIN_PX, MARGIN_PX, MARGIN_PX)
        self.body.setSpacing(12)
        self.setWidget(self.content)
        bar = self.verticalScrollBar()
        bar.rangeChanged.connect(lambda low, high: self._keep_right_edge(bar.sizeHint().width() if high > low else 0))

    @property
    def screens(self) -> float:
        """How long it is, in heights of what is seen of it at once."""
        return max(self.content.height(), 1) / max(self.viewport().height(), 1)

    def _keep_right_edge(self, bar_px: int) -> None:
        """Cards end where the button at the foot ends, with a scroll bar beside them or without."""
        self.body.setContentsMargins(MARGIN_PX, MARGIN_PX, max(4, MARGIN_PX - bar_px), MARGIN_PX)


class Room(Scrolled):
    """A part of a page behind a door. left: the maker wants back to the front of the page."""

    left = Signal()

    def __init__(self, title: str, page_title: str) -> None:
        super().__init__(f"{title}, of {page_title}")
        self.title = title
        self.back = QToolButton()
        self.back.setIcon(icon("chevron-left"))
        self.back.setText(page_title)
        self.back.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.back.setAccessibleName(f"Back to {page_title}")
        self.back.setToolTip(plain_tip(f"Back to {page_title} (Esc)"))
        self.back.clicked.connect(self.left)
        line = QHBoxLayout()
        line.addWidget(self.back)
        line.addStretch(1)
        self.body.addLayout(line)
        self.head: QLabel = words(title, role="title")
        self.body.addWidget(self.head)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: Escape leads back."""
        if event.key() == Qt.Key.Key_Escape:
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
