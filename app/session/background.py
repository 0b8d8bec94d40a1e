"""Long work off the GUI thread: pure functions on a thread of their own, results delivered on the GUI thread.

A worker gets a progress callback; cancelling its ticket makes that callback raise ``Cancelled``. Nothing of a
cancelled ticket is delivered any more, so a stale result can never replace a newer one. What goes wrong is told the
same way everywhere: an error for the maker to whoever asked, all else is raised on the GUI thread, where ``Faults``
takes it.
"""

import threading
import time
import weakref
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Any, Literal

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from core.errors import Cancelled, TainError
from core.progress import Progress

PROGRESS_INTERVAL_S = 0.05

_open: "weakref.WeakSet[Background]" = weakref.WeakSet()


def raised(error: Exception) -> None:
    """Nobody asked to hear of it: a fault."""
    raise error


@dataclass(frozen=True, slots=True, kw_only=True)
class _Calls:
    """What is done on the worker, and who hears of it on the GUI thread."""

    work: Callable[[Progress], Iterator[Any]]
    on_value: Callable[[Any], None]
    on_failed: Callable[[TainError], None]
    on_progress: Callable[[float, str], None]
    on_end: Callable[[], None]


class Ticket:
    """One piece of work under way.

    It holds the calls and what they hold, and is emptied on the GUI thread: a widget whose last holder were the
    worker would be taken apart there.
    """

    def __init__(self, calls: _Calls) -> None:
        self._cancelled = threading.Event()
        self.calls: _Calls | None = calls
        self.error: Exception | None = None

    def cancel(self) -> None:
        """Stop it at its next progress call; nothing of it is delivered from now on."""
        self._cancelled.set()

    @property
    def cancelled(self) -> bool:
        """Whether it was told to stop."""
        return self._cancelled.is_set()


class Background(QObject):
    """A thread that does one piece of work after the other, closed with its owner (``close_all``).

    name: what is done there, in a word. finishes: what was started is brought to its end then, as with files that are
    written; else it is given up. Once closed nothing begins any more, and what was brought to its end tells errors
    only: a clock or a last delivery may still ask something of a window that is gone.
    """

    _delivered = Signal(object)

    def __init__(self, name: str, owner: QObject, *, finishes: bool = False) -> None:
        super().__init__(owner)
        self.name = name
        self._finishes = finishes
        self.closed = False
        self._executor = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._tickets: set[Ticket] = set()
        self._delivered.connect(self._take)
        _open.add(self)
        owner.destroyed.connect(partial(_let_go, self._executor, self._tickets))

    def start(
        self,
        work: Callable[[Progress], Iterator[Any]],
        *,
        on_value: Callable[[Any], None] = lambda value: None,
        on_failed: Callable[[TainError], None] = raised,
        on_progress: Callable[[float, str], None] = lambda share, doing: None,
        on_end: Callable[[], None] = lambda: None,
    ) -> Ticket:
        """Run ``work(progress)``; each value it yields and its error come back on the GUI thread.

        ``on_end`` comes last, however it ended, unless its ticket was cancelled. Closed, nothing is run: the ticket
        is a cancelled one.
        """
        ticket = Ticket(
            _Calls(work=work, on_value=on_value, on_failed=on_failed, on_progress=on_progress, on_end=on_end)
        )
        if self.closed:
            ticket.cancel()
            ticket.calls = None
            return ticket
        self._tickets.add(ticket)
        done = self._executor.submit(_run, ticket, self._delivered.emit, self.name)
        done.add_done_callback(self._tell_undelivered)
        return ticket

    def _take(self, delivery: "_Delivery") -> None:
        """On the GUI thread: hand over what the worker tells."""
        ticket, kind, told = delivery
        calls, error = ticket.calls, ticket.error
        if kind == "end":
            ticket.calls, ticket.error = None, None
            self._tickets.discard(ticket)
        if ticket.cancelled or calls is None:
            return
        if kind != "end":
            if not self.closed:
                calls.on_value(told) if kind == "value" else calls.on_progress(*told)
        elif error is None:
            calls.on_end()
        else:
            try:
                calls.on_failed(error) if isinstance(error, TainError) else raised(error)
            finally:
                calls.on_end()

    def _tell_undelivered(self, future: Future[None]) -> None:
        """A fault of the delivery itself would else be lost with its work, which then never ends."""
        error = None if future.cancelled() else future.exception()
        if error is not None and isValid(self):
            threading.excepthook(
                threading.ExceptHookArgs((type(error), error, error.__traceback__, threading.current_thread()))
            )

    @property
    def busy(self) -> bool:
        """Whether any work has not come to its end, cancelled work included."""
        return bool(self._tickets)

    def close(self) -> None:
        """Give up what runs, or bring it to its end, and wait for the thread. Nothing begins there from now on."""
        self.closed = True
        if self._finishes:
            self._executor.shutdown(wait=True)
        else:
            _let_go(self._executor, self._tickets)


