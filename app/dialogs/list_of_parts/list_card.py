"""Where the list comes from: a file, pasted cells, the same file again; how it was read is shown."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication

from app.qt.captions import caption, filled
from app.widgets import messages
from app.widgets.fields import Card, small_button, words
from app.words.wording import count_text
from core.order.list_reading import load_list, pasted_list
from core.order.lists import NameList
from core.order.order import Order

LIST_FILTERS = "Lists (*.csv *.tsv *.txt *.xlsx *.xlsm);;All files (*)"
Read = Callable[[tuple[str, ...]], NameList]


class ListCard(Card):
    """``wanted`` tells a list that is to be read, a function of the fields' names; ``all_on`` that no row stays off."""

    wanted = Signal(object)
    all_on = Signal()

    def __init__(self, folder: str) -> None:
        super().__init__(caption("List"))
        self._folder = folder
        self._names: NameList | None = None
        self.read = small_button("&Read a list…", tip="CSV, TSV or XLSX")
        self.read.clicked.connect(self.ask_list)
        self.paste = small_button("&Paste cells", tip="Cells that were copied elsewhere")
        self.paste.clicked.connect(self.paste_cells)
        self.again = small_button("Read it &again", tip="The same file, as it is now")
        self.again.clicked.connect(self.read_again)
        self.line(self.read, self.paste, self.again)
        self.form = words(role="quiet")
        self.body.addWidget(self.form)
        self.rows_off = small_button("Switch all rows &on")
        self.rows_off.clicked.connect(self.all_on)
        self.body.addWidget(self.rows_off)

    def show_order(self, order: Order) -> None:
        """Show how its list was read."""
        names = self._names = order.names
        self.form.setText(
            f"{names.name}: {names.form.words}; {count_text(len(names.rows), 'row', 'rows')}."
            if names is not None
            else caption("No list yet.")
        )
        off = len(order.rows_off)
        self.rows_off.setVisible(bool(off))
        self.rows_off.setText(filled("Switch {off} &on again", off=count_text(off, "row", "rows")))

    def show_busy(self, busy: bool, *, can_read: bool) -> None:
        """Let lists be read, or not."""
        self.read.setEnabled(can_read)
        self.paste.setEnabled(can_read)
        self.again.setEnabled(can_read and not busy and self._names is not None and bool(self._names.path))

    def ask_list(self) -> None:
        """Ask for a list and read it."""
        path = messages.open_file(self.window(), "Read a list", folder=self._folder, filters=LIST_FILTERS)
        if path is not None:
            self.wanted.emit(lambda wanted: load_list(path, wanted=wanted))

    def paste_cells(self) -> None:
        """Take the cells on the clipboard as the list."""
        text = QGuiApplication.clipboard().text()
        self.wanted.emit(lambda wanted: pasted_list(text, wanted=wanted))

    def read_again(self) -> None:
        """Read the list's file as it is now."""
        names = self._names
        if names is not None and names.path:
            path, header, sheet = Path(names.path), names.form.has_header, names.form.sheet or None
            self.wanted.emit(lambda wanted: load_list(path, wanted=wanted, has_header=header, sheet=sheet))
