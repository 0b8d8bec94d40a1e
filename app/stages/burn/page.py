"""Burn: the recipe of each layer, where it comes from, and how long it takes."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.qt.captions import filled
from app.session.advising import Advising
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.burn.advice import AdviceCard
from app.stages.burn.recipe import RecipeCard
from app.stages.page import Page
from app.stages.stage import Stage
from app.widgets.fields import Card, ChoiceField, NumberField, clear, figure_line, words
from app.widgets.plain_text import plain_tip
from app.words.figure_words import WIDE_GAPS_UNKNOWN
from core.burning.dose_window import WindowAxis
from core.job.decisions import with_keep_size, with_recipe, with_starting_recipe
from core.job.job import Layer
from core.job.plan import Plan
from core.job.timing import has_learned, range_text, time_error_s, time_with_spread
from core.sheet.recipes import Recipe


class BurnPage(Page):
    """One card a layer that has shapes; the layers without any stay out of the way.

    coupon_wanted: the coupon that was offered is to be made.
    """

    coupon_wanted = Signal(object)

    def __init__(self, session: Session, settings: Settings, shop: Shop, *, parent: QWidget) -> None:
        super().__init__(
            Stage.BURN,
            "Starting points until proven on a scrap of this sheet.",
            session,
            settings,
            parent=parent,
        )
        self._shop = shop
        shop.changed.connect(self.touch)
        self.advising = Advising(self)
        self.advising.changed.connect(self._show_advice)
        self.advising.progressed.connect(self._show_share)
        self._axis: WindowAxis = "speed"
        self.recipe_cards: dict[str, RecipeCard] = {}
        self.advice_cards: dict[str, AdviceCard] = {}
        self.add_findings_card()
        self._time = figure_line(self.body, "Run time of the whole job")
        self._chosen_fill = ChoiceField("Fill whose dose window is shown")
        self._chosen_fill.chosen.connect(self._choose_fill)
        self._fill_id = ""
        self._layers = QVBoxLayout()
        self._layers.setSpacing(12)
        self.body.addWidget(self._chosen_fill)
        self.body.addLayout(self._layers)
        self._unused = words(role="quiet")
        self.body.addWidget(self._unused)
        self.advice_room, advice_door = self.add_room("Advice, one by one", in_part=True)
        self._advice = QVBoxLayout()
        self._advice.setSpacing(12)
        self.advice_room.body.addLayout(self._advice)
        self.advice_room.end()
        self.figures_room, figures_door = self.add_room("More figures of each recipe")
        self._figures = QVBoxLayout()
        self._figures.setSpacing(12)
        self.figures_room.body.addWidget(self._wish_card())
        self.figures_room.body.addLayout(self._figures)
        self.figures_room.end()
        self.body.addWidget(advice_door)
        self.body.addWidget(figures_door)
        self.end_body()

    def _wish_card(self) -> Card:
        card = Card("Time and chance")
        self._machine = words(role="quiet")
        self._machine.setObjectName("what is known of the machine")
        card.body.addWidget(self._machine)
        self._wanted = NumberField(
            "Chance of a clean piece that is wanted", unit="in 100", low=50, high=99, step=1, places=0
        )
        self._wanted.entered.connect(self.want)
        card.row("Chance &wanted", self._wanted, help_text="How many pieces in a hundred are to come out clean")
        self.watch(self._wanted)
        return card

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
        used = [layer for layer in burned if layer.id not in planned or planned[layer.id].shape_ids]
        if list(self.recipe_cards) != [layer.id for layer in used]:
            self._build_layers(used)
        for layer in used:
            self.recipe_cards[layer.id].show_layer(job, layer, planned.get(layer.id), complete=complete)
        self.advising.want(plan if complete else None, self._axis)
        self._show_advice()
        unused = [layer.name for layer in burned if layer not in used]
        self._unused.setText(filled("Nothing lies on: {join}.", join=", ".join(unused)) if unused else "")
        self._unused.setVisible(bool(unused))

    def _build_layers(self, used: list[Layer]) -> None:
        """Cards anew: each recipe's main figures, the dose window of the chosen fill, the rest in the rooms."""
        for layout in (self._layers, self._advice, self._figures):
            clear(layout)
        self.recipe_cards = {layer.id: RecipeCard(self, layer) for layer in used}
        fills = [layer for layer in used if layer.purpose == "fill"]
        self.advice_cards = {layer.id: self._advice_card(layer) for layer in fills}
        for layer_id, card in self.recipe_cards.items():
            self._layers.addWidget(card)
            self._figures.addWidget(card.more)
            if layer_id in self.advice_cards:
                self._layers.addWidget(self.advice_cards[layer_id])
                self._advice.addWidget(self.advice_cards[layer_id].list)
        self._chosen_fill.offer([(f"Dose window of {layer.name}", layer.id) for layer in fills])
        self._chosen_fill.setVisible(len(fills) > 1)
        self._choose_fill(self._fill_id if self._fill_id in self.advice_cards else next(iter(self.advice_cards), ""))
        self.show_doors(self.rooms if fills else [self.figures_room])

    def _choose_fill(self, layer_id: object) -> None:
        """Show one fill's dose window at a time."""
        self._fill_id = str(layer_id)
        self._chosen_fill.show_value(self._fill_id)
        for each, card in self.advice_cards.items():
            card.setVisible(each == self._fill_id)
        self.keep_tab_order()

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
            told = filled(
                "On {name}, whose row times come from {residuals_s} jobs timed here.",
                name=machine.name,
                residuals_s=len(fit.residuals_s),
            )
        elif fit is not None:
            told = filled(
                "On {name} with the figures of this job; the shop book has {residuals_s} jobs timed "
                "on it. Calibrate the run time (menu Trials), then choose the machine anew on Sheet.",
                name=machine.name,
                residuals_s=len(fit.residuals_s),
            )
        else:
            told = filled(
                "On {name}. Estimated from its speeds and accelerations; not timed here yet.", name=machine.name
            )
        if plan is not None and plan.time_range.is_open:
            told += f" {WIDE_GAPS_UNKNOWN}"
        self._machine.setText(told)
        self._time.setToolTip(plain_tip(told))
        self._time.setAccessibleDescription(told)

    def _advice_card(self, layer: Layer) -> AdviceCard:
        card = AdviceCard(
            layer,
            take=self.take,
            zoom_to=self.place_wanted.emit,
            choose_axis=self._choose_axis,
            make_coupon=self.coupon_wanted.emit,
            stop=self.advising.stop,
            go_on=self._advise_again,
        )
        card.plot.held.connect(self.hold_still)
        return card

    def _show_share(self, share: float, doing: str) -> None:
        for card in self.advice_cards.values():
            card.show_share(share)

    def _advise_again(self) -> None:
        self.advising.go_on()
        self.touch()

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
        present = next((one for one in self.session.job.layers if one.id == layer.id), None)
        if present is None:  # typed for a job that was, in a field that is left only now
            return
        recipe = replace(present.recipe, **settings)
        self.commit(
            lambda: with_recipe(self.session.job, layer.id, recipe),
            filled("{what} of {name}", what=what, name=layer.name),
            merge_key=f"{key} {layer.id}",
        )

    def keep_size(self, layer: Layer, on: bool) -> None:
        """Move a layer's cut lines for the kerf, or cut as drawn."""
        label = f"{layer.name} keeps the drawn size" if on else f"{layer.name} as drawn"
        self.commit(lambda: with_keep_size(self.session.job, layer.id, on), label)

    def reset(self, layer: Layer) -> None:
        """Put a layer back to the stock's starting recipe."""
        self.commit(
            lambda: with_starting_recipe(self.session.job, layer.id),
            filled("{name} back to the starting point", name=layer.name),
        )
