"""The rack: every piece of sheet with its picture; new ones, changes, what is taken off and brought back."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.canvas.flaw_marks import flaw_words
from app.canvas.piece_picture import PieceLook, PiecePicture, piece_icon
from app.dialogs.book_dialog import BookDialog
from app.dialogs.piece_form import PieceForm
from app.qt.captions import caption
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import ChoiceField, small_button, words
from app.words.wording import count_text, length_text, sheet_area_text, size_text
from core.errors import JobError, TainError
from core.sheet.offcuts import Piece, checked_piece, piece_region

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook

THUMB = QSize(132, 84)
KIND = "piece"
ALL = "all stocks"


class RackDialog(BookDialog):
    """Reads and writes by the window's ``Shop``, off the GUI thread; each change is kept at once, with its history.

    usual: the stock that new pieces begin with. job_name: the window's job, for which a piece can be kept.
    """

    def __init__(
        self, parent: QWidget | None, shop: Shop, *, usual: str = "", job_name: str = "", inches: bool = False
    ) -> None:
        super().__init__(parent, shop, "The rack")
        self._stocks, self._usual, self._inches, self._wanted_name = shop.stocks, usual, inches, ""
        self._job_name = job_name
        self._all: tuple[Entry, ...] = ()
        self._shown: list[Entry] = []
        columns = QHBoxLayout()
        columns.setSpacing(16)
        columns.addLayout(self._left_column(), 3)
        columns.addLayout(self._right_column(), 4)
        note = EmptyNote(
            "Nothing is on the rack yet",
            (
                "The rack holds your sheets and offcuts: size or outline, stock, and where the coat is scratched.",
                "A job looks here for the piece it fits best, away from flaws that would show, offcuts first;"
                " what it leaves goes back on.",
            ),
            (("&Put the first piece on…", self._add),),
        )
        self.body = OrEmpty(columns, note)
        self.column.addWidget(self.body, 1)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        self.column.addWidget(self.refusal)
        self.column.addLayout(self._foot())
        self.resize(960, 640)
        self._show_chosen()
        self.read()

    def _left_column(self) -> QVBoxLayout:
        column = QVBoxLayout()
        self.stock = ChoiceField("Stock shown", [("All stocks", ALL), *((one.name, one.name) for one in self._stocks)])
        self.stock.show_value(ALL)
        self.stock.chosen.connect(lambda value: self._fill())
        column.addWidget(self.stock)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Pieces on the rack"))
        self.list.setIconSize(THUMB)
        self.list.setMinimumWidth(360)
        self.list.currentRowChanged.connect(self._show_chosen)
        self.list.itemActivated.connect(lambda item: self._edit())
        column.addWidget(self.list, 1)
        self.off = QCheckBox(caption("Sho&w what was used or taken off"))
        self.off.toggled.connect(lambda on: self.read())
        column.addWidget(self.off)
        return column

    def _right_column(self) -> QVBoxLayout:
        column = QVBoxLayout()
        self.picture = PiecePicture("The piece, front up")
        column.addWidget(self.picture, 1)
        self.about = words()
        column.addWidget(self.about)
        return column

    def _foot(self) -> QHBoxLayout:
        line = QHBoxLayout()
        line.setSpacing(8)
        self.new = small_button("&New piece…")
        self.edit = small_button("&Edit…", "Edit this piece")
        self.remove = small_button("&Take it off", "Take this piece off the rack")
        self.keep = small_button("&Keep it for this job", "Keep this piece for the job in the window")
        self.give_back = small_button("&Give it back", "Let any job have this piece again")
        self.bring_back = small_button("&Bring it back", "Bring this piece back as it was")
        for button, do in (
            (self.new, self._add),
            (self.edit, self._edit),
            (self.keep, self._keep),
            (self.give_back, self._give_back),
            (self.remove, self._remove),
            (self.bring_back, self._bring_back),
        ):
            button.clicked.connect(do)
            line.addWidget(button)
        line.addStretch(1)
        close = QPushButton(caption("&Close"))
        close.setDefault(True)
        close.clicked.connect(self.accept)
        line.addWidget(close)
        return line

    # --- the list ------------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Read the pieces from the book."""
        gone = self.off.isChecked()

        def take(entries: "tuple[Entry, ...]") -> None:
            if gone == self.off.isChecked():
                self._all = entries
                self.body.show_empty(not entries and not gone)
                self._fill()

        self.do(lambda book: book.entries(KIND, removed=gone), take)

    def _fill(self) -> None:
        """List the pieces of the stock that is shown; the one wanted, or the one chosen before, is chosen."""
        wanted = self._wanted_name or (self._entry.name if self._entry is not None else "")
        self._wanted_name = ""
        stock = self.stock.currentText() if self.stock.currentIndex() > 0 else ""
        self._shown = [entry for entry in self._all if stock in ("", entry.value.stock)]
        self.list.blockSignals(True)
        self.list.clear()
        for row, entry in enumerate(self._shown):
            look = PieceLook(piece=entry.value)
            picture = piece_icon(look, self.font(), size=THUMB)
            item = QListWidgetItem(picture, piece_words(entry, inches=self._inches))
            item.setSizeHint(QSize(0, THUMB.height() + 8))
            item.setData(Qt.ItemDataRole.AccessibleTextRole, item.text().replace("\n", ", "))
            self.list.addItem(item)
            if entry.name == wanted:
                self.list.setCurrentRow(row)
        if self.list.currentRow() < 0:
            self.list.setCurrentRow(0 if self._shown else -1)
        self.list.blockSignals(False)
        self._show_chosen()

    @property
    def _entry(self) -> "Entry | None":
        row = self.list.currentRow()
        return self._shown[row] if 0 <= row < len(self._shown) else None

    def _show_chosen(self) -> None:
        entry, gone = self._entry, self.off.isChecked()
        if entry is None:
            none_off = "Nothing was used or taken off."
            empty = (
                "The rack is empty. Put sheets and offcuts on it, and Tain finds the piece that a job wastes least of."
            )
            self.about.setText(none_off if gone else empty)
        else:
            self.about.setText("\n".join(entry_lines(entry, inches=self._inches)))
        look = PieceLook(piece=entry.value) if entry is not None else None
        self.picture.show_piece(look, self.about.text())
        self.edit.setEnabled(entry is not None and not gone)
        self.remove.setEnabled(entry is not None and not gone)
        self.bring_back.setEnabled(entry is not None and gone)
        kept = entry is not None and bool(entry.value.reserved_for)
        self.keep.setEnabled(entry is not None and bool(self._job_name))
        self.keep.setVisible(not gone and not kept)
        self.give_back.setVisible(not gone and kept)
        self.remove.setVisible(not gone)
        self.bring_back.setVisible(gone)

    # --- changing ------------------------------------------------------------------------------------------------

    def _add(self) -> None:
        form = PieceForm(self, self._stocks, usual=self._usual, inches=self._inches)
        if messages.run(form):
            name, piece = form.name, form.piece

            def work(book: "ShopBook") -> None:
                from core.shop_book.rack import add_piece

                add_piece(book, name, piece)

            self._write(work, name)
        form.deleteLater()

    def _edit(self) -> None:
        entry = self._entry
        if entry is None or self.off.isChecked():
            return
        form = PieceForm(self, self._stocks, name=entry.name, piece=entry.value, inches=self._inches)
        if messages.run(form):
            name, piece = form.name, form.piece
            self._write(lambda book: changed(book, entry, name, piece), name)
        form.deleteLater()

    def _remove(self) -> None:
        entry = self._entry
        if entry is not None:
            self._write(lambda book: book.remove(entry.uuid, note="taken off the rack"), "")

    def _keep(self) -> None:
        entry, job_name = self._entry, self._job_name
        if entry is not None:

            def work(book: "ShopBook") -> None:
                from core.shop_book.reserving import reserve

                reserve(book, entry.uuid, job_name)

            self._write(work, entry.name)

    def _give_back(self) -> None:
        entry = self._entry
        if entry is not None:

            def work(book: "ShopBook") -> None:
                from core.shop_book.reserving import give_back

                give_back(book, entry.uuid)

            self._write(work, entry.name)

    def _bring_back(self) -> None:
        entry = self._entry
        if entry is None:
            return

        def work(book: "ShopBook") -> None:
            from core.shop_book.rack import undo_put_back

            undo_put_back(book, entry.uuid)

        self._write(work, "")

    def _write(self, work: "Callable[[ShopBook], Any]", name: str) -> None:
        """Change the book and list again, with the piece of that name chosen; an error is said below the list."""
        self.refusal.hide()

        def take(value: Any) -> None:
            self._wanted_name = name
            self.read()

        def failed(error: TainError) -> None:
            self.refusal.setText(str(error))
            self.refusal.show()

        self.do(work, take, failed=failed, writes=True)


