"""Rules about purposes: keeping one from shapes that were just decided, and the list of those kept."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.book_dialog import BookDialog
from app.dialogs.foot import Foot
from app.qt.captions import caption
from app.session.shop import Shop
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import Card, ChoiceField, small_button, words
from app.widgets.plain_text import plain_tip
from core.artwork.sorting.rules import PurposeRule
from core.purposes import LEAVE_OUT, Answer
from core.shop_book.kinds import KeptRule

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook

ANSWERS: tuple[tuple[str, Answer], ...] = (
    ("fill them", "fill"),
    ("cut them", "cut"),
    ("score them", "score"),
    ("guides, never burned", "guide"),
    ("leave them out", LEAVE_OUT),
)


class KeepRuleDialog(QDialog):
    """Which rule, and whose files it holds for. ``kept`` is the answer once it is accepted."""

    def __init__(self, parent: QWidget | None, offered: Sequence[PurposeRule]) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Keep as a rule"))
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 24, 24, 16)
        column.setSpacing(12)
        column.addWidget(words("The rule is followed in this job now, and offered when other artwork matches it."))
        card = Card()
        self.rule = ChoiceField("The rule", [(rule.sentence, rule) for rule in offered])
        self.rule.setMinimumWidth(320)
        card.row("&Rule", self.rule)
        self.customer = QLineEdit()
        self.customer.setMaxLength(60)
        self.customer.setPlaceholderText(caption("everybody"))
        card.row("In &files of", self.customer, help_text="A customer's name; leave it empty for all files")
        column.addWidget(card)
        column.addLayout(Foot(self, "&Keep"))
        self._offered = tuple(offered)

    @property
    def kept(self) -> KeptRule:
        """The rule as chosen."""
        rule = self._offered[max(0, self.rule.currentIndex())]
        return KeptRule(rule=rule, customer=self.customer.text().strip())


class RulesDialog(BookDialog):
    """All rules of the shop book as sentences; each can be changed or removed."""

    def __init__(self, parent: QWidget | None, shop: Shop) -> None:
        super().__init__(parent, shop, "Rules of the shop book")
        self._entries: tuple[Entry, ...] = ()
        shown = QVBoxLayout()
        shown.setSpacing(12)
        shown.addWidget(words("Each is offered on the Layers page when artwork matches it."))
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Rules of the shop book"))
        self.list.setWordWrap(True)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setMinimumSize(440, 200)
        self.list.currentRowChanged.connect(lambda row: self._show_chosen())
        shown.addWidget(self.list, 1)
        card = Card()
        self.answer = ChoiceField("What is done with such shapes", ANSWERS)
        card.row("&What to do", self.answer)
        self.customer = QLineEdit()
        self.customer.setMaxLength(60)
        self.customer.setPlaceholderText(caption("everybody"))
        card.row("In &files of", self.customer, help_text="A customer's name; leave it empty for all files")
        self.change = small_button("C&hange", "Change the chosen rule")
        self.change.clicked.connect(self._change)
        self.remove = small_button("Remove", "Remove the chosen rule")
        self.remove.clicked.connect(self._remove)
        card.line(self.change, self.remove).addStretch(1)
        shown.addWidget(card)
        note = EmptyNote(
            "No rule is kept yet",
            (
                "A rule says what all shapes of a layer, a colour or a name are for, in the files of one customer or "
                "of all.",
                "It comes from a decision: put a shape on a layer by hand on the Layers page, and “Keep as a rule” "
                "is offered there. It is then offered for every file that it matches, and followed where you say so.",
            ),
            (),
        )
        self.body = OrEmpty(shown, note)
        self.column.addWidget(self.body, 1)
        done = QPushButton(caption("&Done"))
        done.setProperty("role", "main")
        done.setDefault(True)
        done.clicked.connect(self.accept)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(done)
        self.column.addLayout(foot)
        self._show_chosen()
        self._read()

    def _read(self) -> None:
        def work(book: "ShopBook") -> "tuple[Entry, ...]":
            from core.shop_book.rules import kept_rules

            return kept_rules(book)

        self.do(work, self._take)

    def _take(self, entries: "tuple[Entry, ...]") -> None:
        row = self.list.currentRow()
        self._entries = entries
        self.list.clear()
        for entry in entries:
            item = QListWidgetItem(entry.value.sentence)
            item.setData(Qt.ItemDataRole.ToolTipRole, plain_tip(entry.value.rule.written))
            self.list.addItem(item)
        self.body.show_empty(not entries)
        if entries:
            self.list.setCurrentRow(min(max(row, 0), len(entries) - 1))
        self._show_chosen()

    @property
    def _chosen(self) -> "Entry | None":
        row = self.list.currentRow()
        return self._entries[row] if 0 <= row < len(self._entries) else None

    def _show_chosen(self) -> None:
        chosen = self._chosen
        for widget in (self.answer, self.customer, self.change, self.remove):
            widget.setEnabled(chosen is not None)
        if chosen is not None:
            self.answer.show_value(chosen.value.rule.answer)
            self.customer.setText(chosen.value.customer)

    def _change(self) -> None:
        chosen = self._chosen
        if chosen is None:
            return
        old = chosen.value.rule
        answer = ANSWERS[max(0, self.answer.currentIndex())][1]
        rule = PurposeRule(sort=old.sort, value=old.value, answer=answer)
        kept = KeptRule(rule=rule, customer=self.customer.text().strip())
        self.do(
            lambda book: book.change(chosen.uuid, kept, name=kept.name, based_on=chosen.stamp),
            lambda entry: self._read(),
            writes=True,
        )

    def _remove(self) -> None:
        chosen = self._chosen
        if chosen is not None:
            self.do(lambda book: book.remove(chosen.uuid), lambda value: self._read(), writes=True)
