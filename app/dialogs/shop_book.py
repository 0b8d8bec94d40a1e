"""The shop book to look through: search, every figure with where it comes from, history, bring a state back."""

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app import messages
from app.commands.book import figure_lines
from app.fields import words
from app.shop import Shop
from core.errors import TainError

if TYPE_CHECKING:
    from core.shop_book.store import Entry, ShopBook


class ShopBookDialog(QDialog):
    """Reads and writes by the window's ``Shop``, off the GUI thread."""

    def __init__(self, parent: QWidget | None, shop: Shop) -> None:
        super().__init__(parent)
        self.setWindowTitle("Shop book")
        self._shop = shop
        self._open = True  # what comes in after closing finds no widgets any more
        self.finished.connect(self._closed)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName("Search the shop book")
        self.wanted.setPlaceholderText("Search: all these words, in names, notes and figures")
        self.wanted.textChanged.connect(lambda text: self.search())
        layout.addWidget(self.wanted)
        columns = QHBoxLayout()
        self.entries, self.states = QListWidget(), QListWidget()
        self.entries.setAccessibleName("Entries")
        self.states.setAccessibleName("History of the entry, newest first")
        self.figures = QPlainTextEdit()
        self.figures.setReadOnly(True)
        self.figures.setAccessibleName("Figures, with where they come from")
        self.figures.setTabChangesFocus(True)
        right = QVBoxLayout()
        right.addWidget(self.figures, 3)
        right.addWidget(words("History", role="heading"))
        right.addWidget(self.states, 1)
        columns.addWidget(self.entries, 2)
        columns.addLayout(right, 3)
        layout.addLayout(columns, 1)
        line = QHBoxLayout()
        self.revert = QPushButton("&Bring this state back")
        self.revert.setEnabled(False)
        self.revert.clicked.connect(self._revert)
        close = QPushButton("&Close")
        close.clicked.connect(self.accept)
        line.addWidget(self.revert)
        line.addStretch(1)
        line.addWidget(close)
        layout.addLayout(line)
        self.entries.currentItemChanged.connect(lambda now, before: self._show_entry())
        self.states.currentItemChanged.connect(lambda now, before: self._show_state())
        self.resize(860, 620)
        self.search()

    def search(self) -> None:
        """List the entries that hold all the words."""
        wanted = self.wanted.text()

        def take(found: "tuple[Entry, ...]") -> None:
            if wanted == self.wanted.text():
                _fill(self.entries, [(f"{one.kind}: {one.name}", one) for one in found])

        self._do(lambda book: book.search(wanted), take)

    def _show_entry(self) -> None:
        entry = _value(self.entries)
        if entry is None:
            _fill(self.states, [])
            return

        def take(states: "tuple[Entry, ...]") -> None:
            rows = [(f"{one.stamp[:16].replace('T', ' ')} UTC  {one.note}".strip(), one) for one in states]
            _fill(self.states, rows)

        self._do(lambda book: book.history(entry.uuid), take)

    def _show_state(self) -> None:
        state = _value(self.states)
        lines = figure_lines(state.value) if state is not None else []
        told = [re.sub(r"\s{2,}", ": ", line.strip(), count=1) for line in lines]
        self.figures.setPlainText("\n".join(told))
        self.revert.setEnabled(state is not None and self.states.currentRow() > 0)

    def _revert(self) -> None:
        state = _value(self.states)
        self._do(lambda book: book.revert(state.uuid, state.stamp), lambda entry: self._show_entry(), writes=True)

    def _do(self, work: "Callable[[ShopBook], Any]", take: Callable[[Any], None], *, writes: bool = False) -> None:
        def taken(value: Any) -> None:
            if self._open:
                take(value)

        def failed(error: TainError) -> None:
            if self._open:
                messages.tell_error(self, "Shop book", error)

        self._shop.do(work, taken, failed, writes=writes)

    def _closed(self) -> None:
        self._open = False


def _fill(rows: QListWidget, items: list[tuple[str, Any]]) -> None:
    rows.clear()
    for text, value in items:
        item = QListWidgetItem(text)
        item.setData(Qt.ItemDataRole.UserRole, value)
        rows.addItem(item)
    rows.setCurrentRow(0 if items else -1)


def _value(rows: QListWidget) -> Any:
    item = rows.currentItem()
    return item.data(Qt.ItemDataRole.UserRole) if item is not None else None
