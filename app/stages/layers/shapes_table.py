"""The list of shapes: name, layer, and why it is there. Its selection is the session's."""

from collections.abc import Iterable

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from app.qt.captions import caption, told
from app.qt.guarded import Guarded
from app.session.session import Session
from app.widgets.plain_text import plain_tip
from core.artwork.drawing import Shape
from core.job.plan import Plan
from core.purposes import LEAVE_OUT, UNDECIDED

COLUMNS = ("Shape", "Layer", "Why")

Index = QModelIndex | QPersistentModelIndex
_NO_PARENT = QModelIndex()


class ShapesModel(Guarded, QAbstractTableModel):
    """One row a shape of the plan's drawing, in its order."""

    def __init__(self) -> None:
        super().__init__()
        self._plan: Plan | None = None
        self._row_of: dict[str, int] = {}
        self._layer_names: dict[str, str] = {}
        self._by_hand: frozenset[str] = frozenset()

    def show(self, plan: Plan | None) -> bool:
        """Show the plan's shapes; tells whether they are other shapes than before."""
        before = self._plan
        same_rows = before is not None and plan is not None and before.drawing is plan.drawing
        if not same_rows:
            self.beginResetModel()
        self._plan = plan
        if plan is not None:
            self._layer_names = {layer.id: layer.name for layer in plan.job.layers}
            self._layer_names |= {LEAVE_OUT: "Left out", UNDECIDED: "Undecided"}
            self._by_hand = frozenset(shape for shape, _ in plan.job.overrides)
        if not same_rows:
            shapes = plan.drawing.shapes if plan is not None else ()
            self._row_of = {shape.id: row for row, shape in enumerate(shapes)}
            self.endResetModel()
        elif self.rowCount():
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, len(COLUMNS) - 1))
        return not same_rows

    def rows_of(self, shape_ids: Iterable[str]) -> list[int]:
        """Rows of these shapes, rising."""
        return sorted(self._row_of[shape] for shape in shape_ids if shape in self._row_of)

    def shape_at(self, row: int) -> Shape:
        """The shape of a row."""
        assert self._plan is not None
        return self._plan.drawing.shapes[row]

    def rowCount(self, parent: Index = _NO_PARENT) -> int:
        """Qt: how many rows."""
        return 0 if parent.isValid() or self._plan is None else len(self._plan.drawing.shapes)

    def columnCount(self, parent: Index = _NO_PARENT) -> int:
        """Qt: how many columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Qt: a column's heading."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return caption(COLUMNS[section])
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Qt: what a cell shows."""
        if role == Qt.ItemDataRole.ToolTipRole:
            shown = self.data(index)
            return plain_tip(shown) if isinstance(shown, str) else shown
        if self._plan is None or role != Qt.ItemDataRole.DisplayRole:
            return None
        shape = self._plan.drawing.shapes[index.row()]
        if index.column() == 0:
            return shape_name(shape)
        if index.column() == 1:
            layer = self._plan.layer_of[shape.id]
            return told(self._layer_names.get(layer, layer))
        if shape.id in self._by_hand:
            return caption("your choice")
        return told(self._plan.sorted[index.row()].why)


class ShapesTable(QTableView):
    """The shapes of the job; what is selected here is selected on both faces, and the other way round."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setAccessibleName(caption("Shapes"))
        self._session = session
        self._model = ShapesModel()
        self._syncing = False
        self.setModel(self._model)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(24)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        header.resizeSection(0, 104)
        header.resizeSection(1, 72)
        self.selectionModel().selectionChanged.connect(self._send_selection)
        session.selection_changed.connect(self.take_selection)

    def show_plan(self, plan: Plan | None) -> None:
        """List the plan's shapes."""
        self._syncing = True
        other_shapes = self._model.show(plan)
        self._syncing = False
        if other_shapes:
            self.take_selection()

    def take_selection(self) -> None:
        """Select what the session has selected, and bring the first of it into view."""
        if self._syncing:
            return
        rows = self._model.rows_of(self._session.selection)
        selection = QItemSelection()
        for first, last in _runs(rows):
            selection.select(self._model.index(first, 0), self._model.index(last, len(COLUMNS) - 1))
        self._syncing = True
        self.selectionModel().select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self._syncing = False
        if rows:
            self.scrollTo(self._model.index(rows[0], 0))

    def _send_selection(self) -> None:
        if self._syncing:
            return
        self._syncing = True
        chosen = [
            self._model.shape_at(row).id
            for span in self.selectionModel().selection().toList()
            for row in range(span.top(), span.bottom() + 1)
        ]
        self._session.select(chosen)
        self._syncing = False


def shape_name(shape: Shape) -> str:
    """What to call a shape: its label in the artwork, else its kind and id."""
    return shape.label or f"{shape.kind} {shape.id}"


def _runs(rows: list[int]) -> list[tuple[int, int]]:
    """Rising rows as (first, last) of each unbroken run."""
    runs: list[tuple[int, int]] = []
    for row in rows:
        if runs and row == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], row)
        else:
            runs.append((row, row))
    return runs
