"""A piece of sheet as the rack keeps it: name, stock, outline by numbers or from a drawing, film, price, flaws."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from app.canvas.flaw_marks import flaw_words
from app.canvas.piece_picture import PieceLook, PiecePicture
from app.dialogs.flaw_form import FlawForm, places_text
from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, small_button, words
from core.errors import TainError
from core.sheet.offcuts import FILMS, Piece, checked_piece, piece_region, rectangle
from core.sheet.piece_given import outline_in, points_mm
from core.sheet.placement import Flaw, Points
from core.sheet.stock import Stock

DRAWINGS = "Drawings (*.svg *.dxf);;All files (*)"
LARGEST_MM = 10_000.0
FLAWS_PX = 84


class PieceForm(Guarded, QDialog):
    """``name`` and ``piece`` are what the fields come to once they are taken; a new piece is of the ``usual`` stock."""

    def __init__(
        self,
        parent: QWidget | None,
        stocks: Sequence[Stock],
        *,
        name: str = "",
        piece: Piece | None = None,
        usual: str = "",
        inches: bool = False,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Piece of sheet"))
        self._stocks, self._inches = stocks, inches
        first = next((stock for stock in stocks if stock.name == usual), stocks[0])
        self.name = name
        self.piece = piece or Piece(
            stock=first.name, thickness_mm=first.thickness_mm, outline=rectangle(300.0, 200.0), full=True
        )
        self._outline, self._flaws = self.piece.outline, self.piece.flaws
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        left = QVBoxLayout()
        left.addWidget(self._what_card())
        left.addWidget(self._state_card())
        left.addStretch(1)
        columns.addLayout(left, 1)
        columns.addLayout(self._right_column(), 1)
        layout.addLayout(columns, 1)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        layout.addWidget(self.refusal)
        layout.addLayout(Foot(self, "&Keep it"))
        self.resize(900, 640)
        self._show(self.piece)
        self.label.setFocus()

    # --- parts ---------------------------------------------------------------------------------------------------

    def _what_card(self) -> Card:
        card = Card("What it is")
        self.label = QLineEdit()
        self.label.setMaxLength(60)
        card.row("&Name", self.label, help_text="What its label says, like R12")
        self.stock = ChoiceField("Stock of the piece", [(stock.name, stock.name) for stock in self._stocks])
        self.stock.chosen.connect(self._stock_chosen)
        card.row("&Stock", self.stock)
        self.width_field = LengthField("Width of the piece", low=1, high=LARGEST_MM)
        self.height_field = LengthField("Height of the piece", low=1, high=LARGEST_MM)
        self.thickness = LengthField("Thickness of the piece", low=0.05, high=100, step=0.1)
        for text, field in (("&Width", self.width_field), ("&Height", self.height_field)):
            card.row(text, field)
            field.entered.connect(lambda value: self._sized())
        card.row("&Thickness", self.thickness)
        for field in (self.width_field, self.height_field, self.thickness):
            field.show_inches(self._inches)
        self.corners = QLineEdit()
        unit = "in" if self._inches else "mm"
        self.corners.setPlaceholderText(filled("for a rectangle none; {unit}, like 0,0 120,0 90,80", unit=unit))
        self.corners.editingFinished.connect(self._corners_entered)
        card.row("&Corners", self.corners, help_text="In their order round the piece, seen from the front")
        self.from_drawing = small_button("Outline from a &drawing…", tip="The outermost closed line of an SVG or DXF")
        self.from_drawing.clicked.connect(self._read_outline)
        card.body.addWidget(self.from_drawing)
        return card

    def _state_card(self) -> Card:
        card = Card("How it stands")
        self.film_front = ChoiceField("Film on the front", [(film, film) for film in FILMS])
        self.film_back = ChoiceField("Film on the back", [(film, film) for film in FILMS])
        card.row("Film, &front", self.film_front)
        card.row("Film, &back", self.film_back)
        self.price = NumberField("What it is worth", low=0, high=1e6, step=1, places=2)
        card.row("Worth", self.price, help_text="In your own currency; offcuts get their share of it")
        self.where = QLineEdit()
        card.row("Stands &at", self.where, help_text="Shelf or slot")
        self.note = QLineEdit()
        card.row("N&ote", self.note)
        self.full = QCheckBox(caption("A f&ull sheet, as bought"))
        card.body.addWidget(self.full)
        return card

    def _right_column(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(8)
        self.picture = PiecePicture("The piece, front up")
        column.addWidget(self.picture, 1)
        column.addWidget(words("Flaws", role="heading"))
        self.flaws = QListWidget()
        self.flaws.setAccessibleName(caption("Flaws of the piece"))
        self.flaws.setFixedHeight(FLAWS_PX)
        self.flaws.itemActivated.connect(lambda item: self._edit_flaw())
        column.addWidget(self.flaws)
        line = QHBoxLayout()
        line.setSpacing(8)
        self.add_flaw = small_button("Note one…", "Note a flaw")
        self.edit_flaw = small_button("Edit…", "Edit this flaw")
        self.drop_flaw = small_button("Take off", "Take this flaw off")
        for button, do in (
            (self.add_flaw, self._add_flaw),
            (self.edit_flaw, self._edit_flaw),
            (self.drop_flaw, self._drop_flaw),
        ):
            button.clicked.connect(do)
            line.addWidget(button)
        column.addLayout(line)
        return column

    # --- showing -------------------------------------------------------------------------------------------------

    def _show(self, piece: Piece) -> None:
        self.label.setText(self.name)
        if piece.stock not in [stock.name for stock in self._stocks]:
            self.stock.offer([(piece.stock, piece.stock), *((stock.name, stock.name) for stock in self._stocks)])
        self.stock.show_value(piece.stock)
        self.thickness.show_value(piece.thickness_mm)
        self.film_front.show_value(piece.film_front)
        self.film_back.show_value(piece.film_back)
        self.price.show_value(piece.price)
        self.where.setText(piece.where)
        self.note.setText(piece.note)
        self.full.setChecked(piece.full)
        self._show_outline()
        self._show_flaws(0)

    def _show_outline(self) -> None:
        """Bring size, corners and picture in line with the outline."""
        outline = self._outline
        xs, ys = zip(*outline[0], strict=True)
        width_mm, height_mm = max(xs) - min(xs), max(ys) - min(ys)
        plain = outline == rectangle(width_mm, height_mm)
        self.width_field.show_value(width_mm)
        self.height_field.show_value(height_mm)
        for field in (self.width_field, self.height_field):
            field.setEnabled(plain)
        self.corners.setText("" if plain else places_text(outline[0], inches=self._inches))
        self._show_picture()

    def _show_picture(self) -> None:
        piece = Piece(
            stock=self.piece.stock, thickness_mm=self.thickness.value(), outline=self._outline, flaws=self._flaws
        )
        holes = len(self._outline) - 1
        self.picture.show_piece(
            PieceLook(piece=piece), f"{len(self._outline[0])} corners, {holes} holes, {len(self._flaws)} flaws"
        )

    def _show_flaws(self, row: int) -> None:
        self.flaws.clear()
        self.flaws.addItems([flaw_words(number, flaw) for number, flaw in enumerate(self._flaws)])
        self.flaws.setCurrentRow(min(row, len(self._flaws) - 1))
        for button in (self.edit_flaw, self.drop_flaw):
            button.setEnabled(bool(self._flaws))
        self._show_picture()

    def _refuse(self, text: str) -> None:
        self.refusal.setText(text)
        self.refusal.setVisible(bool(text))

    # --- changing ------------------------------------------------------------------------------------------------

    def _stock_chosen(self, name: object) -> None:
        stock = next((stock for stock in self._stocks if stock.name == name), None)
        if stock is not None:
            self.thickness.show_value(stock.thickness_mm)

    def _sized(self) -> None:
        self._outline = rectangle(self.width_field.value(), self.height_field.value())
        self._show_picture()

    def _corners_entered(self) -> None:
        text = self.corners.text().strip()
        if text == places_text(self._outline[0], inches=self._inches):
            return
        if not text:
            self._take_outline(rectangle(self.width_field.value(), self.height_field.value()))
            return
        try:
            corners = points_mm(text, default_unit="in" if self._inches else "mm")
            outline: tuple[Points, ...] = (corners, *self._outline[1:])  # its holes stay
            checked = checked_piece(Piece(stock="", thickness_mm=1.0, outline=outline))
        except TainError as error:
            self._refuse(str(error))
        else:
            self._take_outline(checked.outline)

    def _read_outline(self) -> None:
        path = messages.open_file(self, "Outline of the piece", folder="", filters=DRAWINGS)
        if path is not None:
            self.read_outline(path)

    def read_outline(self, path: Path) -> None:
        """Take the outline that a drawing holds."""
        try:
            piece = checked_piece(Piece(stock="", thickness_mm=1.0, outline=outline_in(path)))
        except TainError as error:
            self._refuse(str(error))
        else:
            self._take_outline(piece.outline)
            self.full.setChecked(False)

    def _take_outline(self, outline: tuple[Points, ...]) -> None:
        self._outline = outline
        self._refuse("")
        self._show_outline()

    def _add_flaw(self) -> None:
        flaw = self._asked(None)
        if flaw is not None:
            self._flaws = (*self._flaws, flaw)
            self._show_flaws(len(self._flaws) - 1)

    def _edit_flaw(self) -> None:
        row = self.flaws.currentRow()
        flaw = self._asked(self._flaws[row])
        if flaw is not None:
            self._flaws = (*self._flaws[:row], flaw, *self._flaws[row + 1 :])
            self._show_flaws(row)

    def _drop_flaw(self) -> None:
        row = self.flaws.currentRow()
        self._flaws = self._flaws[:row] + self._flaws[row + 1 :]
        self._show_flaws(row)

    def _asked(self, flaw: Flaw | None) -> Flaw | None:
        dialog = FlawForm(self, flaw, turn="sideways", inches=self._inches)
        taken = messages.run(dialog)
        result = dialog.flaw if taken else None
        dialog.deleteLater()
        return result

    def accept(self) -> None:
        """Qt: it is to be kept, if it makes sense."""
        name = self.label.text().strip()
        if not name:
            self._refuse("Give it a name: what its label says.")
            return
        if self.refusal.isVisibleTo(self) and self.corners.hasFocus():
            return
        try:
            self.piece = checked_piece(self._value())
            piece_region(self.piece)
        except TainError as error:
            self._refuse(str(error))
        else:
            self.name = name
            super().accept()

    def _value(self) -> Piece:
        return replace(
            self.piece,
            stock=self.stock.currentText(),
            thickness_mm=self.thickness.value(),
            outline=self._outline,
            film_front=FILMS[max(0, self.film_front.currentIndex())],
            film_back=FILMS[max(0, self.film_back.currentIndex())],
            price=self.price.value(),
            where=self.where.text().strip(),
            flaws=self._flaws,
            full=self.full.isChecked(),
            note=self.note.text().strip(),
        )
