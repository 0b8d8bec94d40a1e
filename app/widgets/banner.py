"""A line over the faces that says what went wrong or what was done, what to do next, and offers it."""

from collections.abc import Callable
from typing import Literal

from PySide6.QtGui import QAccessible, QAccessibleEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QToolButton, QVBoxLayout

from app.qt.captions import caption
from app.theme.icons import icon
from app.widgets.fields import words
from app.widgets.steady import Steady
from app.widgets.swatch import Sign

Kind = Literal["problem", "done", "note"]


class Banner(Steady):
    """Hidden until it has something to say; ``kind`` is what it last said.

    Every message says how long it holds; whoever changes what it may speak of calls ``check``.
    """

    def __init__(self) -> None:
        super().__init__()
        around = QVBoxLayout(self)
        around.setContentsMargins(0, 0, 0, 0)
        frame = QFrame()
        frame.setProperty("role", "banner")
        around.addWidget(frame)
        layout = QHBoxLayout(frame)
        layout.setContentsMargins(12, 8, 8, 8)
        layout.setSpacing(12)
        self.kind: Kind = "note"
        self._sign = Sign()
        self.text = words()
        self._do: Callable[[], object] = lambda: None
        self._holds: Callable[[], bool] = lambda: True
        self.action = QPushButton()
        self.action.setAccessibleName(caption("What to do about it"))
        self.action.clicked.connect(lambda: self._do())
        self._close = QToolButton()
        self._close.setIcon(icon("cancel"))
        self._close.setAccessibleName(caption("Close this message"))
        self._close.setToolTip(caption("Close this message"))
        self._close.clicked.connect(self.hide)
        layout.addWidget(self._sign)
        layout.addWidget(self.text, 1)
        layout.addWidget(self.action)
        layout.addWidget(self._close)
        self.hide()

    def say(
        self,
        kind: Kind,
        message: str,
        *,
        holds: Callable[[], bool],
        hint: str = "",
        action: str = "",
        do: Callable[[], object] = lambda: None,
    ) -> None:
        """Show a message, what to do next, and a button that does it (none when ``action`` is empty).

        It goes once ``holds`` says that what it speaks of is so no more.
        """
        self.kind = kind
        self._holds = holds
        self._sign.show_icon(icon(kind, kind))
        self.text.setText(f"{caption(message)} {caption(hint)}".strip())
        self.setAccessibleName({"problem": caption("Problem"), "done": caption("Done"), "note": caption("Note")}[kind])
        self.setAccessibleDescription(self.text.text())
        action = caption(action)
        self.action.setText(action)
        self.action.setAccessibleName(action.replace("&", ""))
        self.action.setVisible(bool(action))
        self._do = do
        self.show()
        QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.Alert))

    def check(self) -> None:
        """Put the message away where it does not hold any more."""
        if not self.isHidden() and not self._holds():
            self.hide()
