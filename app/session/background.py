"""Long work off the GUI thread: pure functions on a thread of their own, results delivered on the GUI thread.

A worker gets a progress callback; cancelling its ticket makes that callback raise ``Cancelled``. Nothing of a
cancelled ticket is delivered any more, so a stale result can never replace a newer one.
"""

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any

from PySide6.QtCore import QObject, Signal

from core.errors import Cancelled
from core.progress import Progress

PROGRESS_INTERVAL_S = 0.05


class Ticket:
    """One piece of work under way."""

    def __init__(self) -> None:
        self._cancelled = threading.Event()
        self.finished = False

    def cancel(self) -> None:
        """Stop it at its next progress call; nothing of it is delivered from now on."""
        self._cancelled.set()

    @property
    def cancelled(self) -> bool:
        """Whether it was told to stop."""
        return self._cancelled.is_set()


class Background(QObject):
    """A thread that does one piece of work after the other."""

    _delivered = Signal(object)

    def __init__(self, name: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._executor = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._tickets: set[Ticket] = set()
        self._delivered.connect(lambda deliver: deliver())

    def start(
        self,
        work: Callable[[Progress], Iterator[Any]],
        *,
        on_value: Callable[[Any], None],
        on_failed: Callable[[Exception], None],
        on_progress: Callable[[float, str], None] = lambda share, doing: None,
        on_end: Callable[[], None] = lambda: None,
    ) -> Ticket:
        """Run ``work(progress)``; each value it yields, its error and its end come back on the GUI thread.

        ``on_end`` comes last when all went well.
        """
        ticket = Ticket()
        self._tickets.add(ticket)

        def deliver(call: Callable[[], None], *, last: bool = False) -> None:
            def on_gui_thread() -> None:
                if last:
                    ticket.finished = True
                    self._tickets.discard(ticket)
                if not ticket.cancelled:
                    call()

            self._delivered.emit(on_gui_thread)

        told_s = 0.0

        def progress(share: float, doing: str) -> None:
            nonlocal told_s
            if ticket.cancelled:
                raise Cancelled
            now_s = time.monotonic()
            if now_s - told_s >= PROGRESS_INTERVAL_S:
                told_s = now_s
                deliver(lambda: on_progress(share, doing))

        def run() -> None:
            try:
                if ticket.cancelled:
                    raise Cancelled
                for value in work(progress):
                    if ticket.cancelled:
                        raise Cancelled
                    deliver(partial(on_value, value))
            except Cancelled:
                deliver(lambda: None, last=True)
            except Exception as error:  # noqa: BLE001 - handed to the GUI thread, which tells what it knows from faults
                deliver(partial(on_failed, error), last=True)
            else:
                deliver(on_end, last=True)

        self._executor.submit(run)
        return ticket

    @property
    def busy(self) -> bool:
        """Whether any work has not come to its end, cancelled work included."""
        return bool(self._tickets)

    def close(self) -> None:
        """Cancel what runs and wait for the thread to end."""
        for ticket in self._tickets:
            ticket.cancel()
        self._executor.shutdown(wait=True, cancel_futures=True)


def once(call: Callable[[Progress], Any]) -> Callable[[Progress], Iterator[Any]]:
    """Work that gives one value, as ``Background.start`` wants it."""

    def work(progress: Progress) -> Iterator[Any]:
        yield call(progress)

    return work
