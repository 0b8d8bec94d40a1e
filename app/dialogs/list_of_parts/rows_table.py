"""The table of the list's rows, its filter, and what is told of the list as a whole."""

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QCheckBox, QHeaderView, QTableView, QVBoxLayout, QWidget

from app.dialogs.list_of_parts.rows_model import RowLine, RowsModel, row_lines
from app.qt.captions import caption, filled
from app.widgets.fields import words
from app.words.wording import count_text
from core.order.order import Order
from core.order.row_findings import RowFinding
from core.order.working_out import FilledOrder

_MOST_TOLD = 3
_ROW_PX = 76


class RowsTable(QWidget):
    """``chosen`` tells the line that is looked at; ``switched`` the number of a row that is to be made or not."""

    chosen = Signal(object)
    switched = Signal(int, bool)

    def __init__(self) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(8)
        self.told = words(role="quiet")
        column.addWidget(self.told)
        self.model = RowsModel()
        self.model.switched.connect(self.switched)
        self.view = QTableView()
        self.view.setAccessibleName(caption("The rows of the list"))
        self.view.setModel(self.model)
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setShowGrid(False)
        self.view.setTabKeyNavigation(False)
        self.view.setWordWrap(False)
        self.view.verticalHeader().hide()
        header = self.view.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.view.selectionModel().currentRowChanged.connect(self._row_chosen)
        self.model.modelReset.connect(self._size_columns)
        column.addWidget(self.view, 1)
        self.only_told = QCheckBox()
        self.only_told.toggled.connect(self.model.show_only_told)
        column.addWidget(self.only_told)
        self._show_count()

    def show_order(self, order: Order, filled: FilledOrder | None, findings: tuple[RowFinding, ...]) -> None:
        """Show what the order's list comes to; the row that is looked at stays."""
        parts = filled.parts if filled is not None else ()
        lines = row_lines(order, parts, findings)
        self.model.show(lines, [one.name for one in order.fields], is_list=order.names is not None)
        of_all = [one.message for one in findings if one.row is None]
        more = f" And {len(of_all) - _MOST_TOLD} more." if len(of_all) > _MOST_TOLD else ""
        self.told.setText(" ".join(of_all[:_MOST_TOLD]) + more)
        self.told.setVisible(bool(of_all))
        self._show_count()

    def line(self) -> RowLine | None:
        """The line that is looked at."""
        at = self.view.currentIndex().row()
        return self.model.lines[at] if 0 <= at < len(self.model.lines) else None

    def go_to_part(self, at: int) -> None:
        """Look at the line of the part at that place among all."""
        place = self.model.place_of(at)
        if place is not None and place != self.view.currentIndex().row():
            self.view.selectionModel().blockSignals(True)
            self.view.selectRow(place)
            self.view.selectionModel().blockSignals(False)
            self.view.scrollTo(self.model.index(place, 0))
            self.view.viewport().update()

    def _show_count(self) -> None:
        count = self.model.told_count
        self.only_told.setText(filled("Only those to loo&k at ({count})", count=count_text(count, "row", "rows")))
        self.only_told.setEnabled(bool(count) or self.only_told.isChecked())

    def _row_chosen(self, current: QModelIndex, before: QModelIndex) -> None:
        if 0 <= current.row() < len(self.model.lines):
            self.chosen.emit(self.model.lines[current.row()])

    def _size_columns(self) -> None:
        header = self.view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(0, _ROW_PX)
