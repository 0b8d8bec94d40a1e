"""The stages at the left in the order of the work, each with its mark: a sign and a word."""

from functools import partial

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QFrame, QSizePolicy, QVBoxLayout

from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.stages.stage import WAITING, Mark, Stage, State
from app.theme.icons import paint_icon
from app.theme.theme import theme
from app.widgets.plain_text import plain_tip

WIDE_PX, NARROW_PX = 184, 56
ROW_HEIGHT_PX = 52
_SIGNS = {
    State.DONE: ("done", "done"),
    State.DECIDE: ("question", "warning"),
    State.BLOCKED: ("problem", "problem"),
    State.WAITING: ("waiting", "quiet"),
}


class StageRail(QFrame):
    """One button a stage; ``chosen`` tells the stage that is wanted."""

    chosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "rail")
        self.setAccessibleName(caption("Stages of the work"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 12, 8, 12)
        layout.setSpacing(4)
        self._buttons: dict[Stage, StageButton] = {}
        for number, stage in enumerate(Stage, start=1):
            button = StageButton(stage, f"Ctrl+{number}")
            button.clicked.connect(lambda checked=False, stage=stage: self.chosen.emit(stage))
            button.stepped.connect(partial(self._step, stage))
            self._buttons[stage] = button
            layout.addWidget(button)
        layout.addStretch(1)
        self.show_narrow(False)

    def show_stage(self, stage: Stage) -> None:
        """Mark a stage as the present one."""
        for each, button in self._buttons.items():
            button.setChecked(each is stage)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus if each is stage else Qt.FocusPolicy.NoFocus)

    def show_marks(self, marks: dict[Stage, Mark]) -> None:
        """Show how each stage stands."""
        for stage, mark in marks.items():
            self._buttons[stage].show_mark(mark)

    def show_narrow(self, narrow: bool) -> None:
        """Only signs, or signs and words."""
        self.setFixedWidth(NARROW_PX if narrow else WIDE_PX)
        for button in self._buttons.values():
            button.narrow = narrow
            button.update()

    def _step(self, start: Stage, by: int) -> None:
        stages = list(Stage)
        stage = stages[max(0, min(len(stages) - 1, stages.index(start) + by))]
        self.chosen.emit(stage)
        self._buttons[stage].setFocus(Qt.FocusReason.TabFocusReason)

    def button(self, stage: Stage) -> "StageButton":
        """The button of a stage."""
        return self._buttons[stage]


class StageButton(Guarded, QAbstractButton):
    """A stage's icon, name and mark. ``stepped``: an arrow key went by so many stages."""

    stepped = Signal(int)

    def __init__(self, stage: Stage, shortcut: str) -> None:
        super().__init__()
        self._stage, self._shortcut = stage, shortcut
        self.mark = WAITING
        self.narrow = False
        self.setText(caption(stage.title))
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.show_mark(WAITING)

    def show_mark(self, mark: Mark) -> None:
        """Show how the stage stands."""
        self.mark = mark
        why = f": {mark.why}" if mark.why else ""
        state = f", {mark.state.value}{why}"
        self.setAccessibleName(f"{self.text()}{state}")
        self.setToolTip(plain_tip(f"{self.text()}{state} ({self._shortcut})"))
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: the arrow keys go from stage to stage."""
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        if event.key() in steps:
            self.stepped.emit(steps[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        """Qt: how much room it wants."""
        return QSize(WIDE_PX - 16, ROW_HEIGHT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        colours = theme().palette
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            box = self.rect().adjusted(1, 1, -1, -1)
            if self.isChecked() or self.underMouse():
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(colours.accent_soft if self.isChecked() else colours.pressed))
                painter.drawRoundedRect(box, 8, 8)
            if self.hasFocus():
                painter.setPen(QPen(QColor(colours.accent), 2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRoundedRect(box, 8, 8)
            if self.narrow:
                self._paint_icon(painter, QPoint(self.width() // 2 - 3, self.height() // 2))
                self._paint_sign(painter, QRect(self.width() - 18, self.height() - 20, 14, 14))
                return
            self._paint_icon(painter, QPoint(22, self.height() // 2))
            self._paint_words(painter)
            self._paint_sign(painter, QRect(self.width() - 28, self.height() // 2 - 9, 18, 18))

    def _paint_icon(self, painter: QPainter, centre: QPoint) -> None:
        box = QRect(0, 0, 20, 20)
        box.moveCenter(centre)
        paint_icon(painter, box, self._stage.value)

    def _paint_sign(self, painter: QPainter, box: QRect) -> None:
        name, role = _SIGNS[self.mark.state]
        paint_icon(painter, box, name, role)

    def _paint_words(self, painter: QPainter) -> None:
        colours = theme().palette
        left = 44
        width = self.width() - left - 32
        title = QRect(left, 7, width, 20)
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold if self.isChecked() else QFont.Weight.Normal)
        painter.setFont(font)
        painter.setPen(QColor(colours.text))
        painter.drawText(title, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, self.text())
        font.setWeight(QFont.Weight.Normal)
        font.setPointSizeF(font.pointSizeF() - 1.5)
        painter.setFont(font)
        painter.setPen(QColor(getattr(colours, _SIGNS[self.mark.state][1])))
        below = QRect(left, 27, width, 18)
        painter.drawText(below, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, self.mark.state.value)
