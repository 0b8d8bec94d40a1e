"""Card of the Paint page with the figures of the chosen paint, as its can says them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

from PySide6.QtWidgets import QLabel, QLineEdit

from app.qt.captions import caption, filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets import messages
from app.widgets.fields import ChoiceField, NumberField, small_button, words
from app.widgets.plain_text import plain_tip
from app.widgets.swatch import colour_chip
from core.errors import TainError
from core.finishing.amounts import spreading_rate_m2_l
from core.finishing.paints import PAINT_KINDS, Paint
from core.job.painting.decisions import with_backing, with_paint
from core.sheet.recipes import Origin
from core.shop_book.profiles import keep_paint


class PaintCard(PaintedCard):
    """The figures of the chosen paint, as its can says them."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._paint: Paint | None = None
        self._title = words(role="heading")
        self.body.addWidget(self._title)
        self._name = QLineEdit()
        self._name.setMaxLength(60)
        self._name.setAccessibleName(caption("Name of the paint"))
        self._name.editingFinished.connect(self._rename)
        self._colour = small_button("", "Colour of the paint")
        self._colour.clicked.connect(self._recolour)
        self.line(self._name, self._colour).setStretch(0, 1)
        self._kind = ChoiceField("Kind of paint", [(kind, kind) for kind in PAINT_KINDS])
        self._kind.chosen.connect(lambda kind: self._change("kind", kind))
        self.row("Kind", self._kind)
        self._fields: dict[str, NumberField] = {}
        self._labels: dict[str, QLabel] = {}
        for key, label, unit, low, high, places, factor_help in FIGURES:
            self._number(key, label, unit, low, high, places, factor_help)
        self._solids = NumberField("Volume solids of the paint", unit="%", low=0, high=100, places=1)
        self._film = NumberField("Dry film of one coat", unit="µm", low=0, high=1000, places=1)
        self.row("Volume solids", self._solids, help_text="From the data sheet, to work the spreading rate out")
        self.row("Dry film", self._film, help_text="Thickness of one dry coat, from the data sheet")
        work_out = small_button("Rate from solids and film", tip="10 × volume solids in % / dry film in µm")
        work_out.clicked.connect(self._work_rate_out)
        self.body.addWidget(work_out)
        self._texts = {key: self._text(key, label) for key, label in TEXTS}
        self._backing = ChoiceField("Backing behind it")
        self._backing.chosen.connect(self._change_backing)
        self.row("Backing", self._backing, help_text="Another paint through the same mask, so that nothing shows")
        self._number(*BACKING_COATS)
        self._origin = words(role="quiet")
        self.body.addWidget(self._origin)
        self._book = ChoiceField("Take a paint of the shop book")
        self._book.chosen.connect(self._take_kept)
        self.row("Shop book", self._book, help_text="Its figures in place of these")
        keep = small_button("Keep in the shop book", "Keep this paint in the shop book")
        keep.clicked.connect(self._keep)
        self.body.addWidget(keep)
        page.watch(*self._fields.values())

    def _number(self, key: str, label: str, unit: str, low: float, high: float, places: int, tip: str) -> None:
        field = NumberField(filled("{label} of the paint", label=label), unit=unit, low=low, high=high, places=places)
        field.entered.connect(lambda value: self._change(key, _stored(key, value)))
        self._labels[key] = self.row(label, field, help_text=tip)
        self._fields[key] = field

    def _text(self, key: str, label: str) -> QLineEdit:
        field = QLineEdit()
        field.setMaxLength(500)
        field.setAccessibleName(filled("{label} of the paint", label=label))
        field.editingFinished.connect(lambda: self._change(key, field.text().strip()))
        self.row(label, field)
        return field

    def show_painted(self, painted: Painted) -> None:
        """Show the chosen paint."""
        step = self._page.chosen_step
        self.setVisible(step is not None)
        if step is None:
            return
        if self._paint is None or self._paint.name != step.area.paint.name:
            self._solids.show_value(0.0)
            self._film.show_value(0.0)
        self._paint = paint = step.area.paint
        self._title.setText(filled("{name}, as its can says", name=paint.name))
        if not self._name.hasFocus() or not self._name.isModified():
            self._name.setText(paint.name)
        self._colour.setIcon(colour_chip(paint.colour))
        self._colour.setToolTip(plain_tip(filled("{colour}: how it looks from the front", colour=paint.colour)))
        self._kind.show_value(paint.kind)
        for key, field in self._fields.items():
            field.show_value(_shown(key, getattr(paint, key)))
        for widget in (self._fields["backing_coats"], self._labels["backing_coats"]):
            widget.setVisible(bool(paint.backing_coats))
        for key, text in self._texts.items():
            if not text.hasFocus() or not text.isModified():
                text.setText(getattr(paint, key))
                text.setCursorPosition(0)
        kept = self._page.kept_paints()
        own = [*painted.plan.job.finishing.paints, *(one.area.paint for one in painted.painting.steps)]
        others = {one.name: one for one in (*kept, *own) if one.name != paint.name}
        self._backing.offer([("none", None), *others.items()])
        self._backing.show_value(others.get(paint.backing) if paint.backing_coats else None)
        self._origin.setText(paint.origin.note)
        self._book.offer([(one.name, one) for one in kept])
        self._book.show_value(None)

    # --- deciding ------------------------------------------------------------------------------------------------

    def _commit(self, change: Callable[[Paint], Paint], label: str, *, merge_key: str | None = None) -> None:
        before = self._paint
        if before is None:
            return
        after = change(before)
        if after != before:
            self._page.decide(lambda plan: with_paint(plan, before.name, after), label, merge_key=merge_key)

    def _change(self, key: str, value: object) -> None:
        if self._paint is None or getattr(self._paint, key) == value:
            return
        origin = self._paint.origin if key in NOT_A_FIGURE else _by_hand(self._paint)
        self._commit(
            lambda paint: replace(paint, **{key: value}, origin=origin),  # type: ignore[arg-type]
            f"Figures of {self._paint.name if self._paint else 'a paint'}",
            merge_key=f"paint {key}",
        )

    def _work_rate_out(self) -> None:
        solids_pct, film_um = self._solids.value(), self._film.value()
        try:
            rate_m2_l = spreading_rate_m2_l(solids_pct, film_um)
        except TainError as error:
            self._page.say(str(error))
            return
        self._change("spreading_rate_m2_l", rate_m2_l)

    def _change_backing(self, backing: object) -> None:
        name = self._paint.name if self._paint is not None else ""
        chosen = backing if isinstance(backing, Paint) else None
        self._page.decide(lambda plan: with_backing(plan, name, chosen), filled("Backing of {name}", name=name))

    def _rename(self) -> None:
        name = self._name.text().strip()
        self._name.setModified(False)
        if self._paint is None or name == self._paint.name:
            return
        if not name:
            self._page.say("A paint needs a name.")
            self._page.touch()
            return
        self._page.chosen = name
        self._commit(lambda paint: replace(paint, name=name), f"Rename paint to {name}")

    def _recolour(self) -> None:
        if self._paint is None:
            return
        colour = messages.choose_colour(self._page, f"Colour of {self._paint.name}", self._paint.colour)
        if colour is not None:
            self._commit(lambda paint: replace(paint, colour=colour), f"Colour of {self._paint.name}")

    def _take_kept(self, kept: object) -> None:
        if isinstance(kept, Paint):
            self._page.chosen = kept.name
            self._commit(lambda paint: kept, f"Paint {kept.name} of the shop book")

    def _keep(self) -> None:
        paint = self._paint
        if paint is None:
            return
        try:
            keep_paint(paint)
        except TainError as error:
            self._page.say(str(error))
        else:
            self._page.say(filled("{name} is in the shop book.", name=paint.name), role="quiet")
            self._page.forget_kept()


