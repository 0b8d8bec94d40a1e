"""Fixtures for the window's tests: a home of their own, dialogs that are answered, nothing left behind.

Defined only where Qt loads; the command line's tests beside them need none of it.
"""

import gc
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

try:
    from PySide6.QtCore import QSize, QtMsgType
    from PySide6.QtWidgets import QDialog
    from pytestqt.qtbot import QtBot

    from app.session.session import derive as derive_job
    from app.theme.in_force import apply_theme
    from app.widgets import messages
    from app.window.main_window import MainWindow
    from app.window.start import new_window
    from tests.windows import (
        SETTLED_WITHIN_MS,
        a_window,
        as_new,
        be_rid_of,
        let_go_of_keys,
        wait_until,
        wait_until_settled,
    )

    HAS_QT = True
except ImportError:
    HAS_QT = False

HARMLESS_QT_LINES = ("This plugin does not support",)

PLATE = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<rect id="plate" x="1" y="1" width="58" height="38" fill="none" stroke="#c00" stroke-width="0.1"/>
<rect id="left" x="8" y="8" width="8" height="12" fill="#000"/>
<rect id="middle" x="22" y="8" width="8" height="12" fill="#000"/>
<circle id="dot" cx="44" cy="14" r="5" fill="#00c"/>
<path id="line" d="M8 32H50" fill="none" stroke="#0a0" stroke-width="0.1"/>
</svg>"""
"""A plate with two fills that look alike, a third that does not, an outline and an open line."""

if HAS_QT:
    FIRST_SIZE = QSize(1360, 860)

    class ScriptedDialogs(messages.Dialogs):
        """Answers in the order given; a question that nobody expected fails the test."""

        def __init__(self) -> None:
            self.answers: list[tuple[str, Any]] = []
            self.told: list[tuple[str, str]] = []
            self.asked: list[str] = []
            self.unexpected: list[str] = []

        def expect(self, kind: str, answer: Any = None) -> None:
            """The next dialog is of this kind ("tell", "ask", "open", "save", "colour", "run") and gets this answer."""
            self.answers.append((kind, answer))

        def _next(self, kind: str, what: str) -> Any:
            if not self.answers or self.answers[0][0] != kind:
                self.unexpected.append(f"{kind}: {what}")
                return None
            return self.answers.pop(0)[1]

        def tell(self, parent, title, text, hint):  # type: ignore[no-untyped-def]
            self._next("tell", text)
            self.told.append((text, hint))

        def ask(self, parent, title, text, hint, answers):  # type: ignore[no-untyped-def]
            self.asked.append(text)
            chosen = self._next("ask", text)
            keys = [answer.key for answer in answers]
            cancel = next((answer.key for answer in answers if answer.role == "cancel"), keys[0])
            assert chosen is None or chosen in keys, f"{chosen} is none of {keys}"
            return cancel if chosen is None else chosen

        def open_file(self, parent, title, folder, filters):  # type: ignore[no-untyped-def]
            return str(self._next("open", title) or "")

        def save_file(self, parent, title, path, filters):  # type: ignore[no-untyped-def]
            answer = self._next("save", title)
            return str(answer(path) if callable(answer) else answer or "")

        def choose_colour(self, parent, title, colour):  # type: ignore[no-untyped-def]
            return self._next("colour", title) or ""

        def run(self, dialog: QDialog) -> bool:
            answer = self._next("run", dialog.windowTitle())
            accepted = bool(answer(dialog)) if callable(answer) else bool(answer)
            dialog.done(QDialog.DialogCode.Accepted if accepted else QDialog.DialogCode.Rejected)
            return accepted

    class PatientBot(QtBot):
        """Waits by the clock of ``tests.windows``: five seconds are soon over on a machine that is busy otherwise."""

        def waitUntil(self, callback, *, timeout=SETTLED_WITHIN_MS):  # type: ignore[no-untyped-def]
            wait_until(callback, within_ms=timeout)

    @pytest.fixture
    def qtbot(qapp, request: pytest.FixtureRequest) -> PatientBot:  # type: ignore[no-untyped-def]
        """What moves pointer and keys, and waits."""
        return PatientBot(request)

    @pytest.fixture(autouse=True)
    def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        """A data folder of the test's own."""
        folder = tmp_path / "home"
        monkeypatch.setenv("TAIN_HOME", str(folder))
        return folder

    @pytest.fixture(scope="session", autouse=True)
    def collect_on_this_thread_only() -> Iterator[None]:
        """Widgets in cycles die on the GUI thread, as in the program; what was loaded is left alone."""
        gc.disable()
        gc.collect()
        gc.freeze()
        yield
        gc.unfreeze()
        gc.enable()

    @pytest.fixture(scope="session", autouse=True)
    def looks(qapp) -> None:  # type: ignore[no-untyped-def]
        """The program's own looks, once: every change of the style sheet costs."""
        apply_theme(qapp, "light")

    @pytest.fixture(autouse=True)
    def no_key_is_held(looks) -> None:  # type: ignore[no-untyped-def]
        """Of the test before."""
        let_go_of_keys()

    @pytest.fixture(autouse=True)
    def dialogs() -> Iterator[ScriptedDialogs]:
        """No dialog ever waits; all that was expected came, and nothing else."""
        scripted = ScriptedDialogs()
        before = messages.use(scripted)
        yield scripted
        messages.use(before)
        assert scripted.unexpected == []
        assert scripted.answers == []

    @pytest.fixture(autouse=True)
    def nothing_left_behind(request: pytest.FixtureRequest) -> Iterator[None]:
        """No thread outlives its test, and Qt had nothing to complain about."""
        before = set(threading.enumerate())
        qtlog = request.getfixturevalue("qtlog")
        yield
        if "shared_window" not in request.fixturenames:  # which looks itself
            assert [thread.name for thread in threading.enumerate() if thread not in before] == []
        weighty = (QtMsgType.QtWarningMsg, QtMsgType.QtCriticalMsg, QtMsgType.QtFatalMsg)
        lines = [str(record.message) for record in qtlog.records if record.type in weighty]
        assert [line for line in lines if not line.startswith(HARMLESS_QT_LINES)] == []

    @pytest.fixture
    def make_window(qapp, home: Path) -> Iterator[Callable[..., MainWindow]]:  # type: ignore[no-untyped-def]
        """Makes windows as the program does; all are closed at the end, unsaved work and all."""
        gc.collect()  # the window of the test before; what is left is not looked through again
        gc.freeze()
        windows: list[MainWindow] = []

        def make(*, derive: Any = None) -> MainWindow:
            window = new_window(home, derive=derive or derive_job)
            windows.append(window)
            window.show()
            return window

        yield make
        while windows:
            be_rid_of(windows.pop())

    @pytest.fixture(scope="module")
    def shared_window(looks: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[MainWindow]:
        """The window of a whole module, with a data folder of its own. No thread of it outlives the module.

        ``pytestmark = pytest.mark.usefixtures("shared_window")`` has ``window`` hand this one over to test after test,
        as it was made. For tests of starting, closing and the data folder: ``make_window``.
        """
        before = set(threading.enumerate())
        folder = tmp_path_factory.mktemp("shared")
        gc.collect()
        gc.freeze()
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("TAIN_HOME", str(folder))
            with a_window(folder) as window:
                yield window
            del window
        assert [thread.name for thread in threading.enumerate() if thread not in before] == []

    @pytest.fixture
    def window(request: pytest.FixtureRequest, home: Path) -> MainWindow:
        """The window, empty: one of the test's own, or the module's where it has ``shared_window``."""
        if "shared_window" not in request.fixturenames:
            return request.getfixturevalue("make_window")()
        window: MainWindow = request.getfixturevalue("shared_window")
        as_new(window, FIRST_SIZE)
        return window

    @pytest.fixture
    def own_plate(make_window: Callable[..., MainWindow], plate: Path) -> MainWindow:
        """A window of the test's own with the small plate worked out, whatever the module shares."""
        window = make_window()
        window.files.open(plate)
        wait_until_settled(window)
        return window

    @pytest.fixture
    def settle() -> Callable[[MainWindow], None]:
        """Waits until nothing is being read, written, worked out or drawn."""
        return wait_until_settled

    @pytest.fixture
    def plate(tmp_path: Path) -> Path:
        """The small plate as a file."""
        path = tmp_path / "plate.svg"
        path.write_text(PLATE, "utf-8")
        return path

    @pytest.fixture
    def with_plate(window: MainWindow, plate: Path, settle: Callable[[MainWindow], None]) -> MainWindow:
        """The window with the small plate open and worked out."""
        window.files.open(plate)
        settle(window)
        assert window.session.complete
        return window
