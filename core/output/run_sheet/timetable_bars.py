"""The timetable as bars on the run sheet."""

from datetime import timedelta
from typing import Any

from reportlab.platypus import Flowable

from core.finishing.timetable import Timetable, time_text

MOST_BARS = 8


class TimetableBars(Flowable):  # type: ignore[misc]  # the library has no types
    """One row a piece: coats black, burns grey, masking and peeling hollow, waits a thin line."""

    def __init__(self, table: Timetable, width: float, *, font: str, row_height: float = 13.0) -> None:
        super().__init__()
        self._table, self._font, self._row = table, font, row_height
        self._pieces = min(len(table.done), MOST_BARS)
        self.width, self.height = width, self._pieces * row_height + 16.0

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        tasks = self._table.tasks
        start, end = tasks[0].start, max(task.end for task in tasks)
        span_s = max((end - start).total_seconds(), 60.0)
        left = 46.0

        def across(moment: Any) -> float:
            return float(left + (moment - start).total_seconds() / span_s * (self.width - left))

        self._hours(across, span_s)
        for piece in range(1, self._pieces + 1):
            y = self.height - piece * self._row
            own = self._table.tasks_of(piece - 1)
            self.canv.setFont(self._font, 8.5)
            self.canv.setFillGray(0.0)
            self.canv.drawString(0.0, y + 2.5, f"piece {piece}")
            self.canv.setStrokeGray(0.0)
            self.canv.setLineWidth(0.5)
            self.canv.line(across(own[0].start), y + 5.0, across(own[-1].end), y + 5.0)
            for task in own:
                coat = task.link.kind in ("coat", "backing")
                wide = max(across(task.end) - across(task.start), 1.2)
                self.canv.setFillGray(0.0 if coat else 0.6 if task.link.kind == "burn" else 1.0)
                self.canv.rect(across(task.start), y + 1.0, wide, 8.0, fill=1, stroke=1)

    def _hours(self, across: Any, span_s: float) -> None:
        start = self._table.tasks[0].start
        step_h = next((h for h in (1, 2, 3, 6, 12, 24) if span_s / 3600 / h <= 12), 48)
        moment = start.replace(minute=0, second=0, microsecond=0)
        self.canv.setFont(self._font, 7.5)
        self.canv.setStrokeGray(0.7)
        self.canv.setLineWidth(0.3)
        while (moment - start).total_seconds() <= span_s:
            if moment >= start and moment.hour % min(step_h, 24) == 0:
                self.canv.line(across(moment), 12.0, across(moment), self.height)
                self.canv.setFillGray(0.0)
                label = time_text(moment, dated=self._table.dated, with_day=step_h >= 24)
                self.canv.drawCentredString(min(max(across(moment), 50.0), self.width - 12.0), 3.0, label)
            moment += timedelta(hours=1)