FIGURES: tuple[tuple[str, str, str, float, float, int, str], ...] = (
    ("coats", "Coats", "", 1, 50, 0, "How many coats it gets"),
    ("hides_in_coats", "Hides in", "coats", 1, 50, 0, "So many coats let nothing behind them show"),
    ("between_coats_min", "Between coats", "min", 0, 10_080, 0, "Common practice for light spray coats: 15 to 20 min"),
    ("recoat_within_min", "No later than", "min", 0, 100_000, 0, "Latest time for the next coat; 0 for no limit"),
    ("mask_after_min", "Before masking", "min", 0, 20_160, 0, "Common practice: about an hour"),
    ("cure_h", "Full cure", "h", 0, 2000, 1, "Common practice: overnight before handling"),
    ("spreading_rate_m2_l", "Spreading rate", "m²/L", 0, 1000, 1, "One coat without losses, from the data sheet"),
    ("loss_share", "Loss", "%", 0, 95, 0, "Overspray and what stays in the can"),
    ("can_ml", "Can", "ml", 0, 100_000, 0, "How much a can holds"),
    ("price", "Price of a can", "", 0, 1e6, 2, "In the shop's own money"),
)
"""Field of a paint, label, unit, least, most, places, help."""
BACKING_COATS = ("backing_coats", "Backing coats", "", 1.0, 50.0, 0, "Coats of the backing through the same mask")
TEXTS = (("conditions", "The can says"), ("note", "Note"))
NOT_A_FIGURE = ("kind", "conditions", "note")


def _by_hand(paint: Paint) -> Origin:
    """The origin of figures of which one was changed here."""
    if paint.origin.kind != "starting point":
        return paint.origin
    note = "Some figures were set by hand; the others are starting points: common practice or invented."
    return Origin(kind="set by hand", date=datetime.now(UTC).date().isoformat(), note=note)


def _stored(key: str, value: float) -> float | int:
    if key in ("coats", "hides_in_coats", "backing_coats"):
        return round(value)
    return value / 100 if key == "loss_share" else value


def _shown(key: str, value: float) -> float:
    return 100 * value if key == "loss_share" else float(value)
