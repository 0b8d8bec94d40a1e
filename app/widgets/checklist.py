"""Steps to tick off, with what is due shown above them and kept up to date every second."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Signal
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.qt.captions import caption, told
from app.widgets.fields import words

KEY_ROLE = Qt.ItemDataRole.UserRole
LOOK_EVERY_MS = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One step. key: what tells it from others."""

    key: str
    text: str
    done: bool


class Checklist(QWidget):
    """ticked: (key, whether it is done now). told_due: gives the words above the list, asked every second."""

    ticked = Signal(str, bool)

    def __init__(self, name: str, told_due: Callable[[], str]) -> None:
        super().__init__()
        self._told_due = told_due
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        self.due = words()
        layout.addWidget(self.due)
        self.rows = QListWidget()
        self.rows.setAccessibleName(caption(name))
        self.rows.setWordWrap(True)
        self.rows.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.rows.itemChanged.connect(self._changed)
        layout.addWidget(self.rows, 1)
        self._clock = QTimer(self)
        self._clock.timeout.connect(self.show_due)
        self._clock.start(LOOK_EVERY_MS)

    def show_rows(self, rows: Sequence[CheckRow]) -> None:
        """List these; the row that was current stays so."""
        current = self.rows.currentRow()
        with QSignalBlocker(self.rows):
            self.rows.clear()
            for row in rows:
                item = QListWidgetItem(told(row.text))
                item.setData(KEY_ROLE, row.key)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                item.setCheckState(Qt.CheckState.Checked if row.done else Qt.CheckState.Unchecked)
                self.rows.addItem(item)
            self.rows.setCurrentRow(current)
        self.show_due()

    def show_due(self) -> None:
        """Say what is due now."""
        self.due.setText(self._told_due())

    def _changed(self, item: QListWidgetItem) -> None:
        self.ticked.emit(str(item.data(KEY_ROLE)), item.checkState() == Qt.CheckState.Checked)


def until(minutes: float) -> str:
    """``"due in 8 min 12 s"``, ``"due since 3 min 5 s"``."""
    seconds = round(abs(minutes) * 60)
    clock = f"{seconds // 60} min {seconds % 60} s" if seconds >= 60 else f"{seconds} s"
    return f"due in {clock}" if minutes >= 0 else f"due since {clock}"
