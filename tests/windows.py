"""How a script makes a window and waits for it: the tests, the pictures and the monkey all go this way.

    with a_window(folder, Path("plate.svg")) as window:
        window.go_to(Stage.BURN)
        wait_until_settled(window)

The folder is the data folder (``TAIN_HOME`` must name it too where the shop book is used); nothing is asked at the end.
"""

import gc
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QAbstractEventDispatcher, QEvent, QEventLoop, QSize, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QWidget

from app.session.session import Derive, derive
from app.session.settings import OPTIONS
from app.stages.page import Page
from app.stages.stage import Stage
from app.window.main_window import MainWindow
from app.window.start import new_window
from core.job.decisions import with_recipe
from core.job.job import new_job

SETTLED_WITHIN_MS = 60_000
LOOK_EVERY_MS = 5
LONGEST_LOOK_S = 0.5
"""What two looks may lie apart at most: a machine that stood still between them does not use the time up."""


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
    wait_until(lambda: window.settled, within_ms=within_ms, waiting_for=lambda: ", ".join(window.under_way))


def wait_until(
    done: Callable[[], bool], *, within_ms: int = SETTLED_WITHIN_MS, waiting_for: Callable[[], str] = lambda: ""
) -> None:
    """Let events be dealt with until something is so. Raises TimeoutError, which says what is missing and what runs.

    Raises also what ``done`` raises.
    """
    if done():
        return
    loop, looks = QEventLoop(), QTimer()
    last_s, waited_s, is_done = time.monotonic(), 0.0, False
    error: Exception | None = None
    is_over = False

    def look() -> None:
        nonlocal last_s, waited_s, is_done, error, is_over
        if is_over:  # what was so is so no more, maybe, when a loop within this one lets it end
            return
        now_s = time.monotonic()
        waited_s, last_s = waited_s + min(now_s - last_s, LONGEST_LOOK_S), now_s
        try:
            is_done = done()
        except Exception as raised:  # noqa: BLE001 - raised again once the loop has ended
            error = raised
        if is_done or error is not None or waited_s * 1000 >= within_ms:
            is_over = True
            loop.quit()

    looks.timeout.connect(look)
    looks.start(LOOK_EVERY_MS)
    loop.exec()
    looks.stop()
    if error is not None:
        raise error
    if not is_done:
        raise TimeoutError(f"not within {within_ms} ms: {waiting_for()}\n{what_runs()}")


def let_go_of_keys() -> None:
    """No Ctrl or Shift is held any more: Qt remembers those of the last event, whatever window's it was."""
    QTest.keyRelease(QWidget(), Qt.Key.Key_Control)


def part(within: QWidget, name: str) -> Any:
    """The one widget within that has this object name, name for screen readers, or text on its button."""
    found = [one for one in within.findChildren(QWidget) if name in _names(one)]
    assert len(found) == 1, f"{len(found)} parts named {name!r}"
    return found[0]


def _names(widget: QWidget) -> tuple[str, ...]:
    text = widget.text().replace("&", "") if isinstance(widget, QAbstractButton) else ""
    return (widget.objectName(), widget.accessibleName(), text)


def what_runs() -> str:
    """Where every other thread stands, the innermost calls last."""
    here, names = threading.get_ident(), {thread.ident: thread.name for thread in threading.enumerate()}
    stacks = [
        f"{names.get(ident, ident)}:\n{''.join(traceback.format_stack(frame)[-6:])}"
        for ident, frame in sys._current_frames().items()
        if ident != here
    ]
    return "\n".join(stacks)


def _wait_until_written(window: MainWindow) -> None:
    wait_until(lambda: not window.files.writing)  # it would stay open for that


def be_rid_of(window: MainWindow) -> None:
    """Close it, unsaved work and all, and have Qt and Python let go of it."""
    window.leaving.give_up_changes()
    _wait_until_written(window)
    window.close()
    window.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    del window
    gc.collect()


