"""Editors made from a figure's declaration: a number, a length in mm or inches, a choice, a box to tick."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox, QWidget

from app.qt.captions import caption
from app.widgets.fields import ChoiceField, LengthField, NumberField, SpeedField
from app.widgets.plain_text import plain_tip
from core.figures import Figure, OtherForm, from_other_form, other_limits


class AccelerationField(LengthField):
    """An acceleration kept in mm/s², shown and typed in mm/s² or in/s²."""

    per = "/s²"


class SwitchField(QCheckBox):
    """Yes or no; ``chosen`` tells the new value."""

    chosen = Signal(bool)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.clicked.connect(self.chosen)

    def show_value(self, value: Any) -> None:
        """Show a value without telling anyone."""
        with QSignalBlocker(self):
            self.setChecked(value)


LENGTHS: dict[str, type[LengthField]] = {"mm": LengthField, "mm/s": SpeedField, "mm/s²": AccelerationField}
"""Units that are shown in inches, too."""

FigureField = NumberField | ChoiceField | SwitchField


def figure_field(
    figure: Figure,
    name: str,
    *,
    entered: Callable[[Any], None],
    refused: Callable[[str], None] | None = None,
    inches: bool = False,
) -> FigureField:
    """The editor of a figure. ``name`` is read aloud; ``entered`` is told the new value, ``refused`` why there is none.

    Its limits are the table's; the caller shows the value and puts it into a row.
    """
    if figure.kind == "choice":
        choice = ChoiceField(name, [(word, word) for word in figure.choices])
        choice.chosen.connect(entered)
        return choice
    if figure.kind == "switch":
        switch = SwitchField(name)
        switch.chosen.connect(entered)
        return switch
    field = number_field(figure, name, inches=inches)
    field.entered.connect(lambda value: entered(round(value) if figure.kind == "count" else value))
    if refused is not None:
        field.refused.connect(refused)
    return field


def number_field(figure: Figure, name: str, *, inches: bool = False) -> NumberField:
    """The editor of a number, in mm or inches where it is a length."""
    if figure.unit in LENGTHS:
        field = LENGTHS[figure.unit](name, low=figure.least, high=figure.most, places=figure.places, step=figure.step)
        field.show_inches(inches)
        return field
    return NumberField(
        name, unit=figure.unit, low=figure.least, high=figure.most, places=figure.places, step=figure.step
    )


def other_form_field(figure: Figure, other: OtherForm, name: str, *, entered: Callable[[Any], None]) -> NumberField:
    """The editor of a figure's other form; ``entered`` is told the figure itself."""
    low, high = other_limits(figure, other)
    field = NumberField(name, unit=other.unit, low=low, high=high, places=other.places, step=other.step)
    field.entered.connect(lambda value: entered(from_other_form(figure, value)))
    return field


def with_help(editor: QWidget, about: str) -> None:
    """Say what an editor is for, in its tooltip and to screen readers."""
    editor.setToolTip(plain_tip(about))
    editor.setAccessibleDescription(about)
