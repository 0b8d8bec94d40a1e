"""Autosave: a copy of the unsaved work in the data folder, offered back after a crash.

One file a window, held by a lock that names its process, so that one window never takes a living other's copy.
"""

import json
import uuid
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from app.session.background import Background, once
from app.session.session import Session
from core.atomic import write_atomically
from core.errors import TainError, UnreadableError
from core.order.history import History, new_history
from core.order.order import Order
from core.progress import Progress

if TYPE_CHECKING:
    from core.order.history_file import Known

DELAY_MS = 1000
"""From the first change that is in no copy to the next copy, however many changes follow it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftover:
    """A job that a window which did not close properly left behind."""

    file: Path
    name: str
    job_path: Path | None
    changed_at: datetime


class Autosave(QObject):
    """Keeps a copy of the session's work while it has unsaved changes; nothing once it is saved or the window closes.

    ``on_failed`` hears of a copy that could not be written. written: one was, or none is needed any more.
    """

    written = Signal()

    def __init__(
        self, session: Session, folder: Path, *, name: Callable[[], str], on_failed: Callable[[TainError], None]
    ) -> None:
        super().__init__(session)
        folder.mkdir(parents=True, exist_ok=True)
        self._session, self._name, self._on_failed = session, name, on_failed
        self._background = Background("autosave", self)
        self._file = folder / f"{uuid.uuid4().hex}.tain"
        self._lock = _lock_of(self._file)
        self._lock.lock()
        self._known: Known = {}
        self.failed = False
        """Whether the last copy could not be written."""
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(DELAY_MS)
        self._timer.timeout.connect(self.write_now)
        session.file_changed.connect(self._job_or_mark_changed)

    @property
    def file(self) -> Path:
        """Where this window's copy goes."""
        return self._file

    @property
    def busy(self) -> bool:
        """Whether a copy is due or being written."""
        return self._timer.isActive() or self._background.busy

    def write_now(self) -> None:
        """Write the copy, off the GUI thread; one after the other, never a row of old ones."""
        if self._background.busy:
            self._timer.start()
        else:
            self._write()

    def write_through(self) -> None:
        """Write the copy before coming back: there may be no later. Raises WriteError."""
        self._work(self._session.history, self._about())

    def take_over(self, file: Path) -> None:
        """Keep the present job as this window's copy, then take the other copy that it came from away."""
        self._write(then=lambda: forget(file))

    def close(self, *, leave: bool = False) -> None:
        """The window closes: nothing is left behind, or unsaved work is where it will be offered back (``leave``)."""
        self._timer.stop()
        self._background.close()
        if leave and self._session.modified:
            with suppress(TainError):
                self.write_through()
        else:
            forget(self._file)
        self._lock.unlock()

    def _write(self, then: Callable[[], None] = lambda: None) -> None:
        self._timer.stop()
        history, about = self._session.history, self._about()

        def work(progress: Progress) -> None:
            self._work(history, about)
            then()  # not where the copy could not be written

        self._background.start(once(work), on_value=lambda none: self._succeeded(), on_failed=self._tell_failed)

    def _work(self, history: History, about: bytes) -> None:
        from core.order.history_file import history_bytes
        from core.order.order_file import save_work

        # the history first: a job that is behind it still stands in it, a job ahead of it does not
        write_atomically(_history_file(self._file), history_bytes(history, known=self._known), overwrite=True)
        save_work(history.order, self._file, overwrite=True)
        write_atomically(_about_file(self._file), about, overwrite=True)

    def _job_or_mark_changed(self) -> None:
        if self._session.modified:
            if not self._timer.isActive():  # a change more does not put the copy off
                self._timer.start()
        else:
            self._timer.stop()
            self._background.start(once(lambda progress: forget(self._file)), on_value=lambda none: self._succeeded())

    def _tell_failed(self, error: TainError) -> None:
        self.failed = True
        self._on_failed(error)

    def _succeeded(self) -> None:
        self.failed = False
        self.written.emit()

    def _about(self) -> bytes:
        path = self._session.path
        return json.dumps({"name": self._name(), "path": str(path) if path is not None else None}).encode()


def leftovers(folder: Path) -> list[Leftover]:
    """What windows that are no longer alive left in the folder, newest first. A damaged note costs only the name."""
    found = []
    for file in folder.glob("*.tain") if folder.is_dir() else ():
        lock = _lock_of(file)
        if not lock.tryLock(0):
            continue
        lock.unlock()
        about = {}
        with suppress(OSError, ValueError):
            about = json.loads(_about_file(file).read_text("utf-8"))
        with suppress(OSError):
            changed_at = datetime.fromtimestamp(file.stat().st_mtime)
            path = about.get("path")
            name = str(about.get("name") or file.name)
            found.append(Leftover(file=file, name=name, job_path=Path(path) if path else None, changed_at=changed_at))
    return sorted(found, key=lambda one: one.changed_at, reverse=True)


def forget(file: Path) -> None:
    """Take a copy and its note away."""
    for path in (file, _about_file(file), _history_file(file)):
        with suppress(OSError):
            path.unlink(missing_ok=True)


def load_leftover(leftover: Leftover) -> History:
    """The work that was left behind, with its steps of undo where they can be read. Raises UnreadableError."""
    from core.order.history_file import history_from_bytes
    from core.order.order_file import load_work

    order = load_work(leftover.file)
    try:
        return history_from_bytes(_history_file(leftover.file).read_bytes(), order)
    except (OSError, UnreadableError):
        return new_history(order)


def write_rescue_copy(order: Order, path: Path) -> Path | None:
    """A copy of the work after a fault of the program, under a new name; None when even that failed."""
    from core.order.order_file import save_work

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        save_work(order, path)
    except (TainError, OSError, ValueError):
        return None
    return path


def _lock_of(file: Path) -> QLockFile:
    lock = QLockFile(str(file.with_suffix(".lock")))
    lock.setStaleLockTime(0)  # never stale by age alone: only when its process is gone
    return lock


def _history_file(file: Path) -> Path:
    return file.with_suffix(".history")


def _about_file(file: Path) -> Path:
    return file.with_suffix(".json")
