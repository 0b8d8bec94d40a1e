"""Recipes kept in the shop book: two side by side, one put on a layer, an earlier state brought back."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from app.dialogs.book_dialog import BookDialog
from app.dialogs.kept_fields import KeptFields
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.session import Session
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import ChoiceField, small_button, words
from app.widgets.messages import Answer
from app.widgets.plain_table import PlainTable
from app.words.figure_words import compared_recipes
from app.words.wording import in_shown_units, unbroken
from core.errors import TainError
from core.job.job import Job, Layer
from core.sheet.recipes import Recipe
from core.shop_book.comparing import compared_fills
from core.shop_book.kinds import RecipeNote
from core.shop_book.recipes_kept import with_kept_recipe

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook


class KeepRecipeDialog(Guarded, KeptFields):
    """Which layer's recipe to keep, under what name."""

    def __init__(self, parent: QWidget | None, job: Job) -> None:
        lead = filled(
            "For {name} on {name_2}. One of the same name becomes an earlier state of this.",
            name=job.stock.name,
            name_2=job.machine.name,
        )
        super().__init__(parent, "Keep a recipe", lead=lead)
        layers = [layer for layer in job.layers if layer.purpose != "guide"]
        self.layer = ChoiceField("Layer", [(layer.name, layer) for layer in layers])
        self._layers = layers
        self.form.addRow(caption("Layer"), self.layer)
        self.name = self.line("Name", hint="like: quay signs, mirror 3 mm")
        self.verdict = self.line("How it came out")
        self.note = self.line("Note")
        self.end_fields("&Keep it")
        self.name.setFocus()

    @property
    def chosen(self) -> Layer:
        """The layer whose recipe is kept."""
        return self._layers[max(0, self.layer.currentIndex())]

    def accept(self) -> None:
        """Qt: it is to be kept, if it has a name."""
        if self.name.text().strip():
            super().accept()
        else:
            self.refuse("Give it a name.")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Other:
    """What a recipe is compared with; ``stamp`` where it is an earlier state of that recipe."""

    name: str
    recipe: Recipe
    stamp: str = ""


