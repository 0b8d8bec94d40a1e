"""What guides the maker: help beside the window, the first job step by step, keys, cautions and what Tain is."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QWidget

from app.session.session import Session
from app.widgets import messages
from app.window.commands import Commands
from app.window.first_job import FirstJob
from app.window.first_job_steps import Controls, first_job_steps
from app.window.menus import key_sections

if TYPE_CHECKING:
    from app.dialogs.help_reader import HelpReader


class Guidance:
    """reader: the window of help, once it was opened."""

    def __init__(self, window: QWidget, session: Session, first_job: FirstJob) -> None:
        self._window, self._session, self._first_job = window, session, first_job
        self.reader: HelpReader | None = None

    @property
    def by_key(self) -> Commands:
        """The commands that need nothing but the job."""
        return {"keys": self._show_keys, "cautions": self._show_cautions, "about": self._show_about}

    def show_help(self, page: str) -> None:
        """A page of help, beside the window."""
        from app.dialogs.help_reader import HelpReader

        if self.reader is None:
            self.reader = HelpReader(self._window)
        self.reader.show_page(page)
        self.reader.show()
        self.reader.raise_()
        self.reader.activateWindow()

    def begin_first_job(self, controls: Controls) -> None:
        """Lead through a first job at these controls."""
        self._first_job.begin(first_job_steps(controls))

    def _show_keys(self) -> None:
        from app.dialogs.help import keys_dialog

        self._run(keys_dialog(self._window, key_sections()))

    def _show_cautions(self) -> None:
        from app.dialogs.help import cautions_dialog
        from core.job.cautions import cautions_for

        self._run(cautions_dialog(self._window, cautions_for(self._session.job)))

    def _show_about(self) -> None:
        from app.dialogs.help import about_dialog

        self._run(about_dialog(self._window))

    def _run(self, dialog: QDialog) -> None:
        messages.run(dialog)
        dialog.deleteLater()
