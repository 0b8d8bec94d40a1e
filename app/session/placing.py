"""Places and pieces looked for off the GUI thread: the best place on a sheet, the pieces of the rack that serve."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, Ticket, once
from core.errors import TainError
from core.progress import Progress

if TYPE_CHECKING:
    pass

Tell = Callable[[Any], None]


class Placing(QObject):
    """One search at a time. busy_changed: a search began or ended. progressed: share done and what is being done.

    faulted: an exception that is a fault of the program.
    """

    busy_changed = Signal()
    progressed = Signal(float, str)
    faulted = Signal(object)
    _told = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background("placing", self)
        self._serial = 0
        self._better: Callable[[Any], None] = lambda value: None
        self._told.connect(self._take_better)
        self._ticket: Ticket | None = None

    @property
    def busy(self) -> bool:
        """Whether a search is under way."""
        return self._ticket is not None

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
        self.stop()
        serial = self._serial = self._serial + 1
        self._better = better

        def on_value(value: Any) -> None:
            self._end()
            take(value)

        def on_failed(error: Exception) -> None:
            self._end()
            if isinstance(error, TainError):
                failed(error)
            else:
                self.faulted.emit(error)

        self._ticket = self._background.start(
            once(lambda progress: work(progress, lambda value: self._told.emit(serial, value))),
            on_value=on_value,
            on_failed=on_failed,
            on_progress=self.progressed.emit,
        )
        self.busy_changed.emit()

    def stop(self) -> None:
        """Give the search up."""
        if self._ticket is not None:
            self._ticket.cancel()
            self._end()

    def close(self) -> None:
        """Stop and wait for the thread to end."""
        self.stop()
        self._background.close()

    def _take_better(self, serial: int, value: object) -> None:
        if serial == self._serial and self.busy:
            self._better(value)

    def _end(self) -> None:
        self._ticket = None
        self.busy_changed.emit()