class RecipesDialog(BookDialog):
    """Puts recipes on the session's layers, each put one step of undo. wanted: the command it was left for."""

    def __init__(self, parent: QWidget | None, shop: Shop, session: Session, *, inches: bool) -> None:
        super().__init__(parent, shop, "Recipes")
        self._session, self._inches = session, inches
        self._stocks: dict[str, str] = {}
        self._states: tuple[Entry, ...] = ()
        columns = QHBoxLayout()
        columns.setSpacing(16)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Recipes"))
        self.list.currentItemChanged.connect(lambda now, before: self._show_chosen())
        columns.addWidget(self.list, 2)
        columns.addLayout(self._right_column(), 5)
        self.wanted = ""
        self.body = OrEmpty(columns, self._empty_note())
        self.column.addWidget(self.body, 1)
        line = QHBoxLayout()
        self.revert = small_button("&Bring that state back", "Bring the earlier state back that is compared with")
        self.revert.clicked.connect(self._revert)
        self.remove = small_button("&Remove", "Remove this recipe")
        self.remove.clicked.connect(self._remove)
        close = QPushButton(caption("Close"))
        close.clicked.connect(self.accept)
        line.addWidget(self.revert)
        line.addWidget(self.remove)
        line.addStretch(1)
        line.addWidget(close)
        self.column.addLayout(line)
        self.resize(920, 620)
        self._show_chosen()
        self.read()

    def _empty_note(self) -> EmptyNote:
        steps = [("&Make a coupon…", lambda: self._leave_for("make coupon"))]
        if self._session.job.source is not None:
            steps.insert(0, ("&Keep one of this job…", lambda: self._leave_for("keep recipe")))
        return EmptyNote(
            "No recipe is kept yet",
            (
                "A recipe is the speed, power and pitch that came out clean on one stock with one machine.",
                "Keep those of a job that came out well, and the next job on that stock begins with them.",
                "A coupon burned on an offcut is the quick way to a first one.",
            ),
            steps,
        )

    def _leave_for(self, command: str) -> None:
        self.wanted = command
        self.accept()

    def _right_column(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        self._about = words(role="quiet")
        column.addWidget(self._about)
        self.other = ChoiceField("Compare with")
        self.other.chosen.connect(lambda other: self._show_compared())
        column.addWidget(self.other)
        self.table = PlainTable("The recipe beside what it is compared with", ("", "This recipe", "Compared with"))
        column.addWidget(self.table, 1)
        self.told = words()
        column.addWidget(self.told)
        line = QHBoxLayout()
        self.layer = ChoiceField("Layer to put it on")
        self.put = QPushButton(caption("&Put it on this layer"))
        self.put.setProperty("role", "main")
        self.put.clicked.connect(self._put)
        line.addWidget(self.layer, 1)
        line.addWidget(self.put)
        column.addLayout(line)
        return column

    # --- showing -------------------------------------------------------------------------------------------------

    def read(self) -> None:
        """List the book's recipes."""

        def take(found: "tuple[tuple[Entry, ...], dict[str, str]]") -> None:
            entries, self._stocks = found
            kept = self._entry.uuid if self._entry is not None else ""
            self.list.blockSignals(True)
            self.list.clear()
            for entry in entries:
                item = QListWidgetItem(f"{entry.name} ({entry.value.purpose})")
                item.setData(Qt.ItemDataRole.UserRole, entry)
                self.list.addItem(item)
                if entry.uuid == kept:
                    self.list.setCurrentItem(item)
            if entries and self.list.currentRow() < 0:
                self.list.setCurrentRow(0)
            self.list.blockSignals(False)
            self.body.show_empty(not entries)
            self._show_chosen()

        def work(book: "ShopBook") -> "tuple[tuple[Entry, ...], dict[str, str]]":
            return book.entries("recipe"), {entry.uuid: entry.name for entry in book.entries("stock")}

        self.do(work, take)

    @property
    def _entry(self) -> "Entry | None":
        item = self.list.currentItem()
        entry: Entry | None = item.data(Qt.ItemDataRole.UserRole) if item is not None else None
        return entry

    def _show_chosen(self) -> None:
        entry = self._entry
        self._states = ()
        for widget in (self.other, self.layer, self.put, self.remove):
            widget.setEnabled(entry is not None)
        if entry is None:
            self._about.setText("")
            self._show_compared()
            return
        note: RecipeNote = entry.value
        stock = self._stocks.get(note.stock_uuid, "")
        parts = (f"Kept for {stock}." if stock else "", note.verdict, note.note, *note.photos)
        self._about.setText("  ".join(filter(None, parts)) or caption("Nothing was noted with it."))
        layers = [layer for layer in self._session.job.layers if layer.purpose == note.purpose]
        self.layer.offer([(layer.name, layer) for layer in layers])
        self._layers = layers
        self._offer_others()
        self.do(lambda book: book.history(entry.uuid), lambda states: self._take_states(entry.uuid, states))

    def _take_states(self, uuid: str, states: "tuple[Entry, ...]") -> None:
        entry = self._entry
        if entry is not None and entry.uuid == uuid:
            at = self.other.currentIndex()
            self._states = states[1:]
            self._offer_others()
            self.other.setCurrentIndex(max(0, at))
            self._show_compared()

    def _offer_others(self) -> None:
        entry = self._entry
        assert entry is not None
        purpose = entry.value.purpose
        items = [self.list.item(row).data(Qt.ItemDataRole.UserRole) for row in range(self.list.count())]
        others = [
            _Other(name=f"Layer {layer.name} of this job", recipe=layer.recipe)
            for layer in self._session.job.layers
            if layer.purpose == purpose
        ]
        others += [
            _Other(name=one.name, recipe=one.value.recipe)
            for one in items
            if one.uuid != entry.uuid and one.value.purpose == purpose
        ]
        others += [
            _Other(name=f"{entry.name} until {_when(later.stamp)}", recipe=state.value.recipe, stamp=state.stamp)
            for state, later in zip(self._states, (entry, *self._states), strict=False)
        ]
        self._others = others
        self.other.offer([(f"Compare with: {other.name}", other) for other in others])
        self._show_compared()

    def _show_compared(self) -> None:
        entry = self._entry
        at = self.other.currentIndex()
        if entry is None or at < 0:
            self.table.show_rows([])
            self.told.setText("")
            self.revert.setEnabled(False)
            return
        note, other = entry.value, self._others[at]
        fill = note.purpose == "fill"
        rows = compared_recipes(note.recipe, other.recipe, fill=fill, inches=self._inches)
        self.table.show_rows(rows, marked=[row for row, (_, one, two) in enumerate(rows) if one != two])
        self.revert.setEnabled(bool(other.stamp))
        self.told.setText(self._verdicts(note.recipe, other.recipe) if fill else "")

    def _verdicts(self, recipe: Recipe, other: Recipe) -> str:
        job = self._session.job
        try:
            first, second, ratio = compared_fills(recipe, other, job.machine, job.stock)
        except TainError as error:
            return str(error)
        verdicts = f"This recipe: {first.words}\nCompared with: {second.words}"
        return unbroken(
            filled(
                "{in_shown_units}\nBoth on {name} with {name_2}. This one's lines take {ratio:.0f} % "
                "of the other's time, run-ups left out.",
                in_shown_units=in_shown_units(verdicts, inches=self._inches),
                name=job.stock.name,
                name_2=job.machine.name,
                ratio=100 / ratio,
            )
        )

    # --- doing ---------------------------------------------------------------------------------------------------

    def _put(self) -> None:
        entry = self._entry
        if entry is None or not self._layers:
            return
        layer = self._layers[max(0, self.layer.currentIndex())]
        stock = self._stocks.get(entry.value.stock_uuid, "")
        job = with_kept_recipe(self._session.job, layer.id, entry.value, name=entry.name, stock=stock)
        self._session.commit(job, filled("Recipe {name} on {name_2}", name=entry.name, name_2=layer.name))
        self._offer_others()
        self.told.setText(filled("It is on {name} now; prove it on a scrap. Undo takes it back.", name=layer.name))

    def _revert(self) -> None:
        entry, at = self._entry, self.other.currentIndex()
        if entry is not None and at >= 0 and self._others[at].stamp:
            stamp = self._others[at].stamp
            self.do(lambda book: book.revert(entry.uuid, stamp), lambda state: self.read(), writes=True)

    def _remove(self) -> None:
        entry = self._entry
        answers = (Answer(key="cancel", text="&Leave it", role="cancel"), Answer(key="remove", text="&Remove it"))
        if entry is None:
            return
        hint = "The shop book keeps its history."
        if messages.ask(self, "Remove", filled("Remove {name}?", name=entry.name), answers, hint=hint) == "remove":
            uuid = entry.uuid
            self.do(lambda book: book.remove(uuid), lambda none: self.read(), writes=True)


def _when(stamp: str) -> str:
    return f"{stamp[:16].replace('T', ' ')} UTC"