_Delivery = tuple[Ticket, Literal["value", "progress", "end"], Any]


def _run(ticket: Ticket, tell: Callable[[_Delivery], None], name: str) -> None:
    """On the worker: what is held here beside the ticket is gone before the end is told."""
    told_s = 0.0

    def progress(share: float, doing: str) -> None:
        nonlocal told_s
        if ticket.cancelled:
            raise Cancelled
        now_s = time.monotonic()
        if now_s - told_s >= PROGRESS_INTERVAL_S:
            told_s = now_s
            tell((ticket, "progress", (share, doing)))

    try:
        _work(ticket, tell, progress)
    except Cancelled:
        pass  # told only where it gave up by itself
    except Exception as error:  # noqa: BLE001 - raised again on the GUI thread unless it is meant for the maker
        ticket.error = error
    except BaseException as error:  # noqa: BLE001 - raised again it would end the program
        ticket.error = RuntimeError(f"{type(error).__name__} in the thread “{name}”")
        ticket.error.__cause__ = error
    tell((ticket, "end", None))


def _work(ticket: Ticket, tell: Callable[[_Delivery], None], progress: Progress) -> None:
    if ticket.cancelled or ticket.calls is None:
        raise Cancelled
    for value in ticket.calls.work(progress):
        if ticket.cancelled:
            raise Cancelled
        tell((ticket, "value", value))


class Question(QObject):
    """Work of which only the newest counts: asking anew gives up what was asked before.

    busy_changed: it began, ended or was given up. progressed: share done and what is being done.
    """

    busy_changed = Signal()
    progressed = Signal(float, str)

    def __init__(self, background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent or background)
        self._background = background
        self._ticket: Ticket | None = None

    @property
    def busy(self) -> bool:
        """Whether the newest is under way."""
        return self._ticket is not None

    def ask(
        self,
        work: Callable[[Progress], Iterator[Any]],
        take: Callable[[Any], None],
        failed: Callable[[TainError], None] = raised,
    ) -> None:
        """Run ``work``; what it yields goes to ``take``, an error for the maker to ``failed``, once it is not busy."""
        if self._background.closed:
            return
        if self._ticket is not None:  # nobody is told before the new one stands: who hears may ask anew
            self._ticket.cancel()
        ticket: Ticket | None = None

        def end() -> None:
            if self._ticket is ticket:
                self._end()

        def failed_and_ended(error: TainError) -> None:
            end()
            failed(error)

        ticket = self._ticket = self._background.start(
            work, on_value=take, on_failed=failed_and_ended, on_progress=self.progressed.emit, on_end=end
        )
        self.busy_changed.emit()

    def ask_once(
        self,
        work: Callable[[Progress], Any],
        take: Callable[[Any], None],
        failed: Callable[[TainError], None] = raised,
    ) -> None:
        """The same for work that gives one value, which is handed over when it is not busy any more."""

        def take_last(value: Any) -> None:
            self._end()
            take(value)

        self.ask(once(work), take_last, failed)

    def stop(self) -> None:
        """Give it up."""
        if self._ticket is not None:
            self._ticket.cancel()
            self._end()

    def _end(self) -> None:
        self._ticket = None
        self.busy_changed.emit()


def once(call: Callable[[Progress], Any]) -> Callable[[Progress], Iterator[Any]]:
    """Work that gives one value, as ``Background.start`` wants it."""

    def work(progress: Progress) -> Iterator[Any]:
        yield call(progress)

    return work


def busy_within(owner: QObject) -> tuple[str, ...]:
    """Names of the threads whose owner is this one or anything within it that have work not come to its end."""
    alive = (background for background in list(_open) if isValid(background))
    return tuple(background.name for background in alive if background.busy and owner in _ancestors(background))


def close_all(owner: QObject) -> None:
    """Close every thread whose owner is this one or anything within it."""
    for background in list(_open):
        if not isValid(background):  # went with an owner that was deleted, which let its thread go
            _open.discard(background)
        elif owner in _ancestors(background):
            background.close()
            _open.discard(background)


def _ancestors(one: QObject) -> Iterator[QObject]:
    above = one.parent()
    while above is not None:
        yield above
        above = above.parent()


def _let_go(executor: ThreadPoolExecutor, tickets: set[Ticket], *_: object) -> None:
    for ticket in tuple(tickets):
        ticket.cancel()
    executor.shutdown(wait=True, cancel_futures=True)
