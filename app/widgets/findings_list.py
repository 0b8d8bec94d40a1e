"""The list of findings: a sign and a word for how much it matters, and one sentence. Choosing one zooms to it."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.qt.captions import caption, told
from app.qt.guarded import Guarded
from app.theme.icons import icon
from app.widgets.plain_text import plain_tip
from app.words.wording import in_shown_units, unbroken
from core.findings import Finding, Severity

SEVERITY_WORDS: dict[Severity, str] = {"problem": "In the way", "warning": "Look at this", "note": "Note"}
_ORDER: tuple[Severity, ...] = ("problem", "warning", "note")
ICON_ROOM_PX, TEXT_ROOM_PX = 48, 24
USUAL_PX, MOST_MEASURED = 800, 40
FINDING_ROLE = Qt.ItemDataRole.UserRole

Index = QModelIndex | QPersistentModelIndex
_NO_PARENT = QModelIndex()


class FindingsModel(Guarded, QAbstractListModel):
    """Findings, the weightiest first."""

    def __init__(self) -> None:
        super().__init__()
        self.findings: tuple[Finding, ...] = ()
        self._inches = False
        self._icons = {severity: icon(severity, severity) for severity in _ORDER}

    def show(self, findings: Sequence[Finding], *, inches: bool) -> None:
        """Show these findings."""
        ordered = tuple(sorted(findings, key=lambda finding: _ORDER.index(finding.severity)))
        if ordered != self.findings or inches != self._inches:
            self.beginResetModel()
            self.findings, self._inches = ordered, inches
            self.endResetModel()

    def rowCount(self, parent: Index = _NO_PARENT) -> int:
        """Qt: how many rows."""
        return 0 if parent.isValid() else len(self.findings)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Qt: what a row shows."""
        finding = self.findings[index.row()]
        message = unbroken(in_shown_units(told(finding.message), inches=self._inches))
        if role == Qt.ItemDataRole.DisplayRole:
            return message
        if role == Qt.ItemDataRole.DecorationRole:
            return self._icons[finding.severity]
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            can_mend = f" {caption('It can be mended.')}" if finding.repair else ""
            whole = f"{caption(SEVERITY_WORDS[finding.severity])}: {message}{can_mend}"
            return plain_tip(whole) if role == Qt.ItemDataRole.ToolTipRole else whole
        if role == FINDING_ROLE:
            return finding
        return None


class WrappedRows(Guarded, QStyledItemDelegate):
    """Rows as high as their sentence needs at the list's width."""

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        """Qt: how a row is drawn."""
        super().initStyleOption(option, index)
        option.features |= QStyleOptionViewItem.ViewItemFeature.WrapText
        option.textElideMode = Qt.TextElideMode.ElideNone

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Qt: how much room a row needs."""
        view = option.widget
        assert isinstance(view, QListView)
        room_px = ICON_ROOM_PX if index.data(Qt.ItemDataRole.DecorationRole) is not None else TEXT_ROOM_PX
        width = max(80, view.viewport().width() - room_px)
        text = index.data(Qt.ItemDataRole.DisplayRole)
        box = QFontMetrics(view.font()).boundingRect(0, 0, width, 10_000, Qt.TextFlag.TextWordWrap, text)
        return QSize(width, box.height() + 12)


class FindingsList(Guarded, QListView):
    """A list of findings; ``picked`` tells the one that was clicked, entered or moved to.

    With ``most_px`` it is as high as it needs to be, up to that in a window of USUAL_PX and to more in a higher one;
    without, its layout says.
    """

    picked = Signal(object)

    def __init__(self, name: str, *, most_px: int | None = None) -> None:
        super().__init__()
        self._most_px, self._entered = most_px, False
        self.setAccessibleName(caption(name))
        self._model = FindingsModel()
        self.setModel(self._model)
        self.setItemDelegate(WrappedRows(self))
        self.setWordWrap(True)
        self.setUniformItemSizes(False)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setLayoutMode(QListView.LayoutMode.Batched)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.clicked.connect(lambda index: self._pick(index))
        self.activated.connect(lambda index: self._pick(index))

    def show_findings(self, findings: Sequence[Finding], *, inches: bool) -> None:
        """Show these findings, the weightiest first."""
        self._model.show(findings, inches=inches)
        self.fit_height()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another width, so other line breaks."""
        super().resizeEvent(event)
        self.fit_height()

    def fit_height(self) -> None:
        """As high as the findings need, within reason."""
        if self._most_px is None:
            return
        rows = min(self._model.rowCount(), MOST_MEASURED)
        needed = sum(self.sizeHintForRow(row) for row in range(rows)) + 2 * self.frameWidth() + 4
        self.setFixedHeight(max(48, min(needed, most_high_px(self, self._most_px))))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is listed, in the list's order."""
        return self._model.findings

    @property
    def chosen(self) -> Finding | None:
        """The finding that is selected."""
        index = self.currentIndex()
        return index.data(FINDING_ROLE) if index.isValid() else None

    def pick(self, row: int) -> None:
        """Choose a row as a click does."""
        index = self._model.index(row)
        self.setCurrentIndex(index)
        self._pick(index)

    def currentChanged(self, current: Index, previous: Index) -> None:
        """Qt: the arrow keys moved; zooming follows them."""
        super().currentChanged(current, previous)
        if self.hasFocus() and current.isValid() and not self._entered:
            self._pick(current)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Qt: the keys come here. Qt takes the first row then; that zooms nowhere before a key is pressed."""
        self._entered = True
        super().focusInEvent(event)
        self._entered = False

    def _pick(self, index: Index) -> None:
        finding = index.data(FINDING_ROLE)
        if finding is not None:
            self.picked.emit(finding)


def most_high_px(widget: QWidget, usual_px: int) -> int:
    """How high a list may be that is at most ``usual_px`` in a window of the usual height."""
    return round(usual_px * max(1.0, widget.window().height() / USUAL_PX))
