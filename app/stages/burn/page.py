"""Burn: the recipe of each layer, where it comes from, and how long it takes."""

import math
from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout

from app.session.advising import Advising
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.burn.advice import AdviceCard
from app.stages.page import Page
from app.stages.stage import Stage
from app.widgets.fields import Card, NumberField, clear, small_button, words
from app.widgets.figure_fields import FigureField, figure_field, other_form_field
from app.widgets.plain_text import plain_label
from app.widgets.swatch import PurposeSwatch
from app.words.figure_words import WIDE_GAPS_UNKNOWN
from app.words.wording import length_text, unbroken
from core.burning.dose_window import WindowAxis
from core.figures import Figure, figures_for
from core.job.decisions import is_starting_recipe, with_keep_size, with_recipe, with_starting_recipe
from core.job.job import Job, Layer
from core.job.plan import LayerPlan, Plan
from core.job.timing import has_learned, range_text, time_error_s, time_with_spread
from core.sheet.recipes import Recipe


class BurnPage(Page):
    """One card a layer that has shapes; the layers without any stay out of the way.

    coupon_wanted: the coupon that was offered is to be made.
    """

    coupon_wanted = Signal(object)

    def __init__(self, session: Session, settings: Settings, shop: Shop) -> None:
        super().__init__(
            Stage.BURN,
            "Recipes are starting points until proven on a scrap of this very sheet.",
            session,
            settings,
        )
        self._shop = shop
        shop.changed.connect(self.touch)
        self.advising = Advising(self)
        self.advising.changed.connect(self._show_advice)
        self._axis: WindowAxis = "speed"
        self.recipe_cards: dict[str, _RecipeCard] = {}
        self.advice_cards: dict[str, AdviceCard] = {}
        self.add_findings_card()
        total = Card()
        self._time = total.figure("Run time of the whole job")
        self._machine = words(role="quiet")
        total.body.addWidget(self._machine)
        self._wanted = NumberField(
            "Chance of a clean piece that is wanted", unit="in 100", low=50, high=99, step=1, places=0
        )
        self._wanted.entered.connect(self.want)
        total.row(
            "Chance &wanted",
            self._wanted,
            help_text="How many pieces in a hundred are to come out clean",
        )
        self.watch(self._wanted)
        self.body.addWidget(total)
        self._layers = QVBoxLayout()
        self._layers.setSpacing(12)
        self.body.addLayout(self._layers)
        self._unused = words(role="quiet")
        self.body.addWidget(self._unused)
        self.end_body()

    def refresh(self) -> None:
        """Show recipes and times."""
        self.show_findings_card()
        self.show_go_on()
        job, plan = self.session.job, self.session.plan
        planned = {one.layer.id: one for one in plan.layers} if plan is not None else {}
        complete = self.session.complete
        self._show_time(plan if complete else None)
        self._wanted.show_value(100 * job.wanted_chance)
        burned = [layer for layer in job.layers if layer.purpose != "guide"]
        used = [layer for layer in burned if plan is None or planned[layer.id].shape_ids] if planned else burned
        if list(self.recipe_cards) != [layer.id for layer in used]:
            clear(self._layers)
            self.recipe_cards = {layer.id: _RecipeCard(self, layer) for layer in used}
            fills = [layer for layer in used if layer.purpose == "fill"]
            self.advice_cards = {layer.id: self._advice_card(layer) for layer in fills}
            for layer_id, card in self.recipe_cards.items():
                self._layers.addWidget(card)
                if layer_id in self.advice_cards:
                    self._layers.addWidget(self.advice_cards[layer_id])
            self.keep_tab_order()
        for layer in used:
            self.recipe_cards[layer.id].show_layer(job, layer, planned.get(layer.id), complete=complete)
        self.advising.want(plan if complete else None, self._axis)
        self._show_advice()
        unused = [layer.name for layer in burned if layer not in used]
        self._unused.setText(f"Nothing lies on: {', '.join(unused)}." if unused else "")
        self._unused.setVisible(bool(unused))

    def _show_advice(self) -> None:
        """Bring the advice cards up to date with the job and with what is known of it."""
        job, rearranged = self.session.job, False
        plan = self.session.plan
        planned = {one.layer: one for one in plan.layers} if plan is not None and plan.job.stock == job.stock else {}
        for layer in job.layers:
            card = self.advice_cards.get(layer.id)
            if card is not None and card.show_layer(
                job, layer, planned.get(layer), self._axis, self.advising, inches=self.inches
            ):
                rearranged = True
        if rearranged:
            self.keep_tab_order()

    def _show_time(self, plan: Plan | None) -> None:
        """The run time, with its spread where the job's machine has learned its row times from timed jobs."""
        machine = self.session.job.machine
        fit = self._shop.fits.get(machine.name)
        learned = fit is not None and has_learned(machine, fit)
        if plan is None:
            self._time.setText(self._pending())
        elif fit is not None and learned:
            self._time.setText(time_with_spread(plan.time_range, time_error_s(plan, fit)))
        else:
            self._time.setText(range_text(plan.time_range))
        if fit is not None and learned:
            told = f"On {machine.name}, whose row times come from {len(fit.residuals_s)} jobs timed here."
        elif fit is not None:
            told = (
                f"On {machine.name} with the figures of this job; the shop book has {len(fit.residuals_s)} jobs timed "
                "on it. Calibrate the run time (menu Trials), then choose the machine anew on Sheet."
            )
        else:
            told = f"On {machine.name}. Estimated from its speeds and accelerations; not timed here yet."
        if plan is not None and plan.time_range.is_open:
            told += f" {WIDE_GAPS_UNKNOWN}"
        self._machine.setText(told)

    def _advice_card(self, layer: Layer) -> AdviceCard:
        card = AdviceCard(
            layer,
            take=self.take,
            zoom_to=self.place_wanted.emit,
            choose_axis=self._choose_axis,
            make_coupon=self.coupon_wanted.emit,
        )
        card.plot.held.connect(self.hold_still)
        return card

    def _choose_axis(self, axis: WindowAxis) -> None:
        self._axis = axis
        self.touch()

    def take(self, layer: Layer, recipe: Recipe, what: str, merge_key: str | None) -> None:
        """Give a layer this recipe."""
        self.commit(lambda: with_recipe(self.session.job, layer.id, recipe), what, merge_key=merge_key)

    def want(self, in_hundred: float) -> None:
        """Let advice keep to this chance."""
        self.commit(
            lambda: replace(self.session.job, wanted_chance=in_hundred / 100),
            "Chance wanted",
            merge_key="chance wanted",
        )

    def _pending(self) -> str:
        return "working out…" if self.session.busy else "–"

    def change(self, layer: Layer, what: str, key: str, **settings: Any) -> None:
        """Give a layer's recipe other settings; a run of changes to one of them is one step."""
        recipe = replace(layer.recipe, **settings)
        self.commit(
            lambda: with_recipe(self.session.job, layer.id, recipe),
            f"{what} of {layer.name}",
            merge_key=f"{key} {layer.id}",
        )

    def keep_size(self, layer: Layer, on: bool) -> None:
        """Move a layer's cut lines for the kerf, or cut as drawn."""
        label = f"{layer.name} keeps the drawn size" if on else f"{layer.name} as drawn"
        self.commit(lambda: with_keep_size(self.session.job, layer.id, on), label)

    def reset(self, layer: Layer) -> None:
        """Put a layer back to the stock's starting recipe."""
        self.commit(
            lambda: with_starting_recipe(self.session.job, layer.id), f"{layer.name} back to the starting point"
        )


