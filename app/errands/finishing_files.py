"""Files that finishing needs: masks into a folder, the timetable for a calendar, the run sheet with a preview."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.session.background import Background, once
from app.session.painting import Painted, Painting
from app.widgets import messages
from app.widgets.messages import Answer
from core.atomic import write_atomically
from core.errors import TainError
from core.finishing.calendar_file import calendar_file
from core.output.mask_files import mask_files, write_files
from core.progress import Progress, part
from core.shop_book.store import open_book

if TYPE_CHECKING:
    from core.output.run_sheet.beside import Beside


class FinishingFiles(QObject):
    """Asks, makes the bytes off the GUI thread, writes. written: what was written, for people.

    What is to be written does not wait for paint that is worked out, and is brought to its end before a window closes.
    """

    written = Signal(str)

    def __init__(self, painting: Painting, window: QWidget) -> None:
        super().__init__(window)
        self._painting, self._window = painting, window
        self._background = Background("finishing files", self, finishes=True)

    def save_masks(self, painted: Painted) -> None:
        """All masks, SVG and DXF, into a folder that the maker names."""
        suggested = _beside(painted, "masks")
        folder = messages.save_file(self._window, "A folder for the masks", path=str(suggested), filters="")
        if folder is None:
            return
        overwrite = folder.exists()
        if overwrite and not self._may_replace(f"{folder.name} exists already. Replace the masks in it?", folder):
            return

        def work(progress: Progress) -> int:
            files = [f for kind in (".svg", ".dxf") for f in mask_files(painted.plan, painted.painting, kind)]
            return len(write_files(files, folder, overwrite=overwrite))

        self._write_all(work, lambda count: f"{count} mask files are in {folder}")

    def save_burns(self, painted: Painted) -> None:
        """A bed file, SVG and DXF, for each burn and for the cut, into a folder that the maker names."""
        burning = painted.burning
        suggested = _beside(painted, "burns")
        folder = messages.save_file(self._window, "A folder for the burn files", path=str(suggested), filters="")
        if folder is None or burning is None:
            return
        overwrite = folder.exists()
        if overwrite and not self._may_replace(f"{folder.name} exists already. Replace the burn files in it?", folder):
            return

        def work(progress: Progress) -> int:
            from core.output.burn_files import burn_files

            return len(write_files(burn_files(painted.plan, painted.painting, burning), folder, overwrite=overwrite))

        self._write_all(work, lambda count: f"{count} burn files are in {folder}")

    def save_calendar(self, painted: Painted) -> None:
        """The timetable as an iCalendar file."""
        path = self._target(_beside(painted, "timetable.ics"), "Timetable for a calendar", "Calendars (*.ics)")
        if path is not None:
            name = Path(painted.plan.job.source.name).stem if painted.plan.job.source else "job"
            self._write(path, calendar_file(painted.table, name=name))

    def show_run_sheet(self, painted: Painted) -> None:
        """The run sheet on the screen, to be saved or not."""

        def work(progress: Progress) -> bytes:
            from core.output.export import proof_of
            from core.output.run_sheet.writing import run_sheet

            proof = proof_of(painted.plan)
            beside = _beside_sheet(painted, part(progress, 0.0, 0.6))
            return run_sheet(
                painted.plan,
                painted.painting,
                painted.table,
                read_back=proof,
                beside=beside,
                progress=part(progress, 0.6, 1.0),
            )

        self._painting.make(work, lambda data: self._preview(painted, data), self._failed)

    def _preview(self, painted: Painted, data: bytes) -> None:
        from app.dialogs.run_sheet_preview import RunSheetPreview

        dialog = RunSheetPreview(self._window, data)
        accepted = messages.run(dialog)
        dialog.deleteLater()
        if not accepted:
            return
        path = self._target(_beside(painted, "run sheet.pdf"), "Run sheet", "PDF (*.pdf)")
        if path is not None:
            self._write(path, data)

    def _target(self, suggested: Path, title: str, filters: str) -> Path | None:
        """A file to write, with the right ending, that the maker agreed to overwrite if it exists."""
        path = messages.save_file(self._window, title, path=str(suggested), filters=filters)
        if path is None:
            return None
        if path.suffix.lower() != suggested.suffix:
            path = path.with_name(path.name + suggested.suffix)
        if path.exists() and not self._may_replace(f"{path.name} exists already. Replace it?", path.parent):
            return None
        return path

    def _may_replace(self, question: str, where: Path) -> bool:
        answers = (Answer(key="cancel", text="Keep the old one", role="cancel"), Answer(key="replace", text="&Replace"))
        return messages.ask(self._window, "Replace", question, answers, hint=str(where)) == "replace"

    def _write_all(self, work: Callable[[Progress], int], said: Callable[[int], str]) -> None:
        self._background.start(
            once(work), on_value=lambda count: self.written.emit(said(count)), on_failed=self._failed
        )

    def _write(self, path: Path, data: bytes) -> None:
        try:
            write_atomically(path, data, overwrite=True)
        except TainError as error:
            self._failed(error)
        else:
            self.written.emit(f"Wrote {path}")

    def _failed(self, error: TainError) -> None:
        messages.tell_error(self._window, "Nothing was written", error)


def _beside(painted: Painted, what: str) -> Path:
    """A name that begins like the artwork's."""
    stem = Path(painted.plan.job.source.name).stem if painted.plan.job.source else "job"
    return Path.home() / f"{stem} {what}"


def _beside_sheet(painted: Painted, progress: Progress) -> "Beside":
    """The piece as the shop book has it now, where it is there, and the files that go along."""
    from core.output.run_sheet.beside import Beside, handed_files

    files = handed_files(painted.plan, painted.painting, progress=progress)
    if painted.plan.job.piece_id:
        try:
            with open_book() as book:
                entry = book.entry(painted.plan.job.piece_id)
            return Beside(label=entry.name, piece=entry.value, files=files)
        except TainError:  # another shop's piece: the sheet is drawn all the same
            pass
    return Beside(files=files)
