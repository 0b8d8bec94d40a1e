"""Fields and rows that pages are built of. Every editor gets a name, a buddy label and help for screen readers."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QLocale, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QValidator
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QDoubleSpinBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.theme.icons import icon
from app.widgets.plain_text import plain_label, plain_tip
from core.errors import UnreadableError
from core.units import MM_PER_INCH, parse_length_mm

STEP_DIGITS = 9
LABEL_WIDTH = 96


class NumberField(Guarded, QDoubleSpinBox):
    """A number with a unit that is committed when typing ends or an arrow steps it.

    ``entered`` tells the new value; ``refused`` says in words why what was typed can't be (the old value then stands).
    """

    entered = Signal(float)
    refused = Signal(str)

    def __init__(
        self, name: str, *, unit: str = "", low: float, high: float, step: float = 1.0, places: int = 1
    ) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self._name, self._unit, self._places = name, unit, places
        self.setLocale(QLocale.c())
        self.setKeyboardTracking(False)
        self.setCorrectionMode(QAbstractSpinBox.CorrectionMode.CorrectToPreviousValue)
        self.setDecimals(STEP_DIGITS)
        self.setRange(low, high)
        self.setSingleStep(step)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumWidth(96)
        self.valueChanged.connect(self.entered)
        self.editingFinished.connect(self._reset_text)

    def show_value(self, value: float) -> None:
        """Show a value without telling anyone."""
        with QSignalBlocker(self):
            self.setValue(value)
            self._reset_text()

    def textFromValue(self, value: float) -> str:
        """Qt asks how to show a value."""
        text = f"{value:.{self._places}f}"
        if "." in text and self._places > 1:
            whole, _, rest = text.partition(".")
            text = f"{whole}.{rest.rstrip('0') or '0'}"
        return f"{text} {self._unit}".strip()

    def valueFromText(self, text: str) -> float:
        """Qt asks what was typed. Text that was only shown stands for the value itself, not for its rounding."""
        if text == self.textFromValue(self.value()):
            return self.value()
        return self._parsed(text)

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        """Qt asks whether what was typed will do."""
        try:
            fits = self.minimum() <= self._parsed(text) <= self.maximum()
        except (UnreadableError, ValueError):
            fits = False
        return (QValidator.State.Acceptable if fits else QValidator.State.Intermediate, text, position)

    def fixup(self, text: str) -> str:
        """Qt asks what to put in place of what will not do."""
        self.refused.emit(self._refusal(text))
        return self.textFromValue(self.value())

    def event(self, event: QEvent) -> bool:
        """Undo and redo are the job's, unless there is typing in this field to take back."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            line = self.lineEdit()
            undo, redo = (event.matches(key) for key in (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo))
            if (undo and not line.isUndoAvailable()) or (redo and not line.isRedoAvailable()):
                event.ignore()
                return True
        return super().event(event)

    def wheelEvent(self, event) -> None:  # type: ignore[no-untyped-def]
        """The wheel changes a field only once it was clicked; a page that scrolls must not change numbers."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def _parsed(self, text: str) -> float:
        """Raises ValueError or UnreadableError."""
        return float(text.strip().removesuffix(self._unit).replace(",", ".").strip())

    def _refusal(self, text: str) -> str:
        return (
            f"{self._name}: “{text.strip()}” can't be used. "
            f"Give a number from {self.textFromValue(self.minimum())} to {self.textFromValue(self.maximum())}."
        )

    def _reset_text(self) -> None:
        self.lineEdit().setText(self.textFromValue(self.value()))


class LengthField(NumberField):
    """A length kept in mm, shown and typed in mm or inches; ``3 mm`` and ``1/8 in`` are understood either way."""

    per = ""
    _in_inches = False

    def __init__(self, name: str, *, low: float, high: float, places: int = 2, step: float = 1.0) -> None:
        super().__init__(name, unit=f"mm{self.per}", low=low, high=high, step=step, places=places)
        self._mm_places, self._mm_step = places, step

    def show_inches(self, inches: bool) -> None:
        """Switch between mm and inches; the length stays."""
        self._in_inches = inches
        self._unit = f"{'in' if inches else 'mm'}{self.per}"
        self._places = self._mm_places + (2 if inches else 0)
        self.setSingleStep(self._mm_step * MM_PER_INCH / 20 if inches else self._mm_step)
        self._reset_text()

    def textFromValue(self, value: float) -> str:
        """Qt asks how to show a value; lengths are in mm inside."""
        return super().textFromValue(value / MM_PER_INCH if self._in_inches else value)

    def _parsed(self, text: str) -> float:
        length = text.replace(",", ".").strip().removesuffix(self.per)
        return parse_length_mm(length, default_unit="in" if self._in_inches else "mm")


class SpeedField(LengthField):
    """A speed kept in mm/s, shown and typed in mm/s or in/s."""

    per = "/s"


class ChoiceField(Guarded, QComboBox):
    """One of a few values; ``chosen`` tells the new one."""

    chosen = Signal(object)

    def __init__(self, name: str, choices: Sequence[tuple[str, object]] = ()) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._values: list[object] = []
        self.offer(choices)
        self.activated.connect(lambda at: self.chosen.emit(self._values[at]))

    def offer(self, choices: Sequence[tuple[str, object]]) -> None:
        """Put (words, value) pairs in the list."""
        with QSignalBlocker(self):
            self.clear()
            self._values = [value for _, value in choices]
            self.addItems([caption(words) for words, _ in choices])

    def value(self) -> object:
        """The value that is shown, None for none."""
        at = self.currentIndex()
        return self._values[at] if 0 <= at < len(self._values) else None

    def show_value(self, value: object) -> None:
        """Show a value without telling anyone; one that is not in the list shows nothing."""
        with QSignalBlocker(self):
            self.setCurrentIndex(self._values.index(value) if value in self._values else -1)

    def wheelEvent(self, event) -> None:  # type: ignore[no-untyped-def]
        """The wheel scrolls the page, never the choice."""
        event.ignore()


def words(text: str = "", *, role: str = "body") -> QLabel:
    """A label that wraps. ``role`` is "title", "heading", "body" or "quiet"; the theme gives it its looks."""
    label = plain_label(text)
    label.setProperty("role", role)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
    policy = label.sizePolicy()
    policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
    policy.setVerticalPolicy(QSizePolicy.Policy.Minimum)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    return label


def show_role(widget: QWidget, role: str) -> None:
    """Give a widget that is already shown the looks of another role."""
    if widget.property("role") != role:
        widget.setProperty("role", role)
        widget.style().unpolish(widget)
        widget.style().polish(widget)


class Card(QFrame):
    """A quiet frame that holds what belongs together."""

    def __init__(self, heading: str = "") -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(12, 12, 12, 12)
        self.body.setSpacing(8)
        if heading:
            self.body.addWidget(words(heading, role="heading"))

    def row(self, label: str, editor: QWidget, *, help_text: str = "") -> QLabel:
        """A line: label at the left as the editor's buddy, editor at the right, help as its tooltip."""
        line = QHBoxLayout()
        line.setSpacing(8)
        name = plain_label(label)
        name.setMinimumWidth(LABEL_WIDTH)
        name.setBuddy(editor)
        if not editor.accessibleName():
            editor.setAccessibleName(caption(label).replace("&", ""))
        if help_text:
            editor.setToolTip(plain_tip(help_text))
            editor.setAccessibleDescription(caption(help_text))
        line.addWidget(name)
        line.addWidget(editor, 1)
        self.body.addLayout(line)
        return name

    def beside(self, *fields: tuple[str, QWidget, str]) -> QHBoxLayout:
        """A compact row of (label, editor, help): label over editor; only the arrow keys step."""
        line = QHBoxLayout()
        line.setSpacing(8)
        for label, editor, help_text in fields:
            column = QVBoxLayout()
            column.setSpacing(4)
            name = plain_label(label)
            name.setProperty("role", "quiet")
            name.setBuddy(editor)
            if help_text:
                editor.setToolTip(plain_tip(help_text))
                editor.setAccessibleDescription(help_text)
            if isinstance(editor, QAbstractSpinBox):
                editor.setProperty("compact", True)
                editor.setMinimumWidth(72)
            column.addWidget(name)
            column.addWidget(editor)
            line.addLayout(column, 1)
        self.body.addLayout(line)
        return line

    def figure(self, label: str) -> QLabel:
        """A line: label at the left, a figure right-aligned. Gives the figure's label."""
        return figure_line(self.body, label)

    def line(self, *widgets: QWidget) -> QHBoxLayout:
        """Widgets side by side."""
        line = QHBoxLayout()
        line.setSpacing(8)
        for widget in widgets:
            line.addWidget(widget)
        self.body.addLayout(line)
        return line


