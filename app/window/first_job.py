"""A first job, step by step: a few words at a time that point at the real controls. It can be left at any step.

A step is done when what it asks for has happened, by whatever way; where nothing is asked for there is a button.
"""

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QRegion
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme.theme import theme
from app.widgets.fields import show_role, small_button, words

LOOK_EVERY_MS = 120
RING_PX = 6
LEAST_WIDE_PX = 240


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What is said, what it points at (None: nothing), and when it is done (never: by its button)."""

    title: str
    text: str
    target: Callable[[], QWidget | None]
    done: Callable[[], bool] | None = None


class Ring(Guarded, QWidget):
    """A frame round a control; it takes no clicks and no keys."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.hide()

    def show_around(self, target: QWidget | None, *, below: QWidget) -> None:
        """Lie round this control as far as it is seen, and below that widget; None hides the ring."""
        if target is None or not target.isVisible():
            self.hide()
            return
        seen = target.visibleRegion().boundingRect()
        window = self.window()
        box = QRect(target.mapTo(window, seen.topLeft()), seen.size()) if not seen.isEmpty() else QRect()
        if box.isEmpty():
            self.hide()
            return
        self.setGeometry(box.adjusted(-RING_PX, -RING_PX, RING_PX, RING_PX).intersected(window.rect()))
        covered = QRect(below.mapTo(window, QPoint(0, 0)) - self.pos(), below.size())
        self.setMask(QRegion(self.rect()) - QRegion(covered))
        self.raise_()
        self.show()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(QColor(theme().palette.accent), 3.0))
            painter.drawRoundedRect(self.rect().adjusted(2, 2, -3, -3), 8.0, 8.0)


class FirstJob(Guarded, QFrame):
    """The plate with the words; ``begin(steps)`` starts, ``left`` tells that it is over."""

    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "plate")
        self.setAccessibleName(caption("Your first job"))
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(6)
        self.title = words(role="heading")
        self.text = words()
        line = QHBoxLayout()
        line.setSpacing(8)
        self.count = words(role="quiet")
        self.leave = small_button("Lea&ve the first job")
        self.leave.clicked.connect(self.end)
        self.next = QPushButton(caption("Ne&xt"))
        self.next.clicked.connect(self.go_on)
        line.addWidget(self.count, 1)
        line.addWidget(self.leave)
        line.addWidget(self.next)
        for widget in (self.title, self.text):
            column.addWidget(widget)
        column.addLayout(line)
        self.hide()
        self._steps: tuple[Step, ...] = ()
        self._at = 0
        self._ring: Ring | None = None
        self._look = QTimer(self)
        self._look.setInterval(LOOK_EVERY_MS)
        self._look.timeout.connect(self._follow)

    def minimumSizeHint(self) -> QSize:
        """Qt: the least size; how tall it is follows from how wide it lies."""
        return QSize(LEAST_WIDE_PX, 0)

    @property
    def step(self) -> Step | None:
        """The step at hand; None once it is over."""
        return self._steps[self._at] if self._at < len(self._steps) else None

    def begin(self, steps: tuple[Step, ...]) -> None:
        """Start with the first step that is not done yet."""
        self._steps, self._at = steps, 0
        if self._ring is None:
            self._ring = Ring(self.window())
        self._pass_done()
        if self.step is None:
            self.end()
            return
        self._show()
        self.show()
        self._look.start()

    def end(self) -> None:
        """Leave it, done or not."""
        self._look.stop()
        self._at = len(self._steps)
        self.hide()
        if self._ring is not None:
            self._ring.hide()
        self.left.emit()

    def go_on(self) -> None:
        """On to the next step, whether this one is done or not."""
        self._at += 1
        self._pass_done()
        if self.step is None:
            self.end()
        else:
            self._show()

    def _pass_done(self) -> None:
        while self.step is not None and self.step.done is not None and self.step.done():
            self._at += 1

    def _show(self) -> None:
        step = self.step
        assert step is not None
        self.title.setText(step.title)
        self.text.setText(step.text)
        self.count.setText(filled("Step {at} of {steps}", at=self._at + 1, steps=len(self._steps)))
        last = self._at == len(self._steps) - 1
        asks = step.done is not None
        self.next.setText(
            caption("&Done") if last and not asks else caption("S&kip this step") if asks else caption("Ne&xt")
        )
        self.next.setAccessibleName(self.next.text().replace("&", ""))
        show_role(self.next, "" if asks else "main")
        self.setAccessibleDescription(f"{step.title}. {step.text}")
        self.updateGeometry()
        self._follow()

    def _follow(self) -> None:
        """The ring follows its control; a step that came to be done gives way to the next."""
        step = self.step
        if step is None or self._ring is None:
            return
        if step.done is not None and step.done():
            self.go_on()
            return
        self._ring.show_around(step.target(), below=self)

    def ring_box(self) -> QRect | None:
        """Where the ring lies in the window; None while it points at nothing."""
        if self._ring is None or self._ring.isHidden():
            return None
        return QRect(self._ring.mapTo(self.window(), QPoint(0, 0)), self._ring.size())
