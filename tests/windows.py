"""How a script makes a window and waits for it: the tests, the pictures and the monkey all go this way.

    with a_window(folder, Path("plate.svg")) as window:
        window.go_to(Stage.BURN)
        wait_until_settled(window)

The folder is the data folder (``TAIN_HOME`` must name it too where the shop book is used); nothing is asked at the end.
"""

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import QEvent, QEventLoop, QTimer
from PySide6.QtWidgets import QApplication

from app.session.session import Derive, derive
from app.window.main_window import MainWindow
from app.window.start import new_window

SETTLED_WITHIN_MS = 60_000
LOOK_EVERY_MS = 5


@contextmanager
def a_window(folder: Path, file: Path | None = None, *, derive: Derive = derive) -> Iterator[MainWindow]:
    """A window that is shown, with the file worked out in it if one is named; closed without a question, and gone."""
    window = new_window(folder, derive=derive)
    window.show()
    try:
        if file is not None:
            window.files.open(file)
        wait_until_settled(window)
        yield window
    finally:
        be_rid_of(window)


def wait_until_settled(window: MainWindow, *, within_ms: int = SETTLED_WITHIN_MS) -> None:
    """Let the window work until nothing is read, written, worked out or drawn. Raises TimeoutError."""
    wait_until(lambda: window.settled, within_ms=within_ms)


def wait_until(done: Callable[[], bool], *, within_ms: int = SETTLED_WITHIN_MS) -> None:
    """Let events be dealt with until something is so. Raises TimeoutError."""
    if done():
        return
    loop, late = QEventLoop(), QTimer()
    looks = QTimer()
    looks.timeout.connect(lambda: loop.quit() if done() else None)
    looks.start(LOOK_EVERY_MS)
    late.setSingleShot(True)
    late.timeout.connect(loop.quit)
    late.start(within_ms)
    loop.exec()
    looks.stop()
    late.stop()
    if not done():
        raise TimeoutError(f"not within {within_ms} ms")


def be_rid_of(window: MainWindow) -> None:
    """Close it, unsaved work and all, and have Qt and Python let go of it."""
    window.give_up_changes()
    window.close()
    window.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    del window
    gc.collect()
