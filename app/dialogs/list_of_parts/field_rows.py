"""One line for each field of the design: what fills it, how text that is too long is fitted."""

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app.qt.captions import caption, filled
from app.widgets.fields import ChoiceField, NumberField, words
from app.widgets.plain_text import plain_label
from core.errors import TainError
from core.order.fields import FITS, Field
from core.order.running import parse_running

_LIMIT_PX = 84
_NOTHING, _NUMBERS = "", "#"
_FIT_WORDS = {
    "as it is": "stays as it is",
    "narrower": "is made narrower",
    "smaller": "is made smaller",
    "two lines": "goes in two lines",
}


class FieldRows(QWidget):
    """``changed`` tells all fields as they now are; ``refused`` why what was typed makes none."""

    changed = Signal(object)
    refused = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._fields: tuple[Field, ...] = ()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(8)
        self._grid.setColumnStretch(1, 1)
        self._grid.setColumnStretch(2, 1)
        self.sources: list[ChoiceField] = []
        self.numbers: list[QLineEdit] = []
        self.fits: list[ChoiceField] = []
        self.limits: list[NumberField] = []

    def show_fields(self, fields: Sequence[Field], columns: Sequence[str]) -> None:
        """Show these fields, to be filled from these columns."""
        if tuple(one.name for one in fields) != tuple(one.name for one in self._fields) or not self.sources:
            self._make(fields)
        self._fields = tuple(fields)
        choices = [(f"column {column}", column) for column in columns]
        for at, one in enumerate(fields):
            self.sources[at].offer([*choices, ("numbers that run", _NUMBERS), ("nothing", _NOTHING)])
            self.sources[at].show_value(_NUMBERS if one.running is not None else one.column)
            self.numbers[at].setVisible(one.running is not None)
            if one.running is not None and not self.numbers[at].hasFocus():
                self.numbers[at].setText(one.running.words)
            self.fits[at].show_value(one.fit)
            self.limits[at].show_value(one.limit_pct)
            self.limits[at].setEnabled(one.fit != "as it is")

    def _make(self, fields: Sequence[Field]) -> None:
        while self._grid.count():
            item = self._grid.takeAt(0)
            if item is not None and (widget := item.widget()) is not None:
                widget.deleteLater()
        self.sources, self.numbers, self.fits, self.limits = [], [], [], []
        if fields:
            for column, said in enumerate(("Field", "is filled from", "long text", "at least")):
                self._grid.addWidget(words(caption(said), role="quiet"), 0, column)
        for at, one in enumerate(fields):
            source = ChoiceField(filled("What fills {name}", name=one.name))
            numbers = QLineEdit("1 …")
            numbers.setAccessibleName(filled("Numbers that run in {name}", name=one.name))
            numbers.setToolTip(caption("Like 1 to 24, 001 … or A to F"))
            fit = ChoiceField(
                filled("How long text of {name} is fitted", name=one.name), [(_FIT_WORDS[way], way) for way in FITS]
            )
            limit = NumberField(
                filled("Least width or size of {name}", name=one.name), unit="%", low=10, high=100, places=0
            )
            limit.setFixedWidth(_LIMIT_PX)
            limit.setToolTip(caption("At least so much of its width or size is kept"))
            source.chosen.connect(lambda value, at=at: self._source_chosen(at, value))
            numbers.editingFinished.connect(lambda at=at: self._numbers_typed(at))
            fit.chosen.connect(lambda value, at=at: self._set(at, fit=value))
            limit.entered.connect(lambda value, at=at: self._set(at, limit_pct=value))
            for column, widget in enumerate((plain_label(f"{{{one.name}}}"), source, fit, limit)):
                self._grid.addWidget(widget, 2 * at + 1, column)
            self._grid.addWidget(numbers, 2 * at + 2, 1)
            self.sources.append(source)
            self.numbers.append(numbers)
            self.fits.append(fit)
            self.limits.append(limit)

    def _source_chosen(self, at: int, value: object) -> None:
        if value == _NUMBERS:
            self.numbers[at].setVisible(True)
            self._numbers_typed(at)
        else:
            self._set(at, column=value, running=None)

    def _numbers_typed(self, at: int) -> None:
        try:
            self._set(at, column="", running=parse_running(self.numbers[at].text()))
        except TainError as error:
            self.refused.emit(str(error))

    def _set(self, at: int, **changes: object) -> None:
        fields = list(self._fields)
        fields[at] = replace(fields[at], **changes)  # type: ignore[arg-type]  # by the editors' own values
        self._fields = tuple(fields)
        self.changed.emit(self._fields)
