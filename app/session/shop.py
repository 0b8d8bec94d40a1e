"""The shop book as the window sees it: read and written on a thread of its own, what pages offer kept here."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from app.session.background import Background, once
from core.burning.machines import STARTING_MACHINES, Machine
from core.errors import TainError
from core.progress import Progress
from core.sheet.stock import STARTING_STOCKS, Stock

if TYPE_CHECKING:
    from core.burning.run_time_fit import RunTimeFit
    from core.shop_book.store import ShopBook


_Known = tuple[tuple[Machine, ...], tuple[Stock, ...], dict[str, "RunTimeFit"], TainError | None]


class Shop(QObject):
    """Machines and stocks to choose from, what timed jobs tell of machines (by name), and the way to the book.

    changed: ``machines``, ``stocks``, ``fits`` or ``error`` changed. wrote: something was written to the book.
    No book is made until something is to be kept in it.
    """

    changed = Signal()
    wrote = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background("shop book", self, finishes=True)
        self.machines: tuple[Machine, ...] = STARTING_MACHINES
        self.stocks: tuple[Stock, ...] = STARTING_STOCKS
        self.fits: dict[str, RunTimeFit] = {}
        self.error: TainError | None = None
        self.written = 0
        """How often something was written to the book."""

    @property
    def busy(self) -> bool:
        """Whether the book is being read or written."""
        return self._background.busy

    def read(self) -> None:
        """Read again what there is to choose from."""

        def work(progress: Progress) -> _Known:
            from core.shop_book.beginning import offered_profiles
            from core.shop_book.jobs_done import known_fits

            machines, stocks, error = offered_profiles()
            return machines, stocks, {} if error else known_fits(), error

        def take(found: _Known) -> None:
            if found != (self.machines, self.stocks, self.fits, self.error):
                self.machines, self.stocks, self.fits, self.error = found
                self.changed.emit()

        self._background.start(once(work), on_value=take)

    def do(
        self,
        work: Callable[["ShopBook"], Any],
        take: Callable[[Any], None],
        failed: Callable[[TainError], None],
        *,
        writes: bool = False,
    ) -> None:
        """Run work on the open book and hand its result to ``take``; errors meant for the maker go to ``failed``."""

        def in_book(progress: Progress) -> Any:
            from core.shop_book.store import open_book

            with open_book() as book:
                return work(book)

        def on_value(value: Any) -> None:
            self.written += writes
            take(value)
            if writes:
                self.wrote.emit()
                self.read()

        self._background.start(once(in_book), on_value=on_value, on_failed=failed)
