"""Keys, cautions, and what Tain is."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.qt.captions import caption
from app.session.versions import versions_text
from app.widgets.fields import words
from app.widgets.plain_text import plain_label
from core.job.cautions import LAST_WORD

if TYPE_CHECKING:
    from core.job.plan import Caution


class _ReadDialog(QDialog):
    """A page to read, with a button to close it."""

    def __init__(self, parent: QWidget | None, title: str, content: QWidget, *, width: int, height: int) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption(title))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 16, 16, 16)
        layout.setSpacing(12)
        scroll = QScrollArea()
        scroll.setAccessibleName(title)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(content)
        bar_px = scroll.verticalScrollBar().sizeHint().width()
        scroll.setMinimumWidth(content.minimumSizeHint().width() + bar_px)  # nothing hides behind the bar
        layout.addWidget(scroll, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Close).setText(caption("&Close"))
        buttons.rejected.connect(self.reject)
        layout.addWidget(buttons)
        self.resize(width, height)


def keys_dialog(parent: QWidget | None, sections: Sequence[tuple[str, Sequence[tuple[str, str]]]]) -> QDialog:
    """All keys: (heading, rows of (what it does, keys))."""
    content = QWidget()
    grid = QGridLayout(content)
    grid.setContentsMargins(8, 8, 16, 8)
    grid.setHorizontalSpacing(24)
    grid.setVerticalSpacing(4)
    grid.setColumnStretch(0, 1)
    row = 0
    for heading, lines in sections:
        title = words(heading, role="heading")
        grid.addWidget(title, row, 0, 1, 2)
        grid.setRowMinimumHeight(row, 32)
        row += 1
        for what, keys in lines:
            grid.addWidget(plain_label(what), row, 0)
            label = plain_label(keys)
            label.setObjectName("key")
            label.setProperty("role", "quiet")
            grid.addWidget(label, row, 1, Qt.AlignmentFlag.AlignRight)
            row += 1
    grid.setRowStretch(row, 1)
    return _ReadDialog(parent, "Keys", content, width=520, height=620)


def cautions_dialog(parent: QWidget | None, cautions: Sequence["Caution"]) -> QDialog:
    """The cautions of the job at hand, to read."""
    content = QWidget()
    column = QVBoxLayout(content)
    column.setSpacing(12)
    column.addWidget(words("Before anything is burned", role="heading"))
    for caution in cautions:
        column.addWidget(words(caution.message))
    column.addWidget(words(LAST_WORD, role="heading"))
    column.addStretch(1)
    return _ReadDialog(parent, "Cautions", content, width=560, height=620)


def about_dialog(parent: QWidget | None) -> QDialog:
    """What Tain is, and its versions."""
    content = QWidget()
    column = QVBoxLayout(content)
    column.setSpacing(12)
    column.addWidget(words("Tain", role="title"))
    column.addWidget(
        words(
            "A workbench for makers who engrave coated sheet from its back: artwork in, both faces shown, coverage and "
            "run time worked out, SVG and DXF handed over. It drives no machine."
        )
    )
    column.addWidget(words("The name is the trade word for the metal coat on the back of a mirror.", role="quiet"))
    column.addWidget(words("MIT licence. Its predictions are starting points to prove on a scrap."))
    versions = words(versions_text(), role="quiet")
    versions.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    column.addWidget(versions)
    column.addStretch(1)
    return _ReadDialog(parent, "About Tain", content, width=480, height=420)
