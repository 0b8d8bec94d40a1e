"""A job that was burned: how long it ran, how it came out, what it left of its piece."""

from PySide6.QtWidgets import QCheckBox, QWidget

from app.dialogs.job_left import JobLeftCard, WorkOut
from app.dialogs.kept_fields import KeptFields
from app.dialogs.profile_rows import is_date, today
from app.qt.captions import caption
from app.qt.guarded import Guarded
from core.errors import TainError
from core.job.plan import Plan
from core.shop_book.used_piece import UsedPiece
from core.units import duration_text, parse_duration_s

SIZE_PX = (980, 480)


class JobDoneDialog(Guarded, KeptFields):
    """Accepted once it makes sense; ``actual_s`` is None where nobody took the time.

    ``left`` asks about the piece of the rack that the job lay on, if it did.
    """

    def __init__(
        self,
        parent: QWidget | None,
        plan: Plan,
        *,
        name: str,
        used: UsedPiece | None = None,
        work_out: WorkOut = lambda side_mm, take: None,
        inches: bool = False,
    ) -> None:
        foreseen = f"{plan.job.stock.name} on {plan.job.machine.name}. Foreseen: {duration_text(plan.time_s)}."
        super().__init__(parent, "Note this job as done", lead=foreseen)
        self.actual_s: float | None = None
        self.name = self.line("Name", name)
        self.date = self.line("Burned on", today())
        self.time = self.line("It ran", hint="minutes:seconds, like 6:40; empty if not timed")
        self.verdict = self.line("How it came out", hint="like: clean, no frosting")
        self.note = self.line("Note")
        self.wrong = QCheckBox(caption("It came out &wrong: find out why"))
        self.form.addRow("", self.wrong)
        self.left = JobLeftCard(used, work_out, inches=inches) if used is not None else None
        if self.left is not None:
            self.beside_fields(self.left)
        self.end_fields("&Note it")
        if self.left is not None:
            self.resize(*SIZE_PX)
        self.time.setFocus()

    def accept(self) -> None:
        """Qt: it is to be noted, if name, date and time make sense."""
        text = self.time.text().strip()
        if not self.name.text().strip():
            self.refuse("Give it a name.")
        elif not is_date(self.date.text().strip()):
            self.refuse(f"“{self.date.text()}” is no date: write it like {today()}.")
        else:
            try:
                self.actual_s = parse_duration_s(text) if text else None
            except TainError as error:
                self.refuse(str(error))
            else:
                super().accept()
