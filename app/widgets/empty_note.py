"""What a list says while there is nothing in it: what it is for, and the first step."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLayout, QVBoxLayout, QWidget

from app.qt.captions import caption
from app.widgets.fields import small_button, words

WIDE_PX = 440


class EmptyNote(QFrame):
    """A heading, a few sentences, and buttons for the first steps; the first one is the main one."""

    def __init__(self, title: str, about: Sequence[str], steps: Sequence[tuple[str, Callable[[], object]]]) -> None:
        super().__init__()
        self.setAccessibleName(caption(title))
        self.setAccessibleDescription(" ".join(caption(sentence) for sentence in about))
        outer = QHBoxLayout(self)
        inner = QWidget()
        inner.setFixedWidth(WIDE_PX)
        outer.addWidget(inner, 0, Qt.AlignmentFlag.AlignCenter)
        column = QVBoxLayout(inner)
        column.setSpacing(8)
        column.addStretch(1)
        column.addWidget(words(title, role="title"))
        for sentence in about:
            column.addWidget(words(sentence, role="quiet"))
        line = QHBoxLayout()
        line.setSpacing(8)
        self.steps = []
        for number, (text, do) in enumerate(steps):
            button = small_button(text)
            if not number:
                button.setProperty("role", "main")
            button.clicked.connect(lambda checked=False, do=do: do())
            line.addWidget(button)
            self.steps.append(button)
        line.addStretch(1)
        column.addSpacing(8)
        column.addLayout(line)
        column.addStretch(2)


class OrEmpty(QWidget):
    """A layout, or in its place what is said while there is nothing in it."""

    def __init__(self, content: QLayout, note: EmptyNote) -> None:
        super().__init__()
        self.note, self._content = note, QWidget()
        content.setContentsMargins(0, 0, 0, 0)
        self._content.setLayout(content)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._content)
        column.addWidget(note)
        self.show_empty(False)

    def show_empty(self, empty: bool) -> None:
        """Which of the two is seen."""
        self._content.setVisible(not empty)
        self.note.setVisible(empty)
