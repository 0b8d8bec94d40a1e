"""Burn: a layer's recipe, its main figures as one row, the others for the room of figures."""

import math
from typing import Any, Protocol

from PySide6.QtWidgets import QAbstractSpinBox, QCheckBox, QHBoxLayout, QVBoxLayout

from app.qt.captions import caption, filled
from app.widgets.fields import Card, NumberField, small_button, words
from app.widgets.figure_fields import FigureField, figure_field, other_form_field, with_help
from app.widgets.plain_text import plain_label, plain_tip
from app.widgets.swatch import PurposeSwatch
from app.words.wording import length_text, unbroken
from core.figures import Figure, figures_for
from core.job.decisions import is_starting_recipe
from core.job.job import Job, Layer
from core.job.plan import LayerPlan
from core.job.timing import range_text
from core.sheet.recipes import Recipe

MAIN_FIGURES = {"fill": ("speed_mm_s", "power_pct", "lines_per_inch")}
MAIN_OF_LINES = ("speed_mm_s", "power_pct", "passes")
"""The figures that stand in the row; by figure or other form."""


class RecipeHolder(Protocol):
    """The page, as far as a recipe's card reaches."""

    @property
    def inches(self) -> bool:
        """Whether lengths are shown in inches."""

    def watch(self, *fields: NumberField) -> None:
        """Tell why a field turned something down."""

    def change(self, layer: Layer, what: str, key: str, **settings: Any) -> None:
        """Give a layer's recipe other settings."""

    def keep_size(self, layer: Layer, on: bool) -> None:
        """Move a layer's cut lines for the kerf, or cut as drawn."""

    def reset(self, layer: Layer) -> None:
        """Put a layer back to the stock's starting recipe."""


class RecipeCard(Card):
    """The main figures of one layer. ``more`` holds the others, for a room."""

    def __init__(self, page: RecipeHolder, layer: Layer) -> None:
        super().__init__()
        self._page, self._layer = page, layer
        top = QHBoxLayout()
        top.setSpacing(8)
        self._swatch = PurposeSwatch(layer.purpose)
        top.addWidget(self._swatch)
        self._title = words(role="heading")
        named = QVBoxLayout()  # one over the other: beside each other a long run time left the name no room
        named.setSpacing(0)
        named.addWidget(self._title)
        self._from = plain_label()
        self._from.setProperty("role", "quiet")
        named.addWidget(self._from)
        top.addLayout(named, 1)
        self._time = plain_label("–")
        top.addWidget(self._time)
        self.body.addLayout(top)
        self.fields: dict[str, FigureField] = {}
        self.more = Card(layer.name)
        self._row = QHBoxLayout()
        self._row.setSpacing(8)
        self.body.addLayout(self._row)
        for figure in figures_for(Recipe, layer.purpose):
            self._add_figure(figure)
        if layer.purpose == "cut":
            self._add_kerf_row(layer)
        self._origin = words(role="quiet")
        self.more.body.addWidget(self._origin)
        self._reset = small_button("Back to the starting point")
        self._reset.clicked.connect(lambda: page.reset(self._layer))
        self.more.body.addWidget(self._reset)

    def _add_figure(self, figure: Figure) -> None:
        name = self._layer.name

        def changed(value: Any) -> None:
            self._page.change(self._layer, figure.words, figure.name, **{figure.name: value})

        field = figure_field(figure, f"{figure.words} of {name}", entered=changed)
        self._add(figure.name, figure.words, field, figure.about)
        other = figure.other_form
        if other is not None:
            field = other_form_field(figure, other, f"{other.words} of {name}", entered=changed)
            self._add(other.name, other.words, field, other.about)

    def _add(self, key: str, caption: str, field: FigureField, about: str) -> None:
        self.fields[key] = field
        if key in MAIN_FIGURES.get(self._layer.purpose, MAIN_OF_LINES):
            self._add_to_row(caption, field, about)
        else:
            self.more.row(caption, field, help_text=about)
        if isinstance(field, NumberField):
            self._page.watch(field)

    def _add_to_row(self, caption: str, field: FigureField, about: str) -> None:
        column = QVBoxLayout()
        column.setSpacing(4)
        name = plain_label(caption)
        name.setProperty("role", "quiet")
        name.setBuddy(field)
        with_help(field, about)
        if isinstance(field, QAbstractSpinBox):
            field.setProperty("compact", True)  # without arrows to press; the arrow keys step it all the same
            field.setMinimumWidth(72)
        column.addWidget(name)
        column.addWidget(field)
        self._row.addLayout(column, 1)

    def _add_kerf_row(self, layer: Layer) -> None:
        self.keep_size = QCheckBox(caption("Keep the drawn size"))
        self.keep_size.setAccessibleName(filled("Keep the drawn size of what {name} cuts", name=layer.name))
        self.keep_size.setToolTip(caption("Closed cut lines are moved by half the kerf: parts outwards, holes inwards"))
        self.keep_size.clicked.connect(lambda on: self._page.keep_size(self._layer, on))
        self.more.body.addWidget(self.keep_size)
        self._kerf = words(role="quiet")
        self.more.body.addWidget(self._kerf)

    def _show_kerf(self, job: Job, layer: Layer) -> None:
        self.keep_size.setChecked(layer.keep_size)
        kerf = length_text(job.stock.kerf_mm, inches=self._page.inches, places=2)
        half = length_text(job.stock.kerf_mm / 2, inches=self._page.inches, places=3)
        told = filled("Kerf {kerf}, as the stock has it. ", kerf=kerf)
        if layer.keep_size:
            told += f"Cut lines lie {half} outside the parts and inside their holes."
        else:
            told += f"Parts come out {half} smaller all round, holes {half} larger."
        self._kerf.setText(unbroken(told))

    def show_layer(self, job: Job, layer: Layer, planned: LayerPlan | None, *, complete: bool) -> None:
        """Show the layer's recipe as it now is."""
        self._layer = layer
        recipe = layer.recipe
        self._title.setText(layer.name)
        self._time.setText(range_text(planned.time_range) if planned is not None and complete else "–")
        for figure in figures_for(Recipe, layer.purpose):
            value = getattr(recipe, figure.name)
            self.fields[figure.name].show_value(value)
            if figure.other_form is not None:
                self.fields[figure.other_form.name].show_value(figure.other_form.from_figure(value))
        if layer.purpose == "cut":
            self._show_kerf(job, layer)
        self._origin.setText(origin_text(layer, job))
        self._from.setText(layer.recipe.origin.kind)
        self._from.setToolTip(plain_tip(origin_text(layer, job)))
        self._reset.setAccessibleName(filled("{name} back to the starting point", name=layer.name))
        self._reset.setVisible(not is_starting_recipe(job, layer))


def origin_text(layer: Layer, job: Job) -> str:
    """Where a recipe comes from, and what follows."""
    origin = layer.recipe.origin
    if origin.kind == "starting point":
        return f"A starting point for {job.stock.name}. {origin.note}"
    if origin.kind == "set by hand":
        return "Set by hand; prove it on a scrap."
    dated = f", {origin.date}" if origin.date else ""
    error = origin.standard_error
    sure = f", ± {error:g}" if error is not None and math.isfinite(error) else ""
    return f"{origin.kind.capitalize()}{dated}{sure}. {origin.note}".strip()
