"""Card of the Paint page with what must be known of a paint before anything is burned through it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QLineEdit

from app.qt.captions import filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import words
from app.widgets.figure_fields import FigureField, figure_field
from core.figures import figure_named
from core.finishing.paints import Paint
from core.job.painting.decisions import with_paint

FIGURES = ("binder", "sheet_read", "burn_dose_j_mm2")


class BurnedThroughCard(PaintedCard):
    """Who made the chosen paint, its binder, whether its safety data sheet was read, the dose that takes it off."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._title = words(role="heading")
        self.body.addWidget(self._title)
        self.maker = QLineEdit()
        self.maker.setMaxLength(200)
        self.maker.editingFinished.connect(lambda: self._change("maker", self.maker.text().strip()))
        self.row("Maker", self.maker, help_text="Who made the paint, as the can says")
        self._figures: dict[str, FigureField] = {}
        for name in FIGURES:
            figure = figure_named(Paint, name)
            label = f"{figure.words} of the chosen paint"
            field = figure_field(figure, label, entered=partial(self._change, name))
            self.row(figure.words, field, help_text=figure.about)
            self._figures[name] = field

    def show_painted(self, painted: Painted) -> None:
        """Show the chosen paint's."""
        step = self._page.chosen_step
        self.setVisible(step is not None)
        if step is None:
            return
        paint = step.area.paint
        self._title.setText(filled("Before anything is burned through {name}", name=paint.name))
        with QSignalBlocker(self.maker):
            self.maker.setText(paint.maker)
        for name, field in self._figures.items():
            field.show_value(getattr(paint, name))

    def _change(self, name: str, value: object) -> None:
        step = self._page.chosen_step
        if step is None or getattr(step.area.paint, name) == value:
            return
        changed = replace(step.area.paint, **{name: value})  # type: ignore[arg-type]
        self._page.decide(lambda plan: with_paint(plan, changed.name, changed), "Paint", merge_key=f"paint {name}")
