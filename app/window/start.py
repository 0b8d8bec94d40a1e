"""Starts the window."""

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.session.faults import Faults
from app.session.recovery import leftovers
from app.session.session import Session
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
    settings = Settings(folder)
    apply_theme(app, settings.get("looks"))
    session = Session()
    faults = Faults(folder, lambda: session.job if session.job.source is not None else None)
    faults.hook()
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    collector = GuiThreadCollector()
    collector.start()
    try:
        window = MainWindow(session, settings, faults, folder)
        app.commitDataRequest.connect(window.session_ends)
        window.show()
        QTimer.singleShot(0, lambda: begin(window, folder, argv_file))
        return app.exec()
    finally:
        collector.stop()
        faults.unhook()


def begin(window: MainWindow, folder: Path, argv_file: str | None) -> None:
    """What happens once the window stands: unsaved work is offered back, a named file is opened."""
    window.offer_recovery(leftovers(folder / "recovery"))
    if argv_file is not None and not window.files.busy:
        window.files.open(Path(argv_file))
