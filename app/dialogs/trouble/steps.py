"""The job's own steps of painting, ticked off when they are done; the waits run from there."""

from datetime import datetime, timedelta

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.session.session import Session
from app.widgets.checklist import Checklist, CheckRow, until
from app.widgets.fields import words
from core.finishing.bench_work import Task
from core.finishing.ticking import moment_of
from core.finishing.timetable import Timetable, time_text
from core.job.painting.decisions import with_step_ticked

SIZE_PX = (560, 640)


class StepsDialog(QDialog):
    """Commits each tick to the session's job; undo takes it back."""

    def __init__(self, parent: QWidget | None, session: Session, table: Timetable) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Steps of painting"))
        self._session, self._table = session, table
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        lead = "Tick a step when it is done. What came out wrong is then judged by the waits that really were."
        layout.addWidget(words(lead, role="quiet"))
        self.steps = Checklist("Steps of painting, ticked when done", self._told_due)
        self.steps.ticked.connect(self._tick)
        layout.addWidget(self.steps, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        close = QPushButton(caption("&Close"))
        close.clicked.connect(self.accept)
        foot.addWidget(close)
        layout.addLayout(foot)
        self.resize(*SIZE_PX)
        self._show()

    def _done(self) -> dict[tuple[str, int], datetime]:
        return {(tick.label, tick.piece): moment_of(tick.at) for tick in self._session.job.finishing.ticks}

    def _show(self) -> None:
        done, several = self._done(), len(self._table.done) > 1
        rows = []
        for task in self._table.tasks:
            key = (task.label, task.piece)
            when = f"done {done[key]:%H:%M}" if key in done else time_text(task.start, dated=self._table.dated)
            piece = f", piece {task.piece}" if several else ""
            latest = f", no later than {task.link.within_min:g} min" if task.link.within_min else ""
            wait = f"\nafter {task.link.wait_min:g} min{latest}" if task.link.wait_min else ""
            rows.append(
                CheckRow(key=f"{task.piece} {task.label}", text=f"{when}  {task.label}{piece}{wait}", done=key in done)
            )
        self.steps.show_rows(rows)

    def _tick(self, key: str, on: bool) -> None:
        piece, _, label = key.partition(" ")
        at = datetime.now().isoformat(timespec="seconds") if on else None
        self._session.commit(
            with_step_ticked(self._session.job, label, int(piece), at),
            filled("{label} done", label=label) if on else "Tick off",
        )
        self._show()

    def _told_due(self) -> str:
        done = self._done()
        if not done:
            return "Nothing is ticked yet."
        told = []
        for task, before in self._next():
            at = done.get((before.label, before.piece)) if before is not None else None
            if at is not None:
                due = at + timedelta(minutes=task.link.wait_min)
                told.append(f"{task.label}: {until((due - datetime.now()).total_seconds() / 60)}")
        return "\n".join(told[:4]) or "All of it is done."

    def _next(self) -> list[tuple[Task, Task | None]]:
        """The next step of each piece with the one before it."""
        done, found = self._done(), []
        for piece in range(1, len(self._table.done) + 1):
            own = [task for task in self._table.tasks if task.piece == piece]
            waiting = next((place for place, task in enumerate(own) if (task.label, piece) not in done), None)
            if waiting is not None:
                found.append((own[waiting], own[waiting - 1] if waiting else None))
        return found
