"""How work is not lost: asked about before it closes or the desktop logs off, offered back after a fault."""

from collections.abc import Callable
from contextlib import suppress

from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtGui import QSessionManager
from PySide6.QtWidgets import QWidget

from app.dialogs.fault_report import FaultDialog
from app.errands.files import Files
from app.qt.captions import filled
from app.session.faults import Fault
from app.session.recovery import Autosave, Leftover, forget
from app.session.session import Session
from app.widgets import messages
from core.errors import TainError
from core.order.order import Order


class Leaving:
    """after_fault: the window closes after a fault, and its safety copy stays for the next start."""

    def __init__(self, window: QWidget, session: Session, files: Files, autosave: Autosave) -> None:
        self._window, self._session, self._files, self._autosave = window, session, files, autosave
        self._given_up: Order | None = None
        self._telling = False
        self.after_fault = False

    def give_up_changes(self) -> None:
        """Let the next closing go ahead without asking, unless the work is changed again before."""
        self._given_up = self._session.order

    def may_close(self) -> bool:
        """Whether nothing would be lost by closing now; asks where something would, and closes later if it saves.

        What is being written stands before the window closes.
        """
        if not self._may_go(self._save_then_close):
            return False
        if self._files.writing and not self.after_fault:
            self._files.once_written(self._window.close)
            return False
        return True

    def session_ends(self, manager: QSessionManager) -> None:
        """The desktop is logging off: unsaved changes are asked about while that can still be stopped.

        What is being written stands before the desktop is told to go on.
        """
        if manager.allowsInteraction():
            if self._may_go(self._save_now):
                self._wait_for(lambda: not self._files.writing)
            else:
                manager.cancel()
            manager.release()
        elif self._session.modified:
            with suppress(TainError):  # nobody is there any more to be told
                self._autosave.write_through()

    def tell_fault(self, fault: Fault) -> None:
        """Say that something went wrong in the program, once at a time; close it if that is wanted."""
        if self._telling:
            return
        self._telling = True
        dialog = FaultDialog(self._window, fault)
        close = messages.run(dialog)
        dialog.deleteLater()
        self._telling = False
        if close and fault.rescue_file is not None:
            self.give_up_changes()  # they are offered back at the next start
            self.after_fault = True
        if close:
            self._window.close()

    def offer_recovery(self, found: list[Leftover]) -> None:
        """Offer back what a window that did not close properly left behind."""
        for leftover in found:
            answer = messages.ask(
                self._window,
                "Bring back unsaved work?",
                filled("Tain did not close properly while {name} had unsaved changes.", name=leftover.name),
                (
                    messages.Answer(key="back", text="&Bring it back"),
                    messages.Answer(key="later", text="&Ask again next time", role="cancel"),
                    messages.Answer(key="drop", text="&Throw it away", role="destroy"),
                ),
                hint=filled("Last changed on {changed_at:%Y-%m-%d at %H:%M}.", changed_at=leftover.changed_at),
            )
            if answer == "drop":
                forget(leftover.file)
            elif answer == "back":
                self._files.recover(leftover)
                break

    def _may_go(self, save: Callable[[], bool]) -> bool:
        """As ``may_close``. ``save`` says whether it is saved by now."""
        if not self._session.modified or self._session.order is self._given_up:
            return True
        answer = self._files.ask_about_changes()
        if answer == "discard":
            self.give_up_changes()
        return save() if answer == "save" else answer == "discard"

    def _save_then_close(self) -> bool:
        self._files.save(lambda: QTimer.singleShot(0, self._window.close))
        return False

    def _save_now(self) -> bool:
        """Save and wait for it: once the desktop was told to go on there is no time left."""
        self._files.save()
        self._wait_for(lambda: not self._files.busy)
        return not self._session.modified

    def _wait_for(self, done: Callable[[], bool]) -> None:
        """Until that is so of the files."""
        loop = QEventLoop()
        connection = self._files.busy_changed.connect(lambda: loop.quit() if done() else None)
        if not done():
            loop.exec()
        self._files.busy_changed.disconnect(connection)
