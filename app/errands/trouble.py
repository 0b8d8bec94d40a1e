"""A piece that came out wrong: the page that says why, the trial that settles it, trials worked through and read."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QWidget

from app.errands.files import Files
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.widgets import messages

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook
    from core.trouble.causes.cause import Cause
    from core.trouble.faults import Fault
    from core.trouble.trials.trial import Trial


class Trouble(QObject):
    """``by_key`` holds the commands by the keys of the menus. told: words on what was done."""

    told = Signal(str)

    def __init__(self, session: Session, settings: Settings, files: Files, shop: Shop, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._files, self._shop = session, settings, files, shop
        self._window = window
        self.by_key: dict[str, Callable[[], object]] = {
            "came out wrong": lambda: self.show_page(),
            "trials": self.show_trials,
        }

    def show_page(self, kept: "Entry | None" = None) -> None:
        """What is seen, why it may be so, what can be done; of the present job, or of one that the shop book kept."""
        from app.dialogs.trouble.page import TroublePage

        name = self._files.stem() if self._session.job.source is not None else ""
        if kept is not None:
            name = kept.value.job if kept.kind == "fault" else kept.name
        value = kept.value if kept is not None else None
        page = TroublePage(self._window, self._session, self._shop, job=name, kept=value)
        page.trial_wanted.connect(lambda faults, cause, paint: self._plan_trial(page, faults, cause, paint))
        self._run(page)

    def show_trials(self) -> None:
        """The shop's trials: their steps, their patches, what they say."""
        from app.dialogs.trouble.trials import TrialsDialog

        dialog = TrialsDialog(self._window, self._shop)
        self._run(dialog)
        if dialog.leads_to_trouble:
            self.show_page()

    def _plan_trial(self, page: QWidget, faults: "Sequence[Fault]", cause: "Cause", paint: str) -> None:
        from app.dialogs.trouble.trial_plan import TrialPlanDialog

        plan = self._session.plan if self._session.current else None
        job = self._session.job
        dialog = TrialPlanDialog(page, job, plan, faults=faults, factors=cause.factors, paint=paint)
        if not self._run(dialog) or dialog.trial is None:
            return
        trial = dialog.trial
        folder = Path(self._settings.get("folder") or Path.home()) / f"trial {trial.code}"
        chosen = messages.save_file(page, "A folder for the trial's files", path=str(folder), filters="")
        if chosen is not None:
            self._write(page, trial, chosen)

    def _write(self, page: QWidget, trial: "Trial", folder: Path) -> None:
        def work(book: "ShopBook") -> int:
            from core.output.mask_files import write_files
            from core.shop_book.trials_kept import keep_trial
            from core.trouble.trials.files import trial_files

            written = write_files(trial_files(trial)[1], folder, overwrite=False)
            keep_trial(book, trial)
            return len(written)

        self._shop.do(
            work,
            lambda count: self.told.emit(
                f"Trial {trial.code}: {count} files in {folder}. Its steps stand in the menu Trials."
            ),
            lambda error: messages.tell_error(page, "The trial was not written", error),
            writes=True,
        )

    def _run(self, dialog: QDialog) -> bool:
        accepted = messages.run(dialog)
        dialog.deleteLater()
        return accepted
