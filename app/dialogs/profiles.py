"""Machines and stocks of the shop book, edited: changes are gathered and kept together, or thrown away."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.book_dialog import BookDialog
from app.dialogs.profile_forms import MachineForm, ProfileForm, StockForm
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.fields import ChoiceField, small_button, words
from app.widgets.messages import Answer
from core.burning.machines import Machine
from core.errors import TainError
from core.sheet.stock import Stock
from core.shop_book.profile_editing import ProfileEdit, ProfileKind, copy_of, new_profile
from core.shop_book.store import StaleEntryError

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook

KINDS: tuple[tuple[str, ProfileKind], ...] = (("Machines", "machine"), ("Stocks", "stock"))
NARROW_PX, LEAST_FORM_PX = 1030, 480
LOW_LIST_PX, ANY_PX = 72, 16_777_215


class ProfilesDialog(Guarded, BookDialog):
    """``kept`` says whether anything was written."""

    def __init__(
        self, parent: QWidget | None, shop: Shop, *, inches: bool, kind: ProfileKind = "machine", name: str = ""
    ) -> None:
        super().__init__(parent, shop, "Machines and stocks")
        self._inches, self._wanted_name = inches, name
        self.kept = False
        self._entries: dict[str, Entry] = {}
        self._drafts: dict[str, ProfileEdit] = {}
        self._shown_key = ""
        self.form: ProfileForm | None = None
        self._columns = columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        columns.setSpacing(16)
        columns.addLayout(self._left_column(kind), 1)
        self._scroll = QScrollArea()
        self._scroll.setAccessibleName(caption("Figures"))
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)  # on small screens
        columns.addWidget(self._scroll, 3)
        self.column.addLayout(columns, 1)
        self.refusal = words(role="refusal")
        self.column.addWidget(self.refusal)
        line = QHBoxLayout()
        line.addWidget(words("Jobs keep the figures they began with; new jobs take these.", role="quiet"), 1)
        close = QPushButton(caption("Close"))
        close.clicked.connect(self.reject)
        self.keep = QPushButton(caption("&Keep the changes"))
        self.keep.setProperty("role", "main")
        self.keep.clicked.connect(lambda: self._keep())
        line.addWidget(close)
        line.addWidget(self.keep)
        self.column.addLayout(line)
        self.resize(1040, 720)
        self._show_changes()
        self.read()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: the list stands above the figures where both have no room beside each other."""
        narrow, ways = event.size().width() < NARROW_PX, QBoxLayout.Direction
        self._columns.setDirection(ways.TopToBottom if narrow else ways.LeftToRight)
        self.list.setMaximumHeight(LOW_LIST_PX if narrow else ANY_PX)
        super().resizeEvent(event)

    def _left_column(self, kind: ProfileKind) -> QVBoxLayout:
        column = QVBoxLayout()
        self.kind = ChoiceField("What to edit", KINDS)
        self.kind.show_value(kind)
        self.kind.chosen.connect(lambda kind: self.read())
        column.addWidget(self.kind)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Machines or stocks"))
        self.list.currentItemChanged.connect(lambda now, before: self._show_chosen())
        column.addWidget(self.list, 1)
        line = QHBoxLayout()
        self.add = small_button("&New", "New machine or stock")
        self.copy = small_button("Cop&y", "Copy this machine or stock")
        self.remove = small_button("&Remove", "Remove this machine or stock")
        for button, do in ((self.add, self._add), (self.copy, self._copy), (self.remove, self._remove)):
            button.clicked.connect(do)
            line.addWidget(button)
        column.addLayout(line)
        return column

    # --- the list ------------------------------------------------------------------------------------------------

    @property
    def _kind(self) -> ProfileKind:
        return KINDS[max(0, self.kind.currentIndex())][1]

    def read(self) -> None:
        """List what the book has of this kind, and what is new and not kept yet."""
        kind = self._kind

        def take(entries: "tuple[Entry, ...]") -> None:
            if kind == self._kind:
                self._entries = {entry.uuid: entry for entry in entries}
                self._fill(self._wanted_name)

        self.do(lambda book: book.entries(kind), take)

    def _fill(self, name: str = "") -> None:
        """List again; the one of that name, or the one shown, is chosen."""
        kept = self._shown_key
        self.list.blockSignals(True)
        self.list.clear()
        for key, value in self._values().items():
            item = QListWidgetItem(filled("{name} (changed)", name=value.name) if key in self._drafts else value.name)
            item.setData(Qt.ItemDataRole.UserRole, key)
            self.list.addItem(item)
            if value.name == name or (key == kept and not name):
                self.list.setCurrentItem(item)
        if self.list.currentRow() < 0:
            self.list.setCurrentRow(0)
        self._wanted_name = ""
        self.list.blockSignals(False)
        self._show_chosen()

    def _values(self) -> dict[str, Machine | Stock]:
        """All of this kind by key, as they now stand: the book's uuids, and names of new ones."""
        values = {uuid: entry.value for uuid, entry in self._entries.items()}
        drafts = {key: draft.value for key, draft in self._drafts.items() if draft.kind == self._kind}
        return {**values, **drafts}

    def _show_chosen(self) -> None:
        item = self.list.currentItem()
        self._shown_key = item.data(Qt.ItemDataRole.UserRole) if item is not None else ""
        value = self._values().get(self._shown_key)
        self.form = self._form_of(value) if value is not None else None
        self._scroll.setWidget(self.form or QWidget())
        if self.form is not None:
            room = self.form.minimumSizeHint().width() + self._scroll.verticalScrollBar().sizeHint().width()
            self._scroll.setMinimumWidth(min(room, LEAST_FORM_PX))
        self._refused("")
        for button in (self.copy, self.remove):
            button.setEnabled(value is not None)

    def _form_of(self, value: Machine | Stock) -> ProfileForm:
        if isinstance(value, Machine):
            return MachineForm(value, inches=self._inches, changed=self._changed, refused=self._refused)
        entry = self._entries.get(self._shown_key)
        return StockForm(
            value,
            kept_codes=entry.value.caution_codes if entry is not None else (),
            inches=self._inches,
            changed=self._changed,
            refused=self._refused,
        )

    # --- changing ------------------------------------------------------------------------------------------------

    def _changed(self) -> None:
        assert self.form is not None
        self._draft(self._shown_key, self.form.value)
        item = self.list.currentItem()
        if item is not None:
            item.setText(filled("{name} (changed)", name=self.form.value.name))
        self._show_changes()

    def _draft(self, key: str, value: Machine | Stock) -> None:
        before, entry = self._drafts.get(key), self._entries.get(key)
        if before is not None:
            self._drafts[key] = replace(before, value=value)
        else:
            uuid, stamp = (entry.uuid, entry.stamp) if entry is not None else ("", "")
            self._drafts[key] = ProfileEdit(kind=self._kind, uuid=uuid, based_on=stamp, value=value)

    def _refused(self, text: str) -> None:
        self.refusal.setText(text)
        self.refusal.setVisible(bool(text))

    def _show_changes(self) -> None:
        self.keep.setEnabled(bool(self._drafts))

    def _add(self) -> None:
        self._add_draft(new_profile(self._kind, self._names()))

    def _copy(self) -> None:
        value = self._values().get(self._shown_key)
        if value is not None:
            self._add_draft(copy_of(value, self._names()))

    def _add_draft(self, value: Machine | Stock) -> None:
        self._draft(f"new {value.name}", value)
        self._fill(value.name)
        self._show_changes()

    def _names(self) -> set[str]:
        return {value.name for value in self._values().values()}

    def _remove(self) -> None:
        key, value = self._shown_key, self._values().get(self._shown_key)
        if value is None:
            return
        answers = (Answer(key="cancel", text="&Leave it", role="cancel"), Answer(key="remove", text="&Remove it"))
        hint = "The shop book keeps its history; jobs keep their own figures."
        if messages.ask(self, "Remove", filled("Remove {name}?", name=value.name), answers, hint=hint) != "remove":
            return
        self._drafts.pop(key, None)
        self._show_changes()
        if key not in self._entries:
            self._fill()
            return
        self.do(lambda book: book.remove(key), lambda none: self._after_writing(), writes=True)

    # --- keeping -------------------------------------------------------------------------------------------------

    def _keep(self, *, over_others: bool = False, close: bool = False) -> None:
        edits = tuple(self._drafts.values())

        def work(book: "ShopBook") -> None:
            from core.shop_book.profile_editing import keep_profiles

            keep_profiles(book, edits, over_others=over_others)

        def take(none: None) -> None:
            name = self.form.value.name.strip() if self.form is not None else ""
            self._drafts = {key: draft for key, draft in self._drafts.items() if draft not in edits}
            self._wanted_name = name
            self._after_writing()
            if close:
                self.accept()

        self.do(work, take, failed=lambda error: self._not_kept(error, close=close), writes=True)

    def _after_writing(self) -> None:
        self.kept = True
        self._show_changes()
        self.read()

    def _not_kept(self, error: TainError, *, close: bool) -> None:
        if not isinstance(error, StaleEntryError):
            self._refused(str(error))
            return
        answers = (
            Answer(key="cancel", text="&Leave the book as it is", role="cancel"),
            Answer(key="mine", text="&Keep mine on top"),
        )
        hint = "The other state stays in its history."
        if messages.ask(self, "Machines and stocks", error.message, answers, hint=hint) == "mine":
            self._keep(over_others=True, close=close)

    def reject(self) -> None:
        """Qt: it is to close; changes that are not kept are asked about."""
        if self._drafts:
            names = ", ".join(draft.value.name for draft in self._drafts.values())
            answers = (
                Answer(key="keep", text="&Keep them"),
                Answer(key="drop", text="&Throw them away", role="destroy"),
                Answer(key="cancel", text="&Go on editing", role="cancel"),
            )
            answer = messages.ask(
                self, "Machines and stocks", filled("Keep the changes of {names}?", names=names), answers
            )
            if answer == "keep":
                self._keep(close=True)
            if answer != "drop":
                return
        super().reject()
