"""Places and pieces looked for off the GUI thread: the best place on a sheet, the pieces of the rack that serve."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, Question
from core.errors import TainError
from core.progress import Progress

if TYPE_CHECKING:
    pass

Tell = Callable[[Any], None]


class Placing(QObject):
    """One search at a time. busy_changed: a search began or ended. progressed: share done and what is being done."""

    busy_changed = Signal()
    progressed = Signal(float, str)
    _told = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._question = Question(Background("placing", self))
        self._question.busy_changed.connect(self.busy_changed)
        self._question.progressed.connect(self.progressed)
        self._serial = 0
        self._better: Callable[[Any], None] = lambda value: None
        self._told.connect(self._take_better)

    @property
    def busy(self) -> bool:
        """Whether a search is under way."""
        return self._question.busy

    def do(
        self,
        work: Callable[[Progress, Tell], Any],
        take: Callable[[Any], None],
        failed: Callable[[TainError], None],
        *,
        better: Callable[[Any], None] = lambda value: None,
    ) -> None:
        """Run a search; the one before is given up. Its result goes to ``take``, an error to ``failed``.

        ``work`` gets a progress callback and one that it may tell the best so far, which goes to ``better``.
        """
        serial = self._serial = self._serial + 1
        self._better = better
        self._question.ask_once(
            lambda progress: work(progress, lambda value: self._told.emit(serial, value)), take, failed
        )

    def stop(self) -> None:
        """Give the search up."""
        self._question.stop()

    def _take_better(self, serial: int, value: object) -> None:
        if serial == self._serial and self.busy:
            self._better(value)
