"""What can be seen, drawn from front and back, to search and to tick."""

from collections.abc import Iterable

from PySide6.QtCore import QByteArray, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from app.qt.captions import caption, filled, told
from app.widgets.fields import words
from app.widgets.plain_text import plain_tip
from core.trouble.drawings import HEIGHT, WIDTH, drawing_svg
from core.trouble.faults import FAULTS, Fault, faults_like

PICTURE_PX = QSize(2 * WIDTH + 6, HEIGHT)
_SCALE = 0.75
CODE_ROLE = Qt.ItemDataRole.UserRole


class FaultsList(QWidget):
    """changed: other faults are ticked."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(words("What is seen", role="heading"))
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName(caption("Search what can be seen"))
        self.wanted.setPlaceholderText(caption("Search: cracks, halo, blisters …"))
        self.wanted.textChanged.connect(self._search)
        layout.addWidget(self.wanted)
        self.faults = QListWidget()
        self.faults.setAccessibleName(caption("Faults, drawn from the front and from the back"))
        self.faults.setIconSize(PICTURE_PX * _SCALE)
        self.faults.setWordWrap(True)
        self.faults.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for fault in FAULTS:
            self.faults.addItem(_item(fault))
        self.faults.itemChanged.connect(lambda item: self.changed.emit())
        self.faults.currentItemChanged.connect(lambda now, before: self._describe())
        layout.addWidget(self.faults, 1)
        self._looks = words(role="quiet")
        layout.addWidget(self._looks)
        self.faults.setCurrentRow(0)

    @property
    def ticked(self) -> tuple[Fault, ...]:
        """The faults that are seen, in the list's order."""
        items = (self.faults.item(row) for row in range(self.faults.count()))
        codes = {item.data(CODE_ROLE) for item in items if item.checkState() == Qt.CheckState.Checked}
        return tuple(fault for fault in FAULTS if fault.code in codes)

    def tick(self, codes: Iterable[str]) -> None:
        """Tick just these."""
        wanted = set(codes)
        for row in range(self.faults.count()):
            item = self.faults.item(row)
            on = item.data(CODE_ROLE) in wanted
            item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    def _search(self, text: str) -> None:
        order = [fault.code for fault in faults_like(text)]
        shown = [row for row in range(self.faults.count()) if self.faults.item(row).data(CODE_ROLE) in order]
        for row in range(self.faults.count()):
            item = self.faults.item(row)
            item.setHidden(row not in shown and item.checkState() != Qt.CheckState.Checked)
        if order:
            best = next(row for row in shown if self.faults.item(row).data(CODE_ROLE) == order[0])
            self.faults.setCurrentRow(best)

    def _describe(self) -> None:
        item = self.faults.currentItem()
        fault = next((one for one in FAULTS if item is not None and one.code == item.data(CODE_ROLE)), None)
        self._looks.setText(
            filled("Front: {front}.\nBack: {back}.", front=fault.front, back=fault.back) if fault is not None else ""
        )


def _item(fault: Fault) -> QListWidgetItem:
    item = QListWidgetItem(QIcon(_picture(fault.code)), told(fault.name[:1].upper() + fault.name[1:]))
    item.setData(CODE_ROLE, fault.code)
    item.setToolTip(plain_tip(filled("Front: {front}. Back: {back}.", front=fault.front, back=fault.back)))
    item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
    item.setCheckState(Qt.CheckState.Unchecked)
    return item


def _picture(code: str) -> QPixmap:
    """Front and back side by side, at twice the size for sharp screens."""
    picture = QPixmap(PICTURE_PX * 2)
    picture.setDevicePixelRatio(2.0)
    picture.fill(Qt.GlobalColor.transparent)
    with QPainter(picture) as painter:
        for x, svg in ((0, drawing_svg(code, "front")), (WIDTH + 6, drawing_svg(code, "back"))):
            QSvgRenderer(QByteArray(svg.encode())).render(painter, QRectF(x, 0, WIDTH, HEIGHT))
    return picture
