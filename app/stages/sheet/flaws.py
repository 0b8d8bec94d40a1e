"""Sheet: flaws of the piece at hand, noted by clicks on a face or by numbers, edited, taken off, kept on the rack."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QListWidget, QPushButton, QWidget

from app.canvas.flaw_marks import flaw_words
from app.canvas.sheet_work import FlawKind, SheetWork
from app.dialogs.flaw_form import FlawForm
from app.qt.captions import caption, filled
from app.session.session import Session
from app.session.settings import Settings
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, LengthField, small_button, words
from core.job.decisions import with_sheet
from core.job.job import Job
from core.sheet.placement import Flaw, Points

BY_FACE = "by the face"
SURFACES = (
    ("as the face", BY_FACE),
    ("on the clear face", "clear face"),
    ("in the coat", "coat"),
)
ROWS_SHOWN = 4

Commit = Callable[[Callable[[], Job], str], None]


class FlawsCard(Card):
    """Commits jobs with other flaws by ``commit(change, label)``; ``keep`` puts the flaws on the rack's piece."""

    def __init__(
        self, session: Session, settings: Settings, work: SheetWork, *, commit: Commit, keep: Callable[[], None]
    ) -> None:
        super().__init__()
        self._session, self._settings, self._work, self._commit = session, settings, work, commit
        self._width_mm = 1.0
        self.none = words("None noted. A scratch in the coat shows only where coat stays.", role="quiet")
        self.body.addWidget(self.none)
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Flaws of the sheet"))
        self.list.currentRowChanged.connect(self._chosen)
        self.list.itemActivated.connect(lambda item: self._edit())
        self.body.addWidget(self.list)
        self.edit = small_button("E&dit…", "Edit this flaw")
        self.edit.clicked.connect(self._edit)
        self.take_off = small_button("Take off", "Take this flaw off")
        self.take_off.clicked.connect(self._take_off)
        self._own = self.line(self.edit, self.take_off)
        self.kinds: dict[FlawKind, QPushButton] = {}
        kinds: tuple[FlawKind, ...] = ("point", "line", "patch")
        for kind in kinds:
            button = small_button(
                kind.capitalize(), filled("Note a {kind} on a face", kind=kind), tip="Then click on either face"
            )
            button.setCheckable(True)
            button.setProperty("role", "choice")
            button.clicked.connect(lambda checked, kind=kind: self._note(kind, checked))
            self.kinds[kind] = button
        self.by_numbers = small_button("B&y numbers…", "Note a flaw by numbers")
        self.by_numbers.clicked.connect(self._add_by_numbers)
        self.body.addWidget(words("Note one on a face", role="quiet"))
        self.line(*self.kinds.values())
        self.surface = ChoiceField("Surface of the flaws noted", SURFACES)
        self.surface.show_value(BY_FACE)
        self.row(
            "It lies",
            self.surface,
            help_text="As the face: noted on the front it is on the clear face, on the bed in the coat",
        )
        self.width_field = LengthField("Width of the flaws noted", low=0, high=500, step=0.5)
        self.width_field.show_value(self._width_mm)
        self.row("Its width", self.width_field, help_text="Diameter, or width of a line")
        self.line(self.by_numbers)
        self.keep = small_button("Keep these flaws on the rack", tip="With the piece that the job lies on")
        self.keep.clicked.connect(keep)
        self.body.addWidget(self.keep)
        work.noted.connect(self._noted)
        work.noting_ended.connect(self._show_noting)
        work.flaw_picked.connect(self.list.setCurrentRow)

    def show_job(self, job: Job, *, enabled: bool, keepable: bool) -> None:
        """Show the flaws of the job's sheet; ``keepable``: they differ from those of the piece on the rack."""
        flaws, row = job.sheet.flaws, self.list.currentRow()
        with QSignalBlocker(self.list):
            self.list.clear()
            self.list.addItems([flaw_words(number, flaw) for number, flaw in enumerate(flaws)])
            self.list.setCurrentRow(min(row, len(flaws) - 1))
        height = self.list.sizeHintForRow(0) * min(len(flaws), ROWS_SHOWN) + 2 * self.list.frameWidth() + 4
        self.list.setFixedHeight(max(height, 24))
        self.none.setVisible(not flaws)
        noted: list[QWidget] = [self.list, self.edit, self.take_off]
        for widget in noted:
            widget.setVisible(bool(flaws))
        for button in (*self.kinds.values(), self.by_numbers):
            button.setEnabled(enabled)
        self.keep.setVisible(keepable)
        self._chosen()

    def _chosen(self) -> None:
        row = self.list.currentRow()
        self._work.show_chosen_flaw(row if row >= 0 else None)
        for button in (self.edit, self.take_off):
            button.setEnabled(row >= 0)

    # --- noting --------------------------------------------------------------------------------------------------

    def _note(self, kind: FlawKind, on: bool) -> None:
        if on:
            self._work.note(kind)
            self._show_noting()
        else:
            self._work.end_noting()

    def _show_noting(self) -> None:
        for kind, button in self.kinds.items():
            button.setChecked(kind == self._work.noting)

    def _noted(self, kind: FlawKind, points: Points, face: str) -> None:
        side = "front" if face == "front" else "back"
        chosen = SURFACES[max(0, self.surface.currentIndex())][1]
        surface = ("clear face" if side == "front" else "coat") if chosen == BY_FACE else chosen
        self._add(
            Flaw(
                kind=kind,
                points=points,
                width_mm=self.width_field.value(),
                surface=surface,  # type: ignore[arg-type]  # one of the surfaces
                noted_from="front" if side == "front" else "back",
                turn=self._session.job.turn,
            )
        )

    def _add_by_numbers(self) -> None:
        flaw = self._asked(None)
        if flaw is not None:
            self._add(flaw)

    def _add(self, flaw: Flaw) -> None:
        flaws = self._session.job.sheet.flaws
        self._put((*flaws, flaw), f"Note a {flaw.kind}")
        self.list.setCurrentRow(len(flaws))

    # --- editing -------------------------------------------------------------------------------------------------

    def _edit(self) -> None:
        row, flaws = self.list.currentRow(), self._session.job.sheet.flaws
        if not 0 <= row < len(flaws):
            return
        flaw = self._asked(flaws[row])
        if flaw is not None:
            self._put((*flaws[:row], flaw, *flaws[row + 1 :]), f"Edit flaw {row + 1}")

    def _take_off(self) -> None:
        row, flaws = self.list.currentRow(), self._session.job.sheet.flaws
        if 0 <= row < len(flaws):
            self._put(flaws[:row] + flaws[row + 1 :], f"Take flaw {row + 1} off")

    def _asked(self, flaw: Flaw | None) -> Flaw | None:
        dialog = FlawForm(self.window(), flaw, turn=self._session.job.turn, inches=self._settings.inches)
        taken = messages.run(dialog)
        result = dialog.flaw if taken else None
        dialog.deleteLater()
        return result

    def _put(self, flaws: tuple[Flaw, ...], label: str) -> None:
        job = self._session.job
        self._commit(lambda: with_sheet(job, replace(job.sheet, flaws=flaws)), label)
