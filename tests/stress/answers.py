"""What the monkey does with dialogs: the real ones are shown, played with, and ended in some way."""

import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QDialog, QMessageBox, QWidget

from app.dialogs.fault_report import FaultDialog
from app.widgets import messages

MOST_DEEP = 3
"""Dialogs over dialogs; one more is turned down at once."""
PRESS_EVERY_MS = 5


class MonkeyDialogs(messages.Dialogs):
    """Answers at random. ``play(dialog)`` is called while a dialog of ours is on the screen."""

    def __init__(
        self, dice: random.Random, files: Sequence[Path], folder: Path, play: Callable[[QDialog], None]
    ) -> None:
        self._dice, self._files, self._folder, self._play = dice, files, folder, play
        self._deep = 0
        self.closing = False
        self.note: Callable[[str], None] = lambda text: None

    def tell(self, parent: QWidget | None, title: str, text: str, hint: str) -> None:
        """A real box, its button pressed."""
        self.note(f"told: {text}")
        with self._pressing():
            super().tell(parent, title, text, hint)

    def ask(self, parent: QWidget | None, title: str, text: str, hint: str, answers: Sequence[messages.Answer]) -> str:
        """A real box, any of its buttons pressed."""
        with self._pressing():
            answer = super().ask(parent, title, text, hint, answers)
        self.note(f"asked: {text} answered: {answer}")
        return answer

    def open_file(self, parent: QWidget | None, title: str, folder: str, filters: str) -> str:
        """Any file, a folder, one that is not there, or none."""
        strange = ["", "", str(self._folder), str(self._folder / "not there.svg")]
        own = [str(path) for path in self._folder.iterdir() if path.is_file()]
        chosen = self._dice.choice([*map(str, self._files), *own, *strange])
        self.note(f"chose {chosen or 'nothing'} to open")
        return chosen

    def save_file(self, parent: QWidget | None, title: str, path: str, filters: str) -> str:
        """A new file, one that exists, a folder, a folder that is not there, or none."""
        name = Path(path).name or "something"
        names = [f"{self._dice.randrange(6)}-{name}", name, "", ".", f"nowhere/{name}", "x" * 250]
        chosen = self._dice.choice(names)
        self.note(f"chose {chosen or 'nothing'} to write")
        return str(self._folder / chosen) if chosen else ""

    def choose_colour(self, parent: QWidget | None, title: str, colour: str) -> str:
        """Any colour, or none."""
        return self._dice.choice(["", f"#{self._dice.randrange(1 << 24):06x}"])

    def run(self, dialog: QDialog) -> bool:
        """The dialog itself, played with and ended."""
        if isinstance(dialog, FaultDialog) or self.closing or self._deep >= MOST_DEEP:
            dialog.reject()
            return False
        self._deep += 1
        self.note(f"dialog {dialog.windowTitle()}")

        def play_and_end() -> None:
            try:
                self._play(dialog)
            finally:
                if dialog.isVisible():
                    self._end(dialog)

        QTimer.singleShot(0, play_and_end)
        try:
            return super().run(dialog)
        finally:
            self._deep -= 1

    def _end(self, dialog: QDialog) -> None:
        """Accept, reject or close; one that refuses to be accepted is rejected."""
        ways: list[Callable[[], Any]] = [dialog.accept, dialog.reject, dialog.close]
        self._dice.choice(ways)()
        if dialog.isVisible():
            dialog.done(QDialog.DialogCode.Rejected)

    @contextmanager
    def _pressing(self) -> Iterator[None]:
        """A button is pressed as soon as the box is uppermost: a dialog of what was read meanwhile may lie over it."""
        presses = QTimer()
        presses.timeout.connect(self._press_any)
        presses.start(PRESS_EVERY_MS)
        try:
            yield
        finally:
            presses.stop()

    def _press_any(self) -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            self._dice.choice(box.buttons()).click()
