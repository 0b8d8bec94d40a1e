"""A table to read: a row of headings, then rows of words."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.qt.captions import caption, told
from app.widgets.plain_text import plain_tip


class PlainTable(QTableWidget):
    """Rows of words that nobody edits; the last column takes the room that is left."""

    def __init__(self, name: str, headings: Sequence[str]) -> None:
        super().__init__(0, len(headings))
        self.setAccessibleName(caption(name))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        self.setHorizontalHeaderLabels([caption(one) for one in headings])

    def show_rows(self, rows: Sequence[Sequence[str]], *, marked: Sequence[int] = ()) -> None:
        """Show these rows; the marked ones in bold."""
        self.setRowCount(len(rows))
        for at, row in enumerate(rows):
            for column, text in enumerate(row):
                text = told(text)
                item = QTableWidgetItem(text)
                item.setToolTip(plain_tip(text))
                font = item.font()
                font.setBold(at in marked)
                item.setFont(font)
                self.setItem(at, column, item)
        self.resizeRowsToContents()

    def texts(self) -> list[list[str]]:
        """What is shown, row by row."""
        cells = [[self.item(row, at) for at in range(self.columnCount())] for row in range(self.rowCount())]
        return [[cell.text() if cell is not None else "" for cell in row] for row in cells]
