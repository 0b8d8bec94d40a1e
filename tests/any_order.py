"""Deliveries of background work held back and handed over in any order, and all that a window shows, to be compared.

Each thread's own deliveries keep their order; those of different threads may come in any, however long each took.
"""

import random
import threading
from collections import defaultdict, deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QWidget,
)

from app.window.main_window import MainWindow
from tests.windows import wait_until


class Deliveries:
    """What workers have told and nobody heard yet. ``executor`` stands in for that of ``app.session.background``."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self._lock = threading.Lock()
        self._waiting: dict[int, deque[Callable[[], None]]] = defaultdict(deque)
        self._at_work = 0

    def executor(self, *, max_workers: int, thread_name_prefix: str) -> ThreadPoolExecutor:
        """Runs work as ever, but keeps what it tells."""
        return _Keeping(self, max_workers=max_workers, thread_name_prefix=thread_name_prefix)

    def begin(self) -> None:
        """A worker has something to do."""
        with self._lock:
            self._at_work += 1

    def end(self, future: "Future[Any]") -> None:
        """It is done, or was given up before it began."""
        with self._lock:
            self._at_work -= 1

    def keep(self, lane: int, tell: Callable[[], None]) -> None:
        """On a worker: to be told later."""
        with self._lock:
            self._waiting[lane].append(tell)

    @property
    def at_work(self) -> bool:
        """Whether any worker runs."""
        return self._at_work > 0

    def hand_over(self) -> bool:
        """Tell the next of any thread; False where nothing waits."""
        with self._lock:
            lanes = sorted(lane for lane, waiting in self._waiting.items() if waiting)
            tell = self._waiting[self.dice.choice(lanes)].popleft() if lanes else None
        if tell is not None:
            tell()
        return tell is not None

    def hand_some_over(self) -> None:
        """As many as it happens, each when all workers have come to rest."""
        for _ in range(self.dice.randrange(5)):
            wait_until(lambda: not self.at_work)
            if not self.hand_over():
                break

    def hand_all_over(self, window: MainWindow) -> None:
        """Until the window has come to rest."""
        wait_until(lambda: not self.at_work and not self.hand_over() and window.settled)


class _Keeping(ThreadPoolExecutor):
    _lanes = iter(range(1 << 30))

    def __init__(self, deliveries: Deliveries, **options: Any) -> None:
        super().__init__(**options)
        self._deliveries, self._lane = deliveries, next(self._lanes)

    def submit(self, run: Any, ticket: Any, tell: Any, name: str) -> Any:  # type: ignore[override]
        deliveries = self._deliveries

        def keep(delivery: Any) -> None:
            if delivery[1] == "progress":  # how much of it there is goes by the clock
                tell(delivery)
            else:
                deliveries.keep(self._lane, partial(tell, delivery))

        deliveries.begin()
        future = super().submit(run, ticket, keep, name)
        future.add_done_callback(deliveries.end)
        return future


def shown(window: MainWindow) -> list[str]:
    """Every word, figure, tick and mark that is seen, in the order of the widgets; what a command is called and may."""
    lines = [f"title {window.windowTitle()} {window.isWindowModified()}"]
    lines += [f"command {key}: {one.text()} {_may(one)}" for key, one in window.menus.actions.items()]
    lines += [f"{path}: {words}" for path, words in _seen(window, "")]
    return lines


def _seen(within: QWidget, path: str) -> Iterator[tuple[str, str]]:
    for child in within.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly):
        if child.isHidden() or child.isWindow():
            continue
        here = f"{path}/{child.objectName() or child.accessibleName() or type(child).__name__}"
        words = _words(child)
        if words:
            yield here, words
        yield from _seen(child, here)


def _words(widget: QWidget) -> str:
    told = " | ".join(one for one in (widget.accessibleName(), widget.toolTip()) if one)
    on = "" if widget.isEnabledTo(widget.parentWidget()) else " (off)"
    if isinstance(widget, QLabel):
        return f"{widget.text()} | {told}{on}"
    if isinstance(widget, QAbstractButton):
        return f"{widget.text()} {widget.isChecked()} | {told}{on}"
    if isinstance(widget, QComboBox):
        choices = [widget.itemText(at) for at in range(widget.count())]
        return f"{widget.currentText()} of {choices} | {told}{on}"
    if isinstance(widget, QAbstractSpinBox):
        return f"{widget.text()} | {told}{on}"
    if isinstance(widget, QLineEdit):
        return f"{widget.text()} | {widget.placeholderText()} | {told}{on}"
    if isinstance(widget, QAbstractItemView):
        model = widget.model()
        return f"{list(_cells(model)) if model is not None else ''} | {told}{on}"
    return f"{told}{on}" if told or on else ""


def _cells(model: QAbstractItemModel, above: QModelIndex | None = None) -> Iterator[str]:
    above = above or QModelIndex()
    for row in range(model.rowCount(above)):
        columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(above)  # there it is private
        for column in range(columns):
            at = model.index(row, column, above)
            yield f"{at.data()} {at.data(Qt.ItemDataRole.CheckStateRole)}"
            if column == 0:
                yield from _cells(model, at)


def _may(action: Any) -> str:
    return f"{action.isEnabled()} {action.isChecked()}"
