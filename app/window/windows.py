"""All windows of the program: each has a job of its own; what goes wrong is told in the one that is in front."""

import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtGui import QSessionManager
from PySide6.QtWidgets import QApplication
from shiboken6 import isValid

from app.qt.guarded import Guarded
from app.session.recovery import leftovers
from app.window.main_window import MainWindow

ASIDE_PX = 32


class Windows(Guarded, QObject):
    """``open(file)`` shows a file in a window: the one that has it, an empty one, or a new one."""

    def __init__(self, folder: Path, make: Callable[[Path], MainWindow], parent: QObject) -> None:
        super().__init__(parent)
        self._folder, self._make = folder, make
        self._hooks_before: tuple[Any, Any] | None = None
        self.all: list[MainWindow] = []

    def open_first(self, file: Path | None) -> MainWindow:
        """The first window: unsaved work is offered back, then the file is opened."""
        window = self._new()

        def begin() -> None:
            window.leaving.offer_recovery(leftovers(self._folder / "recovery"))
            if file is not None and not window.files.busy:
                window.files.open(file)

        QTimer.singleShot(0, begin)
        return window

    def open(self, file: Path | None) -> MainWindow:
        """The file in a window of its own, brought to the front."""
        window = self._showing(file) or self._empty() or self._new()
        if file is not None and window is not self._showing(file):
            window.files.open(file)
        window.setWindowState(window.windowState() & ~window.windowState().WindowMinimized)
        window.raise_()
        window.activateWindow()
        return window

    def session_ends(self, manager: QSessionManager) -> None:
        """The desktop is logging off: each window is asked."""
        for window in list(self.all):
            window.leaving.session_ends(manager)

    def hook(self) -> None:
        """Have Python hand every exception that nobody caught to the window in front."""
        self._hooks_before = (sys.excepthook, threading.excepthook)
        sys.excepthook = self._fault
        threading.excepthook = lambda args: self._fault(
            args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback
        )

    def unhook(self) -> None:
        """Put the hooks back that were there before."""
        if self._hooks_before is not None:
            sys.excepthook, threading.excepthook = self._hooks_before
            self._hooks_before = None

    def _fault(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        in_front = QApplication.activeWindow()
        telling = next((one for one in self.all if one is in_front), self.all[-1] if self.all else None)
        if telling is None:
            sys.__excepthook__(kind, error, trace)
        else:
            telling.faults.take(kind, error, trace)

    def _new(self) -> MainWindow:
        window = self._make(self._folder)
        if self.all:  # it would lie just over the one before
            window.move(self.all[-1].pos().x() + ASIDE_PX, self.all[-1].pos().y() + ASIDE_PX)
        self.all.append(window)
        window.installEventFilter(self)
        window.show()
        return window

    def _showing(self, file: Path | None) -> MainWindow | None:
        if file is None:
            return None
        return next((one for one in self.all if file in (one.session.path, one.files.artwork_path)), None)

    def _empty(self) -> MainWindow | None:
        return next((one for one in self.all if one.session.job.source is None and not one.files.busy), None)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: a window that was closed is let go once there is another; the last one ends the program."""
        if event.type() == QEvent.Type.Close and isinstance(watched, MainWindow):
            QTimer.singleShot(0, self, lambda: self._let_go(watched))
        return super().eventFilter(watched, event)

    def _let_go(self, window: MainWindow) -> None:
        if window in self.all and isValid(window) and not window.isVisible() and len(self.all) > 1:
            self.all.remove(window)
            window.deleteLater()