class _RecipeCard(Card):
    """The settings of one layer."""

    def __init__(self, page: BurnPage, layer: Layer) -> None:
        super().__init__()
        self._page, self._layer = page, layer
        top = QHBoxLayout()
        top.setSpacing(8)
        self._swatch = PurposeSwatch(layer.purpose)
        top.addWidget(self._swatch)
        self._title = words(role="heading")
        top.addWidget(self._title, 1)
        self._time = plain_label("–")
        top.addWidget(self._time)
        self.body.addLayout(top)
        self.fields: dict[str, FigureField] = {}
        for figure in figures_for(Recipe, layer.purpose):
            self._add_figure(figure)
        if layer.purpose == "cut":
            self._add_kerf_row(layer)
        self._origin = words(role="quiet")
        self.body.addWidget(self._origin)
        self._reset = small_button("Back to the starting point")
        self._reset.clicked.connect(lambda: page.reset(self._layer))
        self.body.addWidget(self._reset)

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

    def _add(self, key: str, words: str, field: FigureField, about: str) -> None:
        self.fields[key] = field
        self.row(words, field, help_text=about)
        if isinstance(field, NumberField):
            self._page.watch(field)

    def _add_kerf_row(self, layer: Layer) -> None:
        self.keep_size = QCheckBox("Keep the drawn size")
        self.keep_size.setAccessibleName(f"Keep the drawn size of what {layer.name} cuts")
        self.keep_size.setToolTip("Closed cut lines are moved by half the kerf: parts outwards, holes inwards")
        self.keep_size.clicked.connect(lambda on: self._page.keep_size(self._layer, on))
        self.body.addWidget(self.keep_size)
        self._kerf = words(role="quiet")
        self.body.addWidget(self._kerf)

    def _show_kerf(self, job: Job, layer: Layer) -> None:
        self.keep_size.setChecked(layer.keep_size)
        kerf = length_text(job.stock.kerf_mm, inches=self._page.inches, places=2)
        half = length_text(job.stock.kerf_mm / 2, inches=self._page.inches, places=3)
        told = f"Kerf {kerf}, as the stock has it. "
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
        self._reset.setAccessibleName(f"{layer.name} back to the starting point")
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
