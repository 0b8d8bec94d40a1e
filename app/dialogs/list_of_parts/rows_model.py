"""The rows of a list as a table: what each comes to, whether it is made, what is told of it. Any number of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.icons import icon
from app.widgets.plain_text import plain_tip
from core.findings import Severity
from core.order.order import Order
from core.order.parts import OrderedPart
from core.order.row_findings import RowFinding

_WEIGHTIEST: tuple[Severity, ...] = ("problem", "warning", "note")
_OFF = "row-off"
Index = QModelIndex | QPersistentModelIndex
_NO_PARENT = QModelIndex()


@dataclass(frozen=True, slots=True, kw_only=True)
class RowLine:
    """A row of the list (of the numbers that run: a part). at: place of its first part among all, None for none.

    said: what each field says; told: what was found; made: None where it can't be switched.
    """

    row: int
    at: int | None
    said: tuple[str, ...]
    told: tuple[RowFinding, ...]
    made: bool | None

    @property
    def severity(self) -> Severity | None:
        """The weightiest of what was found."""
        return min((one.severity for one in self.told), key=_WEIGHTIEST.index, default=None)

    @property
    def words(self) -> str:
        """All that was found; the row's number stands beside it."""
        return " ".join(one.message.removeprefix(f"Row {self.row}: ") for one in self.told)


def row_lines(order: Order, parts: Sequence[OrderedPart], findings: Sequence[RowFinding]) -> tuple[RowLine, ...]:
    """A line for each row of the list in its order, also for those that could not be read or that nothing is made of;
    without a list one for each part."""
    first: dict[int, int] = {}
    for place, part in enumerate(parts):
        first.setdefault(part.row or part.number, place)
    told: dict[int, list[RowFinding]] = {}
    for one in findings:
        if one.row is not None and one.code != _OFF:
            told.setdefault(one.row, []).append(one)
    own = {row.number: row for row in order.names.rows} if order.names is not None else {}
    off = set(order.rows_off)
    lines = []
    for number in sorted({*first, *told, *own}):
        at = first.get(number)
        said = tuple(value for _, value in parts[at].values) if at is not None else ()
        if at is None and order.names is not None and number in own:
            said = tuple(order.names.cell(own[number], one.column) for one in order.fields)
        lines.append(
            RowLine(
                row=number,
                at=at,
                said=said,
                told=tuple(told.get(number, ())),
                made=number not in off if number in own else None,
            )
        )
    return tuple(lines)


class RowsModel(Guarded, QAbstractTableModel):
    """``switched`` tells the number of a row that is to be made or not, and which."""

    switched = Signal(int, bool)

    def __init__(self) -> None:
        super().__init__()
        self.lines: tuple[RowLine, ...] = ()
        self._all: tuple[RowLine, ...] = ()
        self._fields: tuple[str, ...] = ()
        self._is_list = True
        self._only_told = False
        self._icons = {severity: icon(severity, severity) for severity in _WEIGHTIEST}

    def show(self, lines: Sequence[RowLine], fields: Sequence[str], *, is_list: bool) -> None:
        """Show these lines."""
        self._all, self._is_list = tuple(lines), is_list
        self._put(tuple(fields))

    def show_only_told(self, only: bool) -> None:
        """Show only lines of which something beyond a note is told, or all."""
        self._only_told = only
        self._put(self._fields)

    @property
    def told_count(self) -> int:
        """Of how many lines something beyond a note is told."""
        return sum(one.severity in ("problem", "warning") for one in self._all)

    def place_of(self, at: int) -> int | None:
        """The line of the part at that place among all; None where it is not shown."""
        found = [number for number, line in enumerate(self.lines) if line.at is not None and line.at <= at]
        return found[-1] if found else None

    def _put(self, fields: tuple[str, ...]) -> None:
        lines = tuple(one for one in self._all if not self._only_told or one.severity in ("problem", "warning"))
        if fields != self._fields or len(lines) != len(self.lines):
            self.beginResetModel()
            self.lines, self._fields = lines, fields
            self.endResetModel()
        elif lines:
            self.lines = lines
            self.dataChanged.emit(self.index(0, 0), self.index(len(lines) - 1, len(fields) + 1))

    # --- for Qt --------------------------------------------------------------------------------------------------

    def rowCount(self, parent: Index = _NO_PARENT) -> int:
        """Qt: how many rows."""
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index = _NO_PARENT) -> int:
        """Qt: row, a column for each field, what is told."""
        return 0 if parent.isValid() else len(self._fields) + 2

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Qt: names of the columns."""
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        last = caption("To look at")
        return (caption("Row" if self._is_list else "Part"), *self._fields, last)[section]

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Qt: the first column has a box to tick."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        if index.column() == 0 and self.lines[index.row()].made is not None:
            flags |= Qt.ItemFlag.ItemIsUserCheckable
        return flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Qt: what a cell shows."""
        line, column = self.lines[index.row()], index.column()
        last = len(self._fields) + 1
        if role == Qt.ItemDataRole.DisplayRole:
            return str(line.row) if column == 0 else line.words if column == last else self._said(line, column)
        if role == Qt.ItemDataRole.CheckStateRole and column == 0 and line.made is not None:
            return Qt.CheckState.Checked if line.made else Qt.CheckState.Unchecked
        if role == Qt.ItemDataRole.DecorationRole and column == last and line.severity is not None:
            return self._icons[line.severity]
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain_tip(line.words if column == last else self._said(line, column))
        if role == Qt.ItemDataRole.AccessibleTextRole and column == 0:
            made = {None: "", True: ", is made", False: ", is not made"}[line.made]
            return f"{'Row' if self._is_list else 'Part'} {line.row}{made}"
        return None

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Qt: a box was ticked."""
        if role != Qt.ItemDataRole.CheckStateRole:
            return False
        on = value in (Qt.CheckState.Checked, Qt.CheckState.Checked.value)
        self.switched.emit(self.lines[index.row()].row, on)
        return True

    def _said(self, line: RowLine, column: int) -> str:
        return line.said[column - 1] if 0 < column <= len(line.said) else ""
