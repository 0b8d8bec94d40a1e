"""Starts the window."""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.session.faults import Faults
from app.session.log import logging_to
from app.session.session import Derive, Session, derive
from app.session.settings import Settings, data_folder
from app.theme.icons import app_icon
from app.theme.in_force import apply_theme
from app.window.collector import GuiThreadCollector
from app.window.coming import load_what_comes
from app.window.main_window import MainWindow
from app.window.meeting_place import somebody_may_be_there
from app.window.windows import Windows

SWITCH_INTERVAL_S = 0.0005
"""How long the GUI thread waits for a worker to let go of the interpreter; Python's own 5 ms is felt while drawing."""
LISTEN_AFTER_MS = 300
"""From the start to when second starts are heard of; what that needs is loaded then."""


def run_window(argv_file: str | None) -> int:
    """Show the window, with a file if one is named, until it is closed. Gives the exit code.

    Where the program runs already, that one opens the file in a window of its own.
    """
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    folder = data_folder()
    file = Path(argv_file).absolute() if argv_file is not None else None
    if somebody_may_be_there(folder) and _taken_elsewhere(folder, file):
        return 0
    app.setApplicationName("Tain")
    app.setApplicationDisplayName("Tain")
    app.setDesktopFileName("tain")
    app.setWindowIcon(app_icon())
    apply_theme(app, Settings(folder).get("looks"))
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    collector = GuiThreadCollector()
    collector.start()
    try:
        with logging_to(folder):
            return _run(app, folder, file)
    finally:
        collector.stop()


def _taken_elsewhere(folder: Path, file: Path | None) -> bool:
    from app.window.one_instance import handed_over

    return handed_over(folder, file)


def _run(app: QApplication, folder: Path, file: Path | None) -> int:
    windows = Windows(folder, new_window, app)
    windows.hook()
    app.commitDataRequest.connect(windows.session_ends)
    listening = QTimer(windows)
    listening.setSingleShot(True)
    listening.timeout.connect(lambda: _listen(folder, windows))
    listening.timeout.connect(load_what_comes)
    listening.start(LISTEN_AFTER_MS)  # the first picture comes first
    try:
        windows.open_first(file)
        return app.exec()
    finally:
        windows.unhook()
        app.commitDataRequest.disconnect(windows.session_ends)
        windows.deleteLater()


def _listen(folder: Path, windows: Windows) -> None:
    from app.window.one_instance import Listener

    listener = Listener(folder, windows.open, windows)
    app = QApplication.instance()
    assert app is not None
    app.aboutToQuit.connect(listener.close)


def new_window(folder: Path, *, derive: Derive = derive) -> MainWindow:
    """A window on this data folder, not shown yet; its faults are hooked by who wants them. ``derive``: see Session."""
    folder.mkdir(parents=True, exist_ok=True)
    session = Session(derive=derive)
    faults = Faults(folder, lambda: session.order if session.job.source is not None else None)
    return MainWindow(session, Settings(folder), faults, folder)