def changed(book: "ShopBook", entry: "Entry", name: str, piece: Piece) -> None:
    """Keep a piece that was edited. Raises JobError where another piece has the name, StaleEntryError."""
    others = [one for one in book.entries(KIND) if one.uuid != entry.uuid]
    if any(one.name.casefold() == name.casefold() for one in others):
        raise JobError(f"There is a piece “{name}” on the rack already.", hint="Label this one otherwise.")
    book.change(entry.uuid, checked_piece(piece), name=name, note="edited", based_on=entry.stamp)


def piece_words(entry: "Entry", *, inches: bool) -> str:
    """A piece in three short lines."""
    piece: Piece = entry.value
    _, _, width_mm, height_mm = piece_region(piece).bounds
    known = [count_text(len(piece.flaws), "flaw", "flaws")] if piece.flaws else []
    known += [f"worth {piece.price:.2f}"] if piece.price else []
    known += [piece.where] if piece.where else []
    known += [f"kept for {piece.reserved_for}"] if piece.reserved_for else []
    size = size_text(width_mm, height_mm, inches=inches)
    return "\n".join([f"{entry.name}, {size}", piece.stock, ", ".join(known)]).rstrip()


def entry_lines(entry: "Entry", *, inches: bool) -> list[str]:
    """All there is to know of a piece."""
    piece: Piece = entry.value
    region = piece_region(piece)
    kind = "A full sheet" if piece.full else "An offcut"
    thickness = length_text(piece.thickness_mm, inches=inches)
    lines = [f"{kind} of {piece.stock}, {thickness} thick, {sheet_area_text(region.area, inches=inches)}."]
    lines.append(f"Film: front {piece.film_front}, back {piece.film_back}.")
    stands = [f"worth {piece.price:.2f}"] if piece.price else []
    stands += [f"stands at {piece.where}"] if piece.where else []
    if stands:
        lines.append(", ".join(stands).capitalize() + ".")
    lines += [f"Kept for {piece.reserved_for} until that is done or it is given back."] if piece.reserved_for else []
    lines += [f"Flaw {flaw_words(number, flaw)}." for number, flaw in enumerate(piece.flaws)]
    lines += [one for one in (piece.note, entry.note) if one]
    return lines
