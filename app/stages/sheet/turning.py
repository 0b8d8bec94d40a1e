"""Sheet: which way it is turned over, shown as a sheet in the turn with its back hatched, and the machine's stop."""

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QPushButton, QSizePolicy

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme import patterns
from app.theme.theme import theme
from app.widgets.fields import Card, ChoiceField
from app.widgets.plain_text import plain_tip
from core.job.decisions import with_stop_corner, with_turn
from core.job.job import Job
from core.sheet.faces import Corner, turned_corner
from core.sheet.placement import Turn

CORNERS: tuple[Corner, ...] = ("top left", "top right", "bottom left", "bottom right")
TURN_WORDS: dict[Turn, str] = {
    "sideways": "Like a page of a book: left and right change places.",
    "endways": "Like a pad's leaf: top and bottom change places.",
}
PICTURE_PX = 84
SIDE, LIFT = 26.0, 10.0
LYING = 0.85
FAINT = 0.45
"""How strongly the place is drawn where the sheet lay before."""

Commit = Callable[[Callable[[], Job], str], None]


class TurnButton(Guarded, QPushButton):
    """A sheet in the middle of a turn: where it lay, the sheet lifted with its back hatched, the way it goes."""

    def __init__(self, turn: Turn) -> None:
        super().__init__()
        self._turn = turn
        self.setCheckable(True)
        self.setProperty("role", "choice")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(filled("Turn {turn}", turn=turn))
        self.setAccessibleDescription(TURN_WORDS[turn])
        self.setToolTip(plain_tip(TURN_WORDS[turn]))

    def sizeHint(self) -> QSize:
        """Qt: the size it would like."""
        return QSize(120, PICTURE_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            name = QRectF(0, self.height() - 24, self.width(), 20)
            painter.setPen(QColor(theme().palette.text))
            painter.drawText(name, Qt.AlignmentFlag.AlignCenter, self._turn.capitalize())
            turned = QTransform().translate(self.width() / 2, (self.height() - 22) / 2 + 3)
            if self._turn == "endways":  # the same picture with the axis lying
                turned.rotate(90)
                turned.scale(LYING, LYING)
            painter.setTransform(turned)
            self._draw(painter)

    def _draw(self, painter: QPainter) -> None:
        """Around the origin, the axis upright."""
        palette, canvas = theme().palette, theme().canvas
        half = SIDE / 2 + 3
        front = QRectF(2 - SIDE - 8, -half, SIDE + 6, 2 * half)
        painter.setOpacity(FAINT)
        painter.setPen(QPen(QColor(palette.text), 1.25, Qt.PenStyle.DotLine))
        painter.setBrush(QColor(canvas.coat_deep))
        painter.drawRect(front)
        painter.setOpacity(1.0)
        lifted = QPolygonF(
            [QPointF(0, -half), QPointF(SIDE, -half - 4), QPointF(SIDE, half - LIFT + 3), QPointF(0, half)]
        )
        hatch = patterns.hatch(palette.quiet, palette.surface, angle_deg=45.0, origin=QPointF(), density=1.0)
        painter.setPen(QPen(QColor(palette.text), 1.5))
        painter.setBrush(QBrush(hatch))
        painter.drawPolygon(lifted)
        painter.setPen(QPen(QColor(palette.quiet), 1.25, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(0, -half - 7), QPointF(0, half + 7))
        self._draw_way(painter, half)

    def _draw_way(self, painter: QPainter, half: float) -> None:
        """An arrow over the axis from where it lay."""
        accent = QColor(theme().palette.accent)
        painter.setPen(QPen(accent, 1.75))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        way = QPainterPath(QPointF(-SIDE / 2 - 4, half - 8))
        way.quadTo(QPointF(0, half + 6), QPointF(SIDE / 2, half - 12))
        painter.drawPath(way)
        tip = QPointF(SIDE / 2, half - 12)
        painter.drawPolyline(QPolygonF([tip + QPointF(-7, 1), tip, tip + QPointF(1, 7)]))


class TurnCard(Card):
    """The two turns as pictures, the corner of the bed that the stop is at."""

    def __init__(self, commit: Commit, job: Callable[[], Job]) -> None:
        super().__init__("Turning the sheet over")
        self._buttons: dict[Turn, TurnButton] = {}
        for turn in TURN_WORDS:
            button = TurnButton(turn)
            button.clicked.connect(
                lambda checked=False, turn=turn: commit(
                    lambda: with_turn(job(), turn), filled("Turn {turn}", turn=turn)
                )
            )
            self._buttons[turn] = button
        self.line(*self._buttons.values())
        self._stop = ChoiceField("Corner of the bed with the stop")
        self._stop.chosen.connect(
            lambda corner: commit(
                lambda: with_stop_corner(job(), corner), filled("Stop: {corner} of the bed", corner=corner)
            )
        )
        self._stop.setToolTip(
            caption("The corner of the bed where the machine's stop is, and which corner of the front goes there")
        )
        self.body.addWidget(self._stop)

    def show_job(self, job: Job) -> None:
        """Show the job's turn and stop."""
        for turn, button in self._buttons.items():
            button.setChecked(job.turn == turn)
        of_front = {corner: turned_corner(corner, job.turn) for corner in CORNERS}
        self._stop.offer([(f"Stop {corner} of the bed: front's {of_front[corner]}", corner) for corner in CORNERS])
        self._stop.show_value(job.stop_corner)
