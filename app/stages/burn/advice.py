"""Burn: the dose window of a fill and what would make it cleaner or quicker, each taken with one click."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtWidgets import QPushButton, QVBoxLayout

from app.qt.captions import caption, filled
from app.session.advising import Advising
from app.stages.burn.dose_plot import DosePlot
from app.widgets.chance_bar import ChanceBar, headline_icon
from app.widgets.fields import Card, ChoiceField, clear, small_button, words
from app.widgets.swatch import Sign
from app.words.wording import duration_text, in_shown_units, place_text, unbroken
from core.burning.beam import fill_verdict
from core.burning.chance import in_hundred
from core.burning.dose_window import DoseWindow, Remedy, WindowAxis
from core.burning.headline import headline
from core.burning.recipe_advice import sentence
from core.geometry.affine import apply
from core.job.job import Job, Layer
from core.job.plan import LayerPlan
from core.job.timing import range_text
from core.sheet.faces import turn_matrix
from core.sheet.recipes import Recipe

if TYPE_CHECKING:
    from core.burning.advice import ThinPart
    from core.burning.chance import Chance
    from core.burning.next_coupon import CouponOffer
    from core.burning.recipe_advice import RecipeAdvice
    from core.job.advising import LayerAdvice

AXES: tuple[tuple[str, WindowAxis], ...] = (("Pitch against speed", "speed"), ("Pitch against power", "power"))
MOST_THIN_PARTS = 5
LEAST_SPAN_MM = 1.0

Take = Callable[[Layer, Recipe, str, str | None], None]
"""Give a layer this recipe: (layer, recipe, what for undo, merge key)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A recipe and what it came to, in words; "" while that is not known."""

    recipe: Recipe
    told: str

    @property
    def known(self) -> bool:
        """Whether it is known what it came to."""
        return bool(self.told)


class AdviceCard(Card):
    """The verdict on one fill, its dose window, and the advice once it is worked out."""

    def __init__(
        self,
        layer: Layer,
        *,
        take: Take,
        zoom_to: Callable[[float, float, float], None],
        choose_axis: Callable[[WindowAxis], None],
        make_coupon: "Callable[[CouponOffer], None]",
        stop: Callable[[], None],
        go_on: Callable[[], None],
    ) -> None:
        super().__init__(f"{layer.name}: will it come off clean?")
        self.list = Card(filled("{name}: what would make it cleaner or quicker", name=layer.name))
        self._layer, self._take, self._zoom_to = layer, take, zoom_to
        self._make_coupon = make_coupon
        self._state: tuple[Any, ...] = ()
        self._advice_shown: LayerAdvice | None = None
        self._inches = False
        self._sign, self._verdict = Sign(), words(role="heading")
        self._verdict.setObjectName("verdict")
        self.line(self._sign, self._verdict).setStretch(1, 1)
        self.chance_bar = ChanceBar(filled("Chance of {name} to come out clean", name=layer.name))
        self.body.addWidget(self.chance_bar)
        self._chance = words()
        self._chance.setObjectName("chance")
        self.list.body.addWidget(self._chance)
        self._words = words(role="quiet")
        self._words.setObjectName("what that means")
        self.list.body.addWidget(self._words)
        self._before_and_now = words(role="quiet")
        self._before: Remembered | None = None
        self._now: Remembered | None = None
        self._dragging = False
        self._axis = ChoiceField(filled("Axes of the dose window of {name}", name=layer.name), AXES)
        self._axis.chosen.connect(choose_axis)
        self.body.addWidget(self._axis)
        self.plot = DosePlot(filled("Dose window of {name}", name=layer.name))
        self.plot.setToolTip(
            caption(
                "Drag the point, or move it with the arrow keys. Solid lines: equal chance; dashed ones: equal "
                "run time. Dots frost, level lines leave lines, slanting ones do not reach the coat; sparse where "
                "10 in 100 do."
            )
        )
        self.plot.moved.connect(self._move)
        self.plot.held.connect(self._hold)
        self.body.addWidget(self.plot)
        self.body.addWidget(self._before_and_now)
        self._waiting = words(role="quiet")
        self._waiting.setObjectName("advice under way")
        self._stop = small_button("Stop", filled("Stop working out the advice on {name}", name=layer.name))
        self._stop.clicked.connect(stop)
        self._go_on = small_button("Work it out", filled("Work out the advice on {name}", name=layer.name))
        self._go_on.clicked.connect(go_on)
        self.list.line(self._waiting, self._stop, self._go_on).setStretch(0, 1)
        self.items = QVBoxLayout()
        self.items.setSpacing(12)
        self.list.body.addLayout(self.items)

    def show_layer(
        self,
        job: Job,
        layer: Layer,
        planned: LayerPlan | None,
        axis: WindowAxis,
        advising: Advising,
        *,
        inches: bool,
    ) -> bool:
        """Show the layer's verdict and what is known of its window and advice; True where that is other buttons.

        planned: of the layer as it now is, or None.
        """
        known = (advising.windows.get(layer.id), advising.advice.get(layer.id), advising.error, advising.stopped)
        state = (layer, job.machine, job.stock, job.turn, job.sheet, job.wanted_chance, planned, axis, inches, *known)
        if state == self._state:
            return False
        self._state, self._layer = state, layer
        other_units, self._inches = inches != self._inches, inches
        recipe = layer.recipe
        known_verdict = planned.verdict if planned is not None else None
        verdict = known_verdict or fill_verdict(recipe, job.machine, job.stock)
        chance = planned.chance if planned is not None else None
        leads = headline(
            verdict,
            chance,
            planned.coverage if planned is not None else None,
            area_mm2=planned.area_mm2 if planned is not None else 0.0,
            stock=job.stock,
            wanted=job.wanted_chance,
        )
        self._sign.show_icon(headline_icon(leads))
        self._verdict.setText(unbroken(leads.words))
        self.chance_bar.show_chance(chance, wanted=job.wanted_chance)
        self._chance.setText(unbroken(sentence(chance)) if chance is not None else caption("working out…"))
        self._words.setText(self._shown(verdict.words))
        self._compare(recipe, chance, planned)
        self._axis.show_value(axis)
        window = _of_axis(advising.windows.get(layer.id), axis)
        value = recipe.speed_mm_s if axis == "speed" else recipe.power_pct
        self.plot.show_window(window, recipe.pitch_mm, value, inches=inches, wanted=job.wanted_chance)
        self.plot.setAccessibleDescription(
            self._shown(
                f"{recipe.lines_per_inch:.0f} lines an inch, {recipe.speed_mm_s:g} mm/s, {recipe.power_pct:g} %: "
                f"{verdict.words}"
            )
        )
        advice = advising.advice.get(layer.id)
        self._show_waiting(advising, is_known=advice is not None)
        if advice is self._advice_shown and not other_units:
            return False
        self._advice_shown = advice
        clear(self.items)
        if advice is not None:
            self._add_items(advice, job)
        return True

    def _show_waiting(self, advising: Advising, *, is_known: bool) -> None:
        self._waiting.setVisible(not is_known)
        self._stop.setVisible(not is_known and not advising.stopped and advising.error is None)
        self._go_on.setVisible(not is_known and advising.stopped)
        if advising.error is not None:
            self._waiting.setText(str(advising.error))
        elif advising.stopped:
            self._waiting.setText(caption("The advice was stopped."))
        else:
            self._waiting.setText(caption("Working out what would be quicker…"))

    def show_share(self, share: float) -> None:
        """How much of all advice is worked out."""
        if self._stop.isVisibleTo(self.list):
            self._waiting.setText(filled("Working out what would be quicker… {share:.0f} %", share=100 * share))

    # --- before and after ----------------------------------------------------------------------------------------

    def _hold(self, held: bool) -> None:
        """While the point is dragged, before is where the drag began."""
        self._dragging = held
        if held and self._now is not None and self._now.known:
            self._before = self._now

    def _compare(self, recipe: Recipe, chance: "Chance | None", planned: LayerPlan | None) -> None:
        """Say what the last change of the recipe came to: clean pieces and time, before and now."""
        now = self._now
        changed = now is not None and now.known and _settings(now.recipe) != _settings(recipe)
        if changed and not self._dragging:
            self._before = now
        time = range_text(planned.time_range) if planned is not None and chance is not None else ""
        clean = f"{chance.good_word} {in_hundred(chance.clean)} in 100" if chance is not None else ""
        told = ", ".join(part for part in (clean, time) if part)
        self._now = Remembered(recipe=recipe, told=told)
        before = self._before
        same = before is None or _settings(before.recipe) == _settings(recipe)
        self._before_and_now.setText("" if same or before is None else self._shown(_compared(before, self._now)))
        self._before_and_now.setVisible(not same)

    def _shown(self, text: str) -> str:
        return unbroken(in_shown_units(text, inches=self._inches))

    # --- the point -----------------------------------------------------------------------------------------------

    def _move(self, pitch_mm: float, value: float, drag: int) -> None:
        window = self.plot.window_shown
        assert window is not None
        recipe = with_point(self._layer.recipe, window.axis, pitch_mm, value)
        self._take(self._layer, recipe, f"Recipe of {self._layer.name}", f"dose point {self._layer.id} {drag}")

    # --- advice --------------------------------------------------------------------------------------------------

    def _add_items(self, advice: "LayerAdvice", job: Job) -> None:
        if advice.next_coupon is not None:
            self._add_offer(advice.next_coupon)
        for remedy in advice.remedies:
            self._add_remedy(remedy)
        for title, item in (
            ("Advised pitch", advice.pitch),
            ("Advised recipe", advice.fastest),
            ("Scan angle", advice.angle),
        ):
            self._add_recipe(title, item)
        if advice.held_on:
            self._item(
                filled(
                    "Edge inset and thin parts are held on {part}; all figures of them are of that part.",
                    part=advice.held_on,
                )
            )
        self._add_inset(advice)
        self._add_thin_parts(advice.thin_parts, job)
        self.items.addWidget(words("All of it comes from the dose model: prove it on a scrap.", role="quiet"))

    def _item(self, text: str, *buttons: QPushButton) -> None:
        column = QVBoxLayout()
        column.setSpacing(4)
        column.addWidget(words(self._shown(text)))
        for button in buttons:
            column.addWidget(button)
        self.items.addLayout(column)

    def _button(self, text: str, what: str, recipe: Recipe) -> QPushButton:
        text = in_shown_units(text, inches=self._inches)
        button = small_button(text, filled("{text}: {what} of {name}", text=text, what=what, name=self._layer.name))
        button.clicked.connect(lambda: self._take(self._layer, recipe, f"{what} of {self._layer.name}", None))
        return button

    def _add_offer(self, offer: "CouponOffer") -> None:
        button = small_button(
            "Make this scrap…", filled("Make the scrap that tells most of {name}", name=self._layer.name)
        )
        button.clicked.connect(lambda: self._make_coupon(offer))
        self._item(offer.words, button)

    def _add_remedy(self, remedy: Remedy) -> None:
        value = {
            "pitch": f"{remedy.recipe.lines_per_inch:.0f} LPI",
            "speed": f"{remedy.recipe.speed_mm_s:.0f} mm/s",
            "power": f"{remedy.recipe.power_pct:.1f} %",
            "focus": f"{remedy.recipe.focus_mm:.2f} mm off",
        }[remedy.setting]
        self._item(remedy.words, self._button(f"Make it {value}", remedy.setting.capitalize(), remedy.recipe))

    def _add_recipe(self, title: str, item: "RecipeAdvice") -> None:
        if item.recipe is None:
            self._item(item.words)
            return
        if _settings(item.recipe) == _settings(self._layer.recipe):
            self._item(f"{title}: this recipe has it already.")
            return
        word = "saves" if item.time_saved_s >= 0 else "costs"
        saved = f"Takes {duration_text(item.time_s)}, {word} {duration_text(abs(item.time_saved_s))}."
        self._item(f"{item.words} {saved}", self._button("Take it", title, item.recipe))

    def _add_inset(self, advice: "LayerAdvice") -> None:
        if advice.inset is None:
            return
        before, after, recipe = advice.inset.before, advice.inset.after, advice.inset.recipe
        if recipe.edge_inset_mm == 0:  # nothing is bared, so nothing spills
            return
        text = filled(
            "Edge inset of {edge_inset_mm:.3f} mm, half the cleared width: spill {spill_mm2:.2f} "
            "to {spill_mm2_2:.2f} mm², left over {left_over_mm2:.2f} to {left_over_mm2_2:.2f} "
            "mm², features lost {lost_features} to {lost_features_2}.",
            edge_inset_mm=recipe.edge_inset_mm,
            spill_mm2=before.spill_mm2,
            spill_mm2_2=after.spill_mm2,
            left_over_mm2=before.left_over_mm2,
            left_over_mm2_2=after.left_over_mm2,
            lost_features=before.lost_features,
            lost_features_2=after.lost_features,
        )
        if abs(recipe.edge_inset_mm - self._layer.recipe.edge_inset_mm) < 1e-9:
            self._item(f"{text} It is set.")
        else:
            self._item(text, self._button("Set this inset", "Edge inset", recipe))

    def _add_thin_parts(self, parts: "tuple[ThinPart, ...]", job: Job) -> None:
        for thin in parts[:MOST_THIN_PARTS]:
            x_mm, y_mm = apply(turn_matrix(job.turn, job.sheet), np.array([thin.x_mm, thin.y_mm])).tolist()
            x0, y0, x1, y1 = thin.bounds_mm
            span_mm = max(LEAST_SPAN_MM, 1.5 * max(x1 - x0, y1 - y0))
            place = place_text(x_mm, y_mm, inches=self._inches)
            show = small_button("Show it", filled("Show the thin part at {place} of the front", place=place))
            show.clicked.connect(lambda _=False, at=(x_mm, y_mm, span_mm): self._zoom_to(*at))
            buttons = [show]
            if thin.finer is not None:
                buttons.append(self._button("Take the finer lines", "Finer lines", thin.finer))
            self._item(f"Thin part at {place}: {thin.words}", *buttons)
        if len(parts) > MOST_THIN_PARTS:
            self._item(f"And {len(parts) - MOST_THIN_PARTS} more thin parts, shorter ones.")


def with_point(recipe: Recipe, axis: WindowAxis, pitch_mm: float, value: float) -> Recipe:
    """The recipe at another point of its dose window."""
    if axis == "speed":
        return replace(recipe, pitch_mm=pitch_mm, speed_mm_s=value)
    return replace(recipe, pitch_mm=pitch_mm, power_pct=value)


def _of_axis(window: DoseWindow | None, axis: WindowAxis) -> DoseWindow | None:
    return window if window is not None and window.axis == axis else None


def _compared(before: Remembered, now: Remembered) -> str:
    return f"Before, {_in_short(before.recipe)}: {before.told}. Now: {now.told or 'working out…'}."


def _in_short(recipe: Recipe) -> str:
    return f"{recipe.lines_per_inch:.0f} LPI, {recipe.speed_mm_s:g} mm/s, {recipe.power_pct:g} %"


def _settings(recipe: Recipe) -> tuple[float, ...]:
    """What tells recipes apart, but for where they come from."""
    return (recipe.speed_mm_s, recipe.power_pct, recipe.passes, round(recipe.pitch_mm, 9), recipe.scan_angle_deg)
