"""Burn: the recipe of each layer, where it comes from, and how long it takes."""

import math
from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QVBoxLayout

from app.advising import Advising
from app.fields import Card, ChoiceField, LengthField, NumberField, SpeedField, words
from app.figure_words import WIDE_GAPS_UNKNOWN
from app.session import Session
from app.settings import Settings
from app.shop import Shop
from app.stages.burn_advice import AdviceCard
from app.stages.page import Page, clear, small_button
from app.stages.stage import Stage
from app.swatch import PurposeSwatch
from app.wording import length_text, unbroken
from core.burning.dose_window import WindowAxis
from core.job.decisions import is_starting_recipe, with_keep_size, with_recipe, with_starting_recipe
from core.job.job import Job, Layer
from core.job.plan import LayerPlan, Plan
from core.job.timing import has_learned, range_text, time_error_s, time_with_spread
from core.sheet.recipes import Air, Recipe
from core.units import MM_PER_INCH, lpi_from_pitch_mm, pitch_mm_from_lpi

AIR_WORDS: tuple[tuple[str, Air], ...] = (("off", "off"), ("low", "low"), ("high", "high"))


class BurnPage(Page):
    """One card a layer that has shapes; the layers without any stay out of the way."""

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
        self._cards: dict[str, _RecipeCard] = {}
        self.advice_cards: dict[str, AdviceCard] = {}
        self.add_findings_card()
        total = Card()
        self._time = total.figure("Run time of the whole job")
        self._machine = words(role="quiet")
        total.body.addWidget(self._machine)
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
        burned = [layer for layer in job.layers if layer.purpose != "guide"]
        used = [layer for layer in burned if plan is None or planned[layer.id].shape_ids] if planned else burned
        if list(self._cards) != [layer.id for layer in used]:
            clear(self._layers)
            self._cards = {layer.id: _RecipeCard(self, layer) for layer in used}
            fills = [layer for layer in used if layer.purpose == "fill"]
            self.advice_cards = {layer.id: self._advice_card(layer) for layer in fills}
            for layer_id, card in self._cards.items():
                self._layers.addWidget(card)
                if layer_id in self.advice_cards:
                    self._layers.addWidget(self.advice_cards[layer_id])
            self.keep_tab_order()
        for layer in used:
            self._cards[layer.id].show_layer(job, layer, planned.get(layer.id), complete=complete)
        self.advising.want(plan if complete else None, self._axis)
        self._show_advice()
        unused = [layer.name for layer in burned if layer not in used]
        self._unused.setText(f"Nothing lies on: {', '.join(unused)}." if unused else "")
        self._unused.setVisible(bool(unused))

    def _show_advice(self) -> None:
        """Bring the advice cards up to date with the job and with what is known of it."""
        job, rearranged = self.session.job, False
        for layer in job.layers:
            card = self.advice_cards.get(layer.id)
            if card is not None and card.show_layer(job, layer, self._axis, self.advising, inches=self.inches):
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
        return AdviceCard(
            layer,
            take=self.take,
            zoom_to=self.place_wanted.emit,
            choose_axis=self._choose_axis,
        )

    def _choose_axis(self, axis: WindowAxis) -> None:
        self._axis = axis
        self.touch()

    def take(self, layer: Layer, recipe: Recipe, what: str, merge_key: str | None) -> None:
        """Give a layer this recipe."""
        self.commit(lambda: with_recipe(self.session.job, layer.id, recipe), what, merge_key=merge_key)

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
        self._time = QLabel("–")
        top.addWidget(self._time)
        self.body.addLayout(top)
        self._add_beam_rows(layer)
        if layer.purpose == "fill":
            self._add_scan_rows(layer)
        if layer.purpose == "cut":
            self._add_kerf_row(layer)
        self._origin = words(role="quiet")
        self.body.addWidget(self._origin)
        self._reset = small_button("Back to the starting point")
        self._reset.clicked.connect(lambda: page.reset(self._layer))
        self.body.addWidget(self._reset)

    def _add_beam_rows(self, layer: Layer) -> None:
        name = layer.name
        self._speed = SpeedField(f"Speed of {name}", low=0.01, high=100_000, step=5)
        self._speed.entered.connect(lambda value: self._change("Speed", "speed", speed_mm_s=value))
        self.row("Speed", self._speed)
        self._power = NumberField(f"Power of {name}", unit="%", low=0, high=100, step=1, places=2)
        self._power.entered.connect(lambda value: self._change("Power", "power", power_pct=value))
        self.row("Power", self._power)
        if layer.purpose == "fill":
            self._add_pitch_rows(layer)
        self._passes = NumberField(f"Passes of {name}", low=1, high=99, places=0)
        self._passes.entered.connect(lambda value: self._change("Passes", "passes", passes=round(value)))
        self.row("Passes", self._passes, help_text="How many times it is burned over")
        self._air = ChoiceField(f"Air of {name}", AIR_WORDS)
        self._air.chosen.connect(lambda air: self._change("Air", "air", air=air))
        self.row("Air", self._air, help_text="Air jet at the nozzle")
        self._focus = LengthField(f"Focus of {name} above the coat", low=-50, high=50, step=0.5)
        self._focus.entered.connect(lambda value: self._change("Focus", "focus", focus_mm=value))
        self.row("Focus", self._focus, help_text="Height of the focus above the coat; 0 is on it")
        self._page.watch(self._speed, self._power, self._passes, self._focus)

    def _add_pitch_rows(self, layer: Layer) -> None:
        name = layer.name
        self._pitch = LengthField(f"Pitch of {name}", low=0.001, high=25.4, step=0.005, places=4)
        self._pitch.entered.connect(lambda value: self._change("Pitch", "pitch", pitch_mm=value))
        self.row("Pitch", self._pitch, help_text="Distance between neighbouring scan lines")
        self._lpi = NumberField(f"Lines per inch of {name}", unit="LPI", low=1, high=25_400, step=50, places=2)
        self._lpi.entered.connect(lambda value: self._change("Pitch", "pitch", pitch_mm=pitch_mm_from_lpi(value)))
        self.row("Lines per inch", self._lpi, help_text=f"The pitch in another form: {MM_PER_INCH:g} mm over it")
        self._page.watch(self._pitch, self._lpi)

    def _add_scan_rows(self, layer: Layer) -> None:
        name = layer.name
        self._angle = NumberField(f"Scan angle of {name}", unit="°", low=-360, high=360, step=15, places=2)
        self._angle.entered.connect(lambda value: self._change("Scan angle", "angle", scan_angle_deg=value))
        self.row("Scan angle", self._angle, help_text="Direction of the scan rows on the bed; 0 runs across it")
        self._inset = LengthField(f"Edge inset of {name}", low=0, high=10, step=0.01, places=3)
        self._inset.entered.connect(lambda value: self._change("Edge inset", "inset", edge_inset_mm=value))
        self.row("Edge inset", self._inset, help_text="Draws fills in by this much to make up for spill")
        self._page.watch(self._angle, self._inset)

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

    def _change(self, what: str, key: str, **settings: Any) -> None:
        self._page.change(self._layer, what, key, **settings)

    def show_layer(self, job: Job, layer: Layer, planned: LayerPlan | None, *, complete: bool) -> None:
        """Show the layer's recipe as it now is."""
        self._layer = layer
        recipe = layer.recipe
        self._title.setText(layer.name)
        self._time.setText(range_text(planned.time_range) if planned is not None and complete else "–")
        self._speed.show_value(recipe.speed_mm_s)
        self._power.show_value(recipe.power_pct)
        self._passes.show_value(recipe.passes)
        self._air.show_value(recipe.air)
        self._focus.show_value(recipe.focus_mm)
        if layer.purpose == "fill":
            self._pitch.show_value(recipe.pitch_mm)
            self._lpi.show_value(lpi_from_pitch_mm(recipe.pitch_mm))
            self._angle.show_value(recipe.scan_angle_deg)
            self._inset.show_value(recipe.edge_inset_mm)
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
