"""The timetable as bars: one row a piece, coats filled, burns grey, masking hollow, waits a thin line."""

from datetime import datetime

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme.theme import theme
from core.finishing.timetable import Timetable, time_text

ROW_PX = 20
AXIS_PX = 20
NAME_PX = 28
MOST_ROWS = 12


class TimetableBars(Guarded, QWidget):
    """Follows the theme by itself, since it is drawn anew with it."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(caption("Timetable as bars"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._table: Timetable | None = None

    def show_table(self, table: Timetable | None) -> None:
        """Show this timetable, or nothing."""
        self._table = table if table is not None and table.tasks else None
        self.setVisible(self._table is not None)
        if self._table is not None:
            end = time_text(self._table.end, dated=self._table.dated)
            self.setAccessibleDescription(
                filled("{tasks} steps, cured by {end}", tasks=len(self._table.tasks), end=end)
            )
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Qt: the size it would like."""
        rows = min(len(self._table.done), MOST_ROWS) if self._table is not None else 0
        return QSize(240, rows * ROW_PX + AXIS_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        if self._table is None:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            palette = theme().palette
            tasks = self._table.tasks
            start, end = tasks[0].start, max(task.end for task in tasks)
            span_s = max((end - start).total_seconds(), 60.0)
            room_px = self.width() - NAME_PX - 2

            def across(moment: datetime) -> float:
                return NAME_PX + (moment - start).total_seconds() / span_s * room_px

            for row in range(min(len(self._table.done), MOST_ROWS)):
                own = self._table.tasks_of(row)
                middle = row * ROW_PX + ROW_PX / 2
                painter.setPen(QColor(palette.text))
                name = QRectF(0, row * ROW_PX, NAME_PX - 4, ROW_PX)
                painter.drawText(name, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, str(row + 1))
                painter.setPen(QPen(QColor(palette.quiet), 1))
                painter.drawLine(int(across(own[0].start)), int(middle), int(across(own[-1].end)), int(middle))
                for task in own:
                    coat = task.link.kind in ("coat", "backing")
                    burn = task.link.kind == "burn"
                    painter.setBrush(QColor(palette.accent if coat else palette.quiet if burn else palette.surface))
                    painter.setPen(QPen(QColor(palette.accent if coat else palette.border), 1))
                    left = across(task.start)
                    painter.drawRect(QRectF(left, middle - 6, max(across(task.end) - left, 2.0), 12))
            self._draw_ends(painter, start, end)

    def _draw_ends(self, painter: QPainter, start: datetime, end: datetime) -> None:
        """When the handwork begins and ends."""
        assert self._table is not None
        painter.setPen(QColor(theme().palette.quiet))
        line = QRectF(NAME_PX, self.height() - AXIS_PX, self.width() - NAME_PX - 2, AXIS_PX)
        painter.drawText(line, Qt.AlignmentFlag.AlignLeft, time_text(start, dated=self._table.dated))
        painter.drawText(line, Qt.AlignmentFlag.AlignRight, time_text(end, dated=self._table.dated))
