"""How far a search for places is, and the button that gives it up; seen while it is under way."""

from collections.abc import Callable

from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.session.placing import Placing
from app.widgets.fields import small_button
from app.widgets.progress_bar import ProgressBar

BAR_PX = 160


class SearchBar(QWidget):
    """``given_up`` is told when the maker stopped the search."""

    def __init__(self, placing: Placing, name: str, *, stop: str, given_up: Callable[[], None] = lambda: None) -> None:
        super().__init__()
        self._placing, self._given_up = placing, given_up
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(8)
        self.bar = ProgressBar()
        self.bar.setAccessibleName(caption(name))
        self.bar.setMinimumWidth(BAR_PX)
        self.stop = small_button(stop, filled("Stop: {name}", name=name))
        self.stop.clicked.connect(self._give_up)
        line.addWidget(self.bar, 1)
        line.addWidget(self.stop)
        placing.busy_changed.connect(self._show_busy)
        placing.progressed.connect(self._show_progress)
        self._show_busy()

    def _show_busy(self) -> None:
        self.bar.show_share(0.0)
        self.setVisible(self._placing.busy)

    def _show_progress(self, share: float, doing: str) -> None:
        self.bar.show_share(share)

    def _give_up(self) -> None:
        self._placing.stop()
        self._given_up()
