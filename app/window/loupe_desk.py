"""When the loupe lies over the faces: as the maker has it, and at the worst place while Coverage is looked at."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction

from app.session.session import Session
from app.stages.stage import Stage
from app.window.loupe_bar import LoupeBar
from core.artwork.arrived import ArtworkSource

if TYPE_CHECKING:
    from app.canvas.loupe import Loupe


class LoupeDesk(QObject):
    """Shows loupe and bar together. One that came up by itself goes with its stage and comes again with it.

    One that the maker put away at Coverage stays away until there is other artwork.
    """

    def __init__(self, loupe: "Loupe", bar: LoupeBar, action: QAction, session: Session) -> None:
        super().__init__(bar)
        self._loupe, self._bar, self._action, self._session = loupe, bar, action, session
        self._by_itself = False
        self._stage = Stage.ARTWORK
        self._put_away_for: ArtworkSource | None = None
        bar.put_away.connect(self.toggle)

    def toggle(self) -> None:
        """The maker wants it, or wants it no more."""
        if self._loupe.on and self._stage is Stage.COVERAGE:
            self._put_away_for = self._session.job.source
        self._by_itself = False
        self._show_on(not self._loupe.on)

    def show_stage(self, stage: Stage) -> None:
        """Another stage is looked at."""
        self._stage = stage
        if stage is not Stage.COVERAGE and self._by_itself:
            self._by_itself = False
            self._show_on(False)

    def lay(self, x_mm: float, y_mm: float) -> None:
        """Coverage wants it at a place of the front, mm."""
        source = self._session.job.source
        if self._stage is not Stage.COVERAGE or (source is not None and self._put_away_for is source):
            return
        if not self._loupe.on:
            self._by_itself = True
            self._show_on(True)
        self._loupe.lay_on(x_mm, y_mm)

    def _show_on(self, on: bool) -> None:
        self._loupe.show_on(on)
        self._bar.setVisible(on)
        self._action.setChecked(on)
