"""A look at each part, row by row: how it will be, what is told of its row, and whether it is made."""

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from app.canvas.piece_picture import PieceLook, PiecePicture
from app.dialogs.list_of_parts.rows_model import RowLine
from app.qt.captions import caption, filled
from app.widgets.fields import small_button, words
from app.words.wording import size_text
from core.geometry.affine import apply_to_region, translation
from core.order.part_regions import part_regions
from core.order.row_findings import RowFinding
from core.order.working_out import FilledOrder
from core.sheet.offcuts import Piece, outline_of, to_origin

_MOST_TOLD = 4


class RowPreview(QWidget):
    """``switched`` tells the number of a row that is to be made or not, and which; ``moved`` the place of a part."""

    switched = Signal(int, bool)
    moved = Signal(int)

    def __init__(self, *, inches: bool) -> None:
        super().__init__()
        self._inches = inches
        self._filled: FilledOrder | None = None
        self._findings: tuple[RowFinding, ...] = ()
        self._without: RowLine | None = None
        self.at = 0
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        self.picture = PiecePicture("The part of this row, from the front", least=QSize(360, 180))
        column.addWidget(self.picture, 1)
        line = QHBoxLayout()
        line.setSpacing(8)
        self.back = small_button("&Back", "The part before")
        self.on = small_button("O&n", "The next part")
        self.back.clicked.connect(lambda: self._step(-1))
        self.on.clicked.connect(lambda: self._step(1))
        self.where = words()
        self.made = QCheckBox(caption("&Make this row"))
        self.made.toggled.connect(self._toggled)
        for widget in (self.back, self.on, self.made):
            line.addWidget(widget)
        line.addWidget(self.where, 1)
        column.addLayout(line)
        self.told = words(role="quiet")
        column.addWidget(self.told)

    def show_parts(self, filled: FilledOrder | None, findings: tuple[RowFinding, ...]) -> None:
        """Show these parts, the present place kept."""
        self._filled, self._findings = filled, findings
        self.go(self.at)

    def go(self, at: int) -> None:
        """Show the part at that place of the list, from 0."""
        self._without = None
        count = self._count()
        self.at = max(0, min(at, count - 1))
        self._show_steps()
        if self._filled is None or not count:
            self._show_nothing("", "")
            return
        part = self._filled.parts[self.at]
        width_mm, height_mm = self._filled.size_mm(part.number)
        row = f", row {part.row}" if part.row else ""
        size = size_text(width_mm, height_mm, inches=self._inches)
        self.where.setText(
            filled(
                "{number} of {count}{row}: {words}. {size}",
                number=part.number,
                count=count,
                row=row,
                words=part.words,
                size=size,
            )
        )
        told = [one.message for one in self._findings if one.row == (part.row or None) and part.row]
        self.told.setText(" ".join(told[:_MOST_TOLD]))
        self._show_made(True, can_be=part.row > 0)
        self.picture.show_piece(self._look(part.number), part.words)
        self.moved.emit(self.at)

    def go_to(self, line: RowLine) -> None:
        """Show the first part of that line, or why there is none."""
        if line.at is not None:
            self.go(line.at)
            return
        self._without = line
        self._show_steps()
        off = line.made is False
        self._show_nothing(f"Row {line.row} {'is switched off' if off else 'is not made'}.", line.words)
        self._show_made(not off, can_be=off)

    def _step(self, by: int) -> None:
        self.go(self.at + (by if self._without is None else 0))

    def _count(self) -> int:
        return len(self._filled.parts) if self._filled is not None else 0

    def _show_steps(self) -> None:
        count = self._count()
        self.back.setEnabled(count > 0 and (self.at > 0 or self._without is not None))
        self.on.setEnabled(count > 0 and (self.at < count - 1 or self._without is not None))

    def _show_nothing(self, where: str, told: str) -> None:
        self.picture.show_piece(None)
        self.where.setText(where)
        self.told.setText(told)
        self._show_made(False, can_be=False)

    def _show_made(self, made: bool, *, can_be: bool) -> None:
        self.made.blockSignals(True)
        self.made.setChecked(made)
        self.made.blockSignals(False)
        self.made.setEnabled(can_be)

    def _look(self, number: int) -> PieceLook | None:
        assert self._filled is not None
        design = self._filled.order.design
        finished, cleared = part_regions(design, self._filled.filled[number])
        largest = max(getattr(finished, "geoms", [finished]), key=lambda one: one.area)
        region, dx, dy = to_origin(largest)
        if region.is_empty:
            return None
        piece = Piece(stock=design.stock.name, thickness_mm=design.sheet.thickness_mm, outline=outline_of(region))
        return PieceLook(piece=piece, burned=apply_to_region(translation(dx, dy), cleared))

    def _toggled(self, on: bool) -> None:
        if self._without is not None:
            self.switched.emit(self._without.row, on)
        elif self._filled is not None and self._filled.parts and (row := self._filled.parts[self.at].row):
            self.switched.emit(row, on)
