"""The middle of the window: the strip of tools, both faces, the list of findings, and what floats over them.

Messages, the loupe's line and the invitation lie over the faces, so that coming and going they move nothing.
"""

from PySide6.QtCore import QEvent, QObject, QRect, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from app.qt.guarded import Guarded
from app.window.faces_bar import FacesBar

MARGIN_PX = 8
MOST_WIDE_PX = 760
OF_FACES = (QEvent.Type.Resize, QEvent.Type.Move)
OF_FLOATING = (QEvent.Type.Show, QEvent.Type.LayoutRequest)


class Middle(Guarded, QWidget):
    """``faces`` above ``findings``. float_over: a widget at the head or the foot of the faces, or over all of them."""

    def __init__(self, bar: FacesBar, faces: QWidget, findings: QWidget) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(bar)
        self._faces = faces
        self._floating: list[tuple[QWidget, str]] = []
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.addWidget(faces)
        self.splitter.addWidget(findings)
        self.splitter.setStretchFactor(0, 1)
        self.splitter.setSizes([600, 140])
        findings.setMinimumHeight(80)
        column.addWidget(self.splitter, 1)
        faces.installEventFilter(self)

    def float_over(self, widget: QWidget, where: str) -> None:
        """Have a widget lie over the faces: "head", "foot" or "all". It is shown and hidden by its owner."""
        hidden = widget.isHidden()
        widget.setParent(self)
        widget.setVisible(not hidden)
        widget.installEventFilter(self)
        self._floating.append((widget, where))
        self._place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: what floats follows the faces' size and its own wishes."""
        told = OF_FACES if watched is self._faces else OF_FLOATING
        if event.type() in told:
            self._place()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        super().resizeEvent(event)
        self._place()

    def _place(self) -> None:
        over = QRect(self._faces.mapTo(self, self._faces.rect().topLeft()), self._faces.size())
        for widget, where in self._floating:
            if where == "all":
                box = over
            else:
                width = min(over.width() - 2 * MARGIN_PX, MOST_WIDE_PX)
                height = widget.heightForWidth(width) if widget.hasHeightForWidth() else widget.sizeHint().height()
                height = max(height, widget.minimumSizeHint().height())
                box = QRect(0, 0, width, height)
                box.moveCenter(over.center())
                if where == "head":
                    box.moveTop(over.top() + MARGIN_PX)
                else:
                    box.moveBottom(over.bottom() - MARGIN_PX)
            if widget.geometry() != box:
                widget.setGeometry(box)
            widget.raise_()
