"""Rows of the profile editor: a figure, where it comes from, on what date, how sure it is."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date as dates
from typing import Any

from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app.qt.captions import caption, filled
from app.widgets.fields import ChoiceField, LengthField, NumberField, SpeedField, words
from app.widgets.figure_fields import AccelerationField, figure_field, with_help
from app.widgets.plain_text import plain_label, plain_tip
from app.words.figure_words import ORIGIN_WORDS
from app.words.wording import rounded
from core.figures import Figure
from core.sheet.recipes import Origin
from core.units import MM_PER_INCH

ORIGINS = tuple((told, kind) for kind, told in ORIGIN_WORDS.items())
UNKNOWN = "–"


class _ErrorText:
    """For a field that shows two figures that count, and a dash for 0: nothing is known of the error."""

    _unit: str
    _in_inches = False

    def textFromValue(self, value: float) -> str:
        """Qt asks how to show a value."""
        shown = rounded(value / MM_PER_INCH if self._in_inches else value, 2)
        return UNKNOWN if value == 0 else f"{shown} {self._unit}".strip()

    def _parsed(self, text: str) -> float:
        return 0.0 if text.strip() in ("", UNKNOWN) else super()._parsed(text)  # type: ignore[misc]


class _NumberError(_ErrorText, NumberField):
    pass


class _LengthError(_ErrorText, LengthField):
    pass


class _SpeedError(_ErrorText, SpeedField):
    pass


class _AccelerationError(_ErrorText, AccelerationField):
    pass


_ERRORS: dict[str, type[LengthField]] = {"mm": _LengthError, "mm/s": _SpeedError, "mm/s²": _AccelerationError}


def error_field(figure: Figure, name: str, *, inches: bool) -> NumberField:
    """The editor of a figure's standard error; a dash stands for none."""
    high, places = figure.most, figure.places + 2
    if figure.unit in _ERRORS:
        field = _ERRORS[figure.unit](name, low=0, high=high, places=places, step=figure.step / 10)
        field.show_inches(inches)
        return field
    return _NumberError(name, unit=figure.unit, low=0, high=high, places=places, step=figure.step / 10)


class OriginEditors:
    """Editors of one origin: where from, date, standard error (unless ``error`` is None). ``changed`` is told it."""

    def __init__(self, name: str, error: NumberField | None, changed: Callable[[Origin], None]) -> None:
        self._origin, self._changed = Origin(), changed
        self.kind = ChoiceField(filled("Where {name} comes from", name=name), ORIGINS)
        self.kind.setMinimumContentsLength(12)
        self.kind.chosen.connect(self._kind_chosen)
        self.date = QLineEdit()
        self.date.setAccessibleName(filled("Date of {name}", name=name))
        self.date.setPlaceholderText(caption("date"))
        self.date.setFixedWidth(96)
        self.date.editingFinished.connect(self._date_entered)
        self.error = error
        self.refused: Callable[[str], None] = lambda text: None
        if error is not None:
            error.entered.connect(lambda value: self._change(standard_error=value or None))

    def show_origin(self, origin: Origin) -> None:
        """Show an origin without telling anyone."""
        self._origin = origin
        self.kind.show_value(origin.kind)
        self.kind.setToolTip(plain_tip(origin.note))
        self.kind.setAccessibleDescription(origin.note)
        self.date.setText(origin.date)
        if self.error is not None:
            self.error.show_value(origin.standard_error or 0.0)

    def _kind_chosen(self, kind: str) -> None:
        dated = "" if kind == "starting point" else self._origin.date or today()
        self._change(kind=kind, date=dated, note="")

    def _date_entered(self) -> None:
        text = self.date.text().strip()
        if text == self._origin.date:
            return
        if text and not is_date(text):
            self.refused(f"“{text}” is no date: write it like {today()}.")
            self.date.setText(self._origin.date)
        else:
            self._change(date=text)

    def _change(self, **changes: object) -> None:
        self.refused("")
        self._changed(replace(self._origin, **changes))  # type: ignore[arg-type]  # fields of an origin


class FigureRow:
    """One figure of a profile in a grid: words, value, origin, date, standard error, and the origin's note below."""

    def __init__(
        self,
        grid: QGridLayout,
        figure: Figure,
        *,
        inches: bool,
        entered: Callable[[Any], None],
        origin_changed: Callable[[Origin], None],
        refused: Callable[[str], None],
    ) -> None:
        row = grid.rowCount()
        self.field = figure_field(figure, figure.words, entered=entered, refused=refused, inches=inches)
        with_help(self.field, figure.about)
        self.field.setMinimumWidth(120)
        error = None
        if figure.kind == "number":
            error = error_field(figure, f"Standard error of {figure.words}", inches=inches)
            error.refused.connect(refused)
            error.setMinimumWidth(96)
        self.origin = OriginEditors(figure.words, error, origin_changed)
        self.origin.refused = refused
        editors = (self.field, self.origin.kind, self.origin.date, *((error,) if error is not None else ()))
        add_row(grid, row, figure.words, *editors)
        self._note = words(role="quiet")
        grid.addWidget(self._note, row + 1, 1, 1, 4)

    def show_figure(self, value: Any, origin: Origin) -> None:
        """Show the figure without telling anyone."""
        self.field.show_value(value)
        self.origin.show_origin(origin)
        noted = origin.kind != "starting point" and bool(origin.note)
        self._note.setText(origin.note if noted else "")
        self._note.setVisible(noted)


def add_row(grid: QGridLayout, row: int, label: str, *editors: QWidget) -> None:
    """A label as the first editor's buddy, then the editors."""
    name = plain_label(label)
    name.setBuddy(editors[0])
    grid.addWidget(name, row, 0)
    for column, editor in enumerate(editors, start=1):
        grid.addWidget(editor, row, column)


def today() -> str:
    """The date of today, ISO."""
    return dates.today().isoformat()


def is_date(text: str) -> bool:
    """Whether the text is an ISO date."""
    try:
        dates.fromisoformat(text)
    except ValueError:
        return False
    return len(text) == len("2026-01-31")
