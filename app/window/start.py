"""Starts the window."""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.session.faults import Faults
from app.session.log import logging_to
from app.session.recovery import leftovers
from app.session.session import Derive, Session, derive
from app.session.settings import Settings, data_folder
from app.theme.icons import app_icon
from app.theme.in_force import apply_theme
from app.window.collector import GuiThreadCollector
from app.window.main_window import MainWindow

SWITCH_INTERVAL_S = 0.0005
"""How long the GUI thread waits for a worker to let go of the interpreter; Python's own 5 ms is felt while drawing."""


def run_window(argv_file: str | None) -> int:
    """Show the window, with a file if one is named, until it is closed. Gives the exit code."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("Tain")
    app.setApplicationDisplayName("Tain")
    app.setDesktopFileName("tain")
    app.setWindowIcon(app_icon())
    folder = data_folder()
    apply_theme(app, Settings(folder).get("looks"))
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    collector = GuiThreadCollector()
    collector.start()
    try:
        with logging_to(folder):
            return _run(app, folder, argv_file)
    finally:
        collector.stop()


def _run(app: QApplication, folder: Path, argv_file: str | None) -> int:
    window = new_window(folder)
    window.faults.hook()
    try:
        app.commitDataRequest.connect(window.session_ends)
        window.show()
        QTimer.singleShot(0, lambda: begin(window, folder, argv_file))
        return app.exec()
    finally:
        window.faults.unhook()


def new_window(folder: Path, *, derive: Derive = derive) -> MainWindow:
    """A window on this data folder, not shown yet; its faults are hooked by who wants them. ``derive``: see Session."""
    folder.mkdir(parents=True, exist_ok=True)
    session = Session(derive=derive)
    faults = Faults(folder, lambda: session.job if session.job.source is not None else None)
    return MainWindow(session, Settings(folder), faults, folder)


def begin(window: MainWindow, folder: Path, argv_file: str | None) -> None:
    """What happens once the window stands: unsaved work is offered back, a named file is opened."""
    window.offer_recovery(leftovers(folder / "recovery"))
    if argv_file is not None and not window.files.busy:
        window.files.open(Path(argv_file))
