"""Which piece of the rack for the job: all of its stock with pictures, by what shows, what they cost, what is left."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.canvas.piece_picture import PieceLook, PiecePicture, piece_icon
from app.dialogs.book_dialog import BookDialog
from app.dialogs.foot import Foot
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.session.placing import Placing
from app.session.shop import Shop
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import small_button, words
from app.words.wording import area_text, count_text, length_text, sheet_area_text
from core.errors import TainError
from core.job.job import Job
from core.job.laid_out import Served, pieces_that_serve
from core.job.plan import Plan
from core.sheet.ground import PlacingOptions

if TYPE_CHECKING:
    from core.sheet.offcuts import Piece
    from core.shop_book.store import ShopBook

THUMB = QSize(132, 84)


class PieceChoiceDialog(BookDialog):
    """``chosen`` is the piece taken; ``rack_wanted`` says that the rack is to be shown instead.

    prefer: id of the piece that is looked at first.
    """

    def __init__(
        self,
        parent: QWidget | None,
        shop: Shop,
        placing: Placing,
        plan: Plan,
        options: PlacingOptions,
        *,
        inches: bool,
        prefer: str = "",
    ) -> None:
        super().__init__(parent, shop, "Take a piece from the rack")
        self._placing, self._plan, self._options, self._inches = placing, plan, options, inches
        self.served: tuple[Served, ...] = ()
        self.chosen: Served | None = None
        self.rack_wanted = False
        self._preferred = prefer
        stock = plan.job.stock.name
        self._lead = words(
            filled("Pieces of {stock}: no flaw showing first, then the cheapest.", stock=stock), role="quiet"
        )
        self.column.addWidget(self._lead)
        self.told = words(role="heading")
        self.column.addWidget(self.told)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Pieces of the rack, best first"))
        self.list.setIconSize(THUMB)
        self.list.setMinimumWidth(360)
        self.list.currentRowChanged.connect(self._show_chosen)
        self.list.itemActivated.connect(lambda item: self.put.click())
        columns.addWidget(self.list, 3)
        columns.addLayout(self._right_column(), 4)
        self.body = OrEmpty(columns, self._empty_note(plan.job.stock.name))
        self.column.addWidget(self.body, 1)
        self.column.addLayout(self._foot())
        self.resize(920, 600)
        self.finished.connect(lambda result: placing.stop())
        self._show_chosen()
        self.read()

    def _empty_note(self, stock: str) -> EmptyNote:
        return EmptyNote(
            filled("No {stock} on the rack yet", stock=stock),
            (
                "The rack holds your sheets and offcuts: size or outline, stock, and where the coat is scratched.",
                "Put a piece there, and this job is tried on it: whether it fits, which flaws would show, what is "
                "left of it afterwards.",
            ),
            (("&Put a piece on the rack…", self._to_rack),),
        )

    def _right_column(self) -> QVBoxLayout:
        column = QVBoxLayout()
        self.picture = PiecePicture("The piece, front up, with the job on it")
        column.addWidget(self.picture, 1)
        self.about = words()
        column.addWidget(self.about)
        return column

    def _foot(self) -> Foot:
        self.search = SearchBar(self._placing, "Trying the pieces", stop="&Stop", given_up=self._tell_stopped)
        self.rack = small_button("The &rack…", "Show the rack")
        self.rack.clicked.connect(self._to_rack)
        foot = Foot(self, "&Put the job on it", self.rack, self.search)
        self.put = foot.main
        return foot

    # --- trying --------------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Read the rack and try its pieces."""
        self.told.setText(caption("Trying the pieces…"))

        def take(rack: "tuple[tuple[str, str, Piece], ...]") -> None:
            self._placing.do(
                lambda progress, tell: pieces_that_serve(self._plan, rack, self._options, progress, tell),
                self._take,
                self._failed,
                better=self._show_so_far,
            )

        job = self._plan.job
        self.do(lambda book: _rack(book, job), take, failed=self._failed)

    def _take(self, served: tuple[Served, ...]) -> None:
        if self._open:
            if served != self.served:
                self._show_served(served)
            self.told.setText(summary_words(served, inches=self._inches))
            self.told.setVisible(bool(served))
            self.body.show_empty(not served)
            for widget in (self._lead, self.rack):
                widget.setVisible(bool(served))

    def _show_so_far(self, served: tuple[Served, ...]) -> None:
        if self._open:
            self._show_served(served)
            self.told.setText(
                filled("Trying the pieces… {served} so far.", served=count_text(len(served), "piece", "pieces"))
            )

    def _show_served(self, served: tuple[Served, ...]) -> None:
        """List the pieces; the one that the maker chose, else the best, is chosen."""
        row = self.list.currentRow()
        chosen = self.served[row].choice.piece_id if row > 0 else self._preferred
        self.served = served
        self.list.blockSignals(True)
        self.list.clear()
        for one in served:
            look = PieceLook(piece=one.piece, burned=one.burned)
            picture = piece_icon(look, self.font(), size=THUMB)
            item = QListWidgetItem(picture, f"{one.choice.name}\n{outcome_words(one, inches=self._inches)}")
            item.setSizeHint(QSize(0, THUMB.height() + 8))
            self.list.addItem(item)
        ids = [one.choice.piece_id for one in served]
        self.list.setCurrentRow(ids.index(chosen) if chosen in ids else min(0, len(ids) - 1))
        self.list.blockSignals(False)
        self._show_chosen()

    def _failed(self, error: TainError) -> None:
        if self._open:
            self.told.setText(str(error))

    def _tell_stopped(self) -> None:
        self.told.setText(
            filled("Stopped. {served} tried.", served=count_text(len(self.served), "piece was", "pieces were"))
        )

    # --- choosing ------------------------------------------------------------------------------------------------

    def _show_chosen(self) -> None:
        row = self.list.currentRow()
        one = self.served[row] if 0 <= row < len(self.served) else None
        self.chosen = one if one is not None and one.choice.placed is not None else None
        self.put.setEnabled(self.chosen is not None)
        lines = piece_lines(one, inches=self._inches) if one is not None else []
        self.about.setText("\n".join(lines))
        look = PieceLook(piece=one.piece, burned=one.burned) if one is not None else None
        self.picture.show_piece(look, " ".join(lines))

    def _to_rack(self) -> None:
        self.rack_wanted = True
        self.reject()