def as_new(window: MainWindow, size: QSize) -> None:
    """Make it as it was when it was made: no job, nothing open beside it, settings, stage and view as at the start.

    size: the one it had. What its data folder holds (pictures of recent files), how far pages are scrolled and how
    wide they are may stay.
    """
    window.stop_work()
    for dialog in window.findChildren(QDialog):
        dialog.close()
        dialog.deleteLater()
    window.guidance.reader = None
    window.first_job.end()
    wait_until_settled(window)
    for key, option in OPTIONS.items():
        window.settings.set(key, option.default)
    window.living.watch(None)
    window.files.artwork_path = None
    window.session.begin(new_job())
    if window.loupe.on:
        window.loupe_desk.toggle()
    for page in window.findChildren(Page):
        page.leave_room()
        page.say("")
    window.faces.state.chosen_shown.clear()
    window.faces.set_tool(None)
    window.banner.hide()
    window.resize(size)
    window.go_to(Stage.ARTWORK)
    window.activateWindow()
    wait_until(window.isActiveWindow)
    window.welcome.open_button.setFocus(Qt.FocusReason.OtherFocusReason)
    window.shop.read()
    window.shop.wrote.emit()  # what pages know of the book of before
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    wait_until_settled(window)
    gc.collect(1)  # what the test before made; all of it once the window goes


class Watchdog:
    """The longest bursts of processor time of the window's thread between two moments when its event loop was free.

    longest_s: seconds by the words for what was done then.
    """

    def __init__(self) -> None:
        self.longest_s: dict[str, float] = {}
        self._doing = ""
        self._since_s: float | None = None
        self._dispatcher = QAbstractEventDispatcher.instance()
        self._dispatcher.awake.connect(self._turn)
        self._dispatcher.aboutToBlock.connect(self._turn)

    def do(self, window: MainWindow, words: str, action: Callable[[], object]) -> None:
        """Do it from the event loop, then let the window work until it has nothing left to do."""
        self._doing = words
        begun: list[bool] = []
        QTimer.singleShot(0, lambda: (begun.append(True), action()))
        wait_until(lambda: bool(begun) and window.settled, within_ms=300_000)
        self._doing = ""

    def off(self) -> None:
        """Watch no longer."""
        self._dispatcher.awake.disconnect(self._turn)
        self._dispatcher.aboutToBlock.disconnect(self._turn)

    def _turn(self) -> None:
        """Events are dealt with before or after the loop sleeps, as the platform has it; asleep no time is spent."""
        now_s = time.thread_time()
        if self._since_s is not None and self._doing:
            self.longest_s[self._doing] = max(self.longest_s.get(self._doing, 0.0), now_s - self._since_s)
        self._since_s = now_s


def every_action(window: MainWindow, file: Path) -> Iterator[tuple[str, Callable[[], object]]]:
    """Words and a call for what a maker does with a file, one after the other, without dialogs."""
    yield "open", lambda: window.files.open(file)
    for stage in (*Stage, *reversed(Stage)):
        yield f"stage {stage}", lambda stage=stage: window.go_to(stage)
    actions = window.menus.actions
    yield "to layers", lambda: window.go_to(Stage.LAYERS)
    for key in (
        "zoom in", "zoom in", "zoom out", "fit", "fit sheet", "other picture", "loupe", "faces stacked",
        "faces side by side", "select all", "put cut", "undo", "redo", "undo", "invert", "select none", "turn", "undo",
        "rotate", "undo", "units inch", "units mm", "page", "page",
    ):  # fmt: skip
        yield key, actions[key].trigger
    yield "larger", lambda: window.resize(1600, 1000)
    yield "smaller", lambda: window.resize(1024, 700)
    fill = next(layer for layer in window.session.job.layers if layer.purpose == "fill")
    wider = replace(fill.recipe, pitch_mm=fill.recipe.pitch_mm * 1.1)
    yield "pitch", lambda: window.session.commit(with_recipe(window.session.job, fill.id, wider), "Pitch")
    for stage in (Stage.PAINT, Stage.BURN):
        yield f"stage {stage}", lambda stage=stage: window.go_to(stage)
        for looks in ("dark", "contrast", "light"):
            yield f"theme {looks} at {stage}", lambda looks=looks: window.settings.set("looks", looks)