def figure_line(layout: QVBoxLayout, label: str) -> QLabel:
    """Add a line to a layout: label at the left, a figure right-aligned. Gives the figure's label."""
    line = QHBoxLayout()
    line.setSpacing(8)
    figure = plain_label("–")
    figure.setObjectName(label)
    figure.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    figure.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    figure.setWordWrap(True)  # a long one must not make the page wider than it is
    name = plain_label(label)
    name.setProperty("role", "quiet")
    line.addWidget(name)
    line.addWidget(figure, 1)
    layout.addLayout(line)
    return figure


def on_refusal(field: NumberField, say: Callable[[str], None]) -> None:
    """Have ``say`` told whenever the field turns down what was typed, and "" once a value is taken."""
    field.refused.connect(say)
    field.entered.connect(lambda value: say(""))


def small_button(text: str, name: str = "", *, tip: str = "") -> QPushButton:
    """A plain button within a page; ``name`` says more than its text where that is short."""
    text = caption(text)
    button = QPushButton(text)
    button.setAccessibleName(caption(name) or text.replace("&", ""))
    if tip:
        button.setToolTip(plain_tip(tip))
    return button


def step_button(sign: str, name: str, *, tip: str = "") -> QToolButton:
    """A button that shows a sign only, for a step on or back."""
    button = QToolButton()
    button.setIcon(icon(sign))
    button.setAccessibleName(caption(name))
    button.setToolTip(plain_tip(tip or name))
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    return button


def clear(layout: QVBoxLayout) -> None:
    """Take all widgets and lines out of a layout."""
    while layout.count():
        item = layout.takeAt(0)
        assert item is not None
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()
        elif (inner := item.layout()) is not None:
            clear(inner)  # type: ignore[arg-type]