def _rack(book: "ShopBook", job: Job) -> "tuple[tuple[str, str, Piece], ...]":
    from core.shop_book.rack import rack_pieces
    from core.shop_book.reserving import names_of

    return rack_pieces(book, names=names_of(job))


def outcome_words(one: Served, *, inches: bool) -> str:
    """What the piece would be for the job, in short lines."""
    choice = one.choice
    if choice.placed is None:
        return f"Too small by {length_text(choice.lacks_mm, inches=inches, places=2)} all round"
    shown = choice.placed.shown_mm2
    flaw = f"Flaws show: {area_text(shown, inches=inches)}" if shown else "Fits, no flaw shows"
    return f"{flaw}\nCosts {choice.cost:.2f}, keeps {sheet_area_text(choice.kept_mm2, inches=inches)}"


def summary_words(served: tuple[Served, ...], *, inches: bool) -> str:
    """How many pieces serve; where none does, by how much the nearest is too small."""
    if not served:
        return ""
    fitting = sum(one.choice.placed is not None for one in served)
    if not fitting:
        best = served[0].choice
        lacks = length_text(best.lacks_mm, inches=inches, places=2)
        return f"Nothing fits: “{best.name}” is nearest and would have to be {lacks} larger all round."
    return f"{count_text(fitting, 'piece serves', 'pieces serve')}, of {len(served)} of this stock."


def piece_lines(one: Served, *, inches: bool) -> list[str]:
    """What there is to know of the piece."""
    piece, choice = one.piece, one.choice
    lines = [outcome_words(one, inches=inches).replace("\n", ". ") + "."]
    if choice.placed is not None:
        used = sheet_area_text(choice.used_mm2, inches=inches)
        lines.append(f"{used} used up. Turned by {choice.placed.rotation_deg:g} degrees.")
    if piece.flaws:
        lines.append(f"{count_text(len(piece.flaws), 'flaw', 'flaws')} noted.")
    known = [f"worth {piece.price:.2f}"] if piece.price else []
    known += [f"stands at {piece.where}"] if piece.where else []
    known += [f"film: front {piece.film_front}, back {piece.film_back}"]
    lines.append(", ".join(known).capitalize() + ".")
    return lines
