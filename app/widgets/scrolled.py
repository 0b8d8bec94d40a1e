"""A column of what belongs together that scrolls where it is longer than there is room."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.qt.captions import caption
from app.qt.guarded import Guarded

MARGIN_PX = 16


class _Column(Guarded, QWidget):
    """Asks for no more height than it needs at its width: a label's own least height is that of narrower lines."""

    def minimumSizeHint(self) -> QSize:
        """Qt: the least size."""
        least, layout = super().minimumSizeHint(), self.layout()
        return QSize(least.width(), 0) if layout is not None and layout.hasHeightForWidth() else least

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: it is shown. A size that came while it was told of another just before is told to nobody."""
        super().showEvent(event)
        if (layout := self.layout()) is not None:
            layout.setGeometry(self.contentsRect())


class Scrolled(Guarded, QScrollArea):
    """A column of cards as wide as there is room, ``body``, that scrolls upright only; ``margin_px`` lies round it."""

    def __init__(self, name: str, *, margin_px: int = MARGIN_PX) -> None:
        super().__init__()
        self._margin_px = margin_px
        self.setAccessibleName(caption(name))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.content = _Column()
        self.content.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)  # or a class of ours has none
        self.content.setProperty("role", "page")
        self.body = QVBoxLayout(self.content)
        self.body.setContentsMargins(margin_px, margin_px, margin_px, margin_px)
        self.body.setSpacing(12)
        self.setWidget(self.content)
        bar = self.verticalScrollBar()
        bar.rangeChanged.connect(lambda low, high: self._keep_right_edge(bar.sizeHint().width() if high > low else 0))

    @property
    def screens(self) -> float:
        """How long it is, in heights of what is seen of it at once."""
        return max(self.content.height(), 1) / max(self.viewport().height(), 1)

    def _keep_right_edge(self, bar_px: int) -> None:
        """Cards end where the button at the foot ends, with a scroll bar beside them or without."""
        around = self._margin_px
        self.body.setContentsMargins(around, around, max(4, around - bar_px), around)
