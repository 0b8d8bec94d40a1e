"""The shop book to look through: search, every figure with where it comes from, history, bring a state back."""

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.book_dialog import BookDialog
from app.qt.captions import caption
from app.session.shop import Shop
from app.widgets.fields import Card, small_button, words
from app.words.figure_words import entry_lines
from core.shop_book.entries import SEED_STAMP, Damaged

if TYPE_CHECKING:
    from core.shop_book.entries import Entry


KIND_WORDS = {
    "machine": "Machine",
    "stock": "Stock",
    "recipe": "Recipe",
    "coupon": "Coupon",
    "reading": "Reading of coupon",
    "job": "Job done",
    "paint": "Paint",
    "bond": "Bonding trial",
    "piece": "Piece of sheet",
    "rates": "Rates",
    "letterhead": "Letterhead",
    "rule": "Rule about purposes",
    "caution": "Caution",
    "trial": "Trial",
    "fault": "Came out wrong",
}
BEGUN_WITH = {"machine", "stock"}


class ShopBookDialog(BookDialog):
    """Reads and writes by the window's ``Shop``, off the GUI thread. left_for: the command it was left for;
    left_with: the entry that came out wrong."""

    def __init__(self, parent: QWidget | None, shop: Shop, *, inches: bool = False) -> None:
        super().__init__(parent, shop, "Shop book")
        self._inches = inches
        layout = self.column
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName(caption("Search the shop book"))
        self.wanted.setPlaceholderText(caption("Search: all these words, in names, notes and figures"))
        self.wanted.textChanged.connect(lambda text: self.search())
        layout.addWidget(self.wanted)
        columns = QHBoxLayout()
        self.entries, self.states = QListWidget(), QListWidget()
        for rows in (self.entries, self.states):
            rows.setWordWrap(True)
            rows.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.entries.setAccessibleName(caption("Entries"))
        self.states.setAccessibleName(caption("History of the entry, newest first"))
        self.figures = QPlainTextEdit()
        self.figures.setReadOnly(True)
        self.figures.setAccessibleName(caption("Figures, with where they come from"))
        self.figures.setTabChangesFocus(True)
        right = QVBoxLayout()
        right.addWidget(self.figures, 3)
        right.addWidget(words("History", role="heading"))
        right.addWidget(self.states, 1)
        columns.addWidget(self.entries, 2)
        columns.addLayout(right, 3)
        self.left_for = ""
        self.left_with: Entry | None = None
        layout.addWidget(self._first_steps())
        layout.addLayout(columns, 1)
        line = QHBoxLayout()
        self.revert = QPushButton(caption("&Bring this state back"))
        self.revert.setEnabled(False)
        self.revert.clicked.connect(self._revert)
        self.rack = QPushButton(caption("The &rack…"))
        self.rack.setToolTip(caption("Pieces of sheet with their pictures"))
        self.rack.clicked.connect(self._to_rack)
        close = QPushButton(caption("&Close"))
        close.clicked.connect(self.accept)
        line.addWidget(self.revert)
        line.addWidget(self.rack)
        self.wrong = QPushButton(caption("It came out &wrong…"))
        self.wrong.setToolTip(caption("Of a job that was done, or a fault that was kept: why"))
        self.wrong.clicked.connect(self._to_trouble)
        line.addWidget(self.wrong)
        line.addStretch(1)
        line.addWidget(close)
        layout.addLayout(line)
        self.entries.currentItemChanged.connect(lambda now, before: self._show_entry())
        self.states.currentItemChanged.connect(lambda now, before: self._show_state())
        self.resize(860, 620)
        self.search()

    def _first_steps(self) -> Card:
        """What the book is for, seen while it holds nothing but what every book begins with."""
        self.first_steps = Card("So far the shop book has what every book begins with")
        self.first_steps.body.addWidget(
            words(
                "It remembers for your shop: machines and stocks, recipes that came out well, coupons read, pieces on"
                " the rack, jobs done and what they took. Every figure keeps where it came from.",
                role="quiet",
            )
        )
        line = QHBoxLayout()
        for text, command in (("Your &machine and stocks…", "profiles"), ("Bring a book &in…", "import book")):
            button = small_button(text)
            button.clicked.connect(lambda checked=False, command=command: self._leave_for(command))
            line.addWidget(button)
        line.addStretch(1)
        self.first_steps.body.addLayout(line)
        self.first_steps.hide()
        return self.first_steps

    def _to_rack(self) -> None:
        self._leave_for("rack")

    def _to_trouble(self) -> None:
        self.left_with = _value(self.entries)
        self.accept()

    def _leave_for(self, command: str) -> None:
        self.left_for = command
        self.accept()

    def search(self) -> None:
        """List the entries that hold all the words."""
        wanted = self.wanted.text()

        def take(found: "tuple[Entry, ...]") -> None:
            if wanted == self.wanted.text():
                begun_with = {one.kind for one in found} <= BEGUN_WITH
                self.first_steps.setVisible(begun_with and not wanted.strip())
                _fill(self.entries, [(f"{KIND_WORDS[one.kind]}: {one.name}", one) for one in found])

        self.do(lambda book: book.search(wanted), take)

    def _show_entry(self) -> None:
        entry = _value(self.entries)
        self.wrong.setEnabled(
            entry is not None and entry.kind in ("job", "fault") and not isinstance(entry.value, Damaged)
        )
        if entry is None:
            _fill(self.states, [])
            return

        def take(states: "tuple[Entry, ...]") -> None:
            rows = [(_state_words(one), one) for one in states]
            _fill(self.states, rows)

        self.do(lambda book: book.history(entry.uuid), take)

    def _show_state(self) -> None:
        state = _value(self.states)
        lines = _lines(state, inches=self._inches) if state is not None else []
        self.figures.setPlainText("\n".join(lines))
        whole = state is not None and not isinstance(state.value, Damaged)
        self.revert.setEnabled(whole and self.states.currentRow() > 0)

    def _revert(self) -> None:
        state = _value(self.states)
        self.do(lambda book: book.revert(state.uuid, state.stamp), lambda entry: self._show_entry(), writes=True)


def _state_words(state: "Entry") -> str:
    """When a state was written, and why; what every book begins with has no day."""
    if state.stamp == SEED_STAMP:
        return "from the beginning"
    return f"{state.stamp[:16].replace('T', ' ')} UTC  {state.note}".strip()


def _lines(state: "Entry", *, inches: bool) -> list[str]:
    if isinstance(state.value, Damaged):
        return [state.value.why, "Bring back a state that is whole. What the book holds:", state.value.text]
    return entry_lines(state.value, inches=inches)


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
