"""Cards of the Paint page: the datum that every file is laid by, and how each colour is kept off what waits."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QLineEdit, QVBoxLayout

from app.canvas.modes import RegionLook
from app.session.painting import Painted
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import Card, ChoiceField, clear, small_button, words
from app.widgets.figure_fields import FigureField, figure_field, with_help
from core.errors import TainError
from core.figures import figure_named
from core.finishing.paints import Paint
from core.job.datum import with_datum
from core.job.painting.decisions import with_paint, with_way
from core.job.painting.stages import looks_after, stages_of
from core.sheet.datum import Datum

COAT = "#b8bdc2"
DATUM_FIGURES = {
    "part edge": (),
    "marks": ("marks_burned", "met_within_mm"),
    "pins": ("pin_mm", "pin_clearance_mm"),
}
KINDS = (("the part's edge", "part edge"), ("marks in the waste", "marks"), ("pins", "pins"))
WAYS = (("behind a mask", "mask"), ("burned later", "burn"))
BURNED_THROUGH = ("binder", "sheet_read", "burn_dose_j_mm2")


class DatumCard(Card):
    """One choice for all files of the job: bed files, masks, later burns, the pin board, the run sheet."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Datum")
        self._page = page
        self._kind = ChoiceField("Datum of all files", KINDS)
        self._kind.chosen.connect(lambda kind: self._change("kind", kind))
        self.row("Laid by", self._kind, help_text="What film, later burns and the sheet itself are laid by")
        self._fields: dict[str, tuple[FigureField, Any]] = {}
        for name in (name for names in DATUM_FIGURES.values() for name in names):
            figure = figure_named(Datum, name)
            field = figure_field(figure, figure.words, entered=partial(self._change, name))
            label = self.row(figure.words, field, help_text=figure.about)
            self._fields[name] = (field, label)
        self._told = words(role="quiet")
        self.body.addWidget(self._told)

    def show_painted(self, painted: Painted) -> None:
        """Show the datum and what it comes to."""
        datum = painted.plan.job.datum
        self._kind.show_value(datum.kind)
        for name, (field, label) in self._fields.items():
            shown = name in DATUM_FIGURES[datum.kind]
            field.setVisible(shown)
            label.setVisible(shown)
            field.show_value(getattr(datum, name))
        missing = next((one.message for one in painted.plan.findings if one.code == "no-datum"), "")
        self._told.setText(missing if painted.plan.datum is None else painted.plan.datum.words)

    def _change(self, name: str, value: object) -> None:
        self._page.decide(
            lambda plan: with_datum(plan.job, replace(plan.job.datum, **{name: value}, places=())),  # type: ignore[arg-type]
            "Datum",
            merge_key=f"datum {name}",
        )


class WaysCard(Card):
    """Masked or burned later, colour by colour; burns and paints by turns; the front after each of them."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Masks or later burns")
        self._page = page
        self._painted: Painted | None = None
        self._names: tuple[str, ...] = ()
        self._choices: dict[str, ChoiceField] = {}
        self.body.addWidget(
            words("A colour burned later is cleared through the coat and the cured paint on it, and needs no mask.")
        )
        self._rows = QVBoxLayout()
        self._rows.setSpacing(8)
        self.body.addLayout(self._rows)
        self._compare = small_button(
            "&Compare both ways", tip="Minutes, waits, film and risk of both ways, each colour"
        )
        self._compare.clicked.connect(self._compare_ways)
        self.body.addWidget(self._compare)
        self._offers = words()
        self.body.addWidget(self._offers)
        self._stage = ChoiceField("Front after a step")
        self._stage.chosen.connect(lambda _: self._page.looks_wanted.emit())
        self._stage_label = self.row("Front after", self._stage, help_text="How the piece looks once that is done")
        self._told = words(role="quiet")
        self.body.addWidget(self._told)
        self._save = small_button("Save &burn files…", tip="An SVG and a DXF for each burn, and for the cut")
        self._save.clicked.connect(self._save_burns)
        self.body.addWidget(self._save)
        self._paint_title = words(role="heading")
        self.body.addWidget(self._paint_title)
        self.maker = QLineEdit()
        self.maker.setMaxLength(200)
        self.maker.editingFinished.connect(lambda: self._change_paint("maker", self.maker.text().strip()))
        self.row("Maker", self.maker, help_text="Who made the paint, as the can says")
        self._figures: dict[str, FigureField] = {}
        for name in BURNED_THROUGH:
            figure = figure_named(Paint, name)
            label = f"{figure.words} of the chosen paint"
            field = figure_field(figure, label, entered=partial(self._change_paint, name))
            self.row(figure.words, field, help_text=figure.about)
            self._figures[name] = field

    def show_painted(self, painted: Painted) -> None:
        """Show how each colour is painted and what that comes to."""
        names = painted.painting.order
        if names != self._names:
            self._names = names
            self._build_rows(names)
        if self._painted is None or self._painted.painting is not painted.painting:
            self._offers.setText("")
        self._painted = painted
        finishing = painted.plan.job.finishing
        for name, choice in self._choices.items():
            choice.show_value("burn" if finishing.burned_later(name) else "mask")
        self._compare.setEnabled(len(names) > 1)
        self._show_stages(painted)
        self._show_paint()

    def looks(self) -> tuple[RegionLook, ...] | None:
        """The front after the step that was chosen; None for the finished piece."""
        painted, at = self._painted, self._stage.currentIndex()
        if painted is None or painted.burning is None or at <= 0:
            return None
        stages = stages_of(painted.painting, painted.burning)[:at]
        return tuple(
            RegionLook(region=look.region, colour=look.colour or COAT)
            for look in looks_after(painted.plan, painted.painting, stages)
            if look.kind == "coat" or look.colour is not None
        )

    @property
    def offers_text(self) -> str:
        """What was told of both ways."""
        return self._offers.text()

    @property
    def stage(self) -> int:
        """Which step the front is shown after, from 1; 0 for the finished piece."""
        return max(0, self._stage.currentIndex())

    def _build_rows(self, names: tuple[str, ...]) -> None:
        clear(self._rows)
        self._choices = {}
        for name in names[1:]:
            choice = ChoiceField(f"How {name} is painted", WAYS)
            choice.chosen.connect(lambda way, name=name: self._choose(name, way))
            holder = Card()
            holder.setProperty("role", "")
            holder.body.setContentsMargins(0, 0, 0, 0)
            holder.row(name, choice)
            with_help(choice, "Behind a mask, cleared with the colour before it; or cleared later in a burn of its own")
            self._rows.addWidget(holder)
            self._choices[name] = choice

    def _show_stages(self, painted: Painted) -> None:
        burning = painted.burning
        stages = () if burning is None else stages_of(painted.painting, burning)
        offered = [("all of it", 0), *((f"{n}. {stage.words}", n) for n, stage in enumerate(stages, start=1))]
        at = min(self._stage.currentIndex(), len(stages))
        self._stage.offer(offered)
        self._stage.show_value(max(0, at))
        for widget in (self._stage, self._stage_label):
            widget.setVisible(bool(stages))
        lines = []
        if burning is not None and len(burning.burns) > 1:
            lines = [
                f"Burn {burn.number}: {burn.time_range.best_s / 60:.0f} min"
                + (f", after {burn.wait_h:g} h of cure" if burn.wait_h else "")
                for burn in burning.burns
            ]
            lines.append(f"Put back, a burn lies up to {burning.play.off_mm:.2f} mm off; overlaps make up for it.")
        self._told.setText("\n".join(lines))
        self._told.setVisible(bool(lines))
        self._save.setEnabled(burning is not None and self._page.ready is not None)

    def _show_paint(self) -> None:
        step = self._page.chosen_step
        if step is None:
            return
        paint = step.area.paint
        self._paint_title.setText(f"Before anything is burned through {paint.name}")
        with QSignalBlocker(self.maker):
            self.maker.setText(paint.maker)
        for name, field in self._figures.items():
            field.show_value(getattr(paint, name))

    def _choose(self, name: str, way: Any) -> None:
        self._page.decide(lambda plan: with_way(plan, name, way), f"How {name} is painted")

    def _change_paint(self, name: str, value: object) -> None:
        step = self._page.chosen_step
        if step is None or getattr(step.area.paint, name) == value:
            return
        changed = replace(step.area.paint, **{name: value})  # type: ignore[arg-type]
        self._page.decide(lambda plan: with_paint(plan, changed.name, changed), "Paint", merge_key=f"paint {name}")

    def _compare_ways(self) -> None:
        painted = self._painted
        if painted is None:
            return
        self._offers.setText("Comparing…")

        def work(progress: Any) -> str:
            from core.job.painting.offers import way_offers

            offers = way_offers(painted.plan, progress=progress)
            better = {"mask": "better behind a mask", "burn": "better burned later"}
            return "\n".join(f"{offer.name}: {better[offer.better]}. {offer.why}" for offer in offers[1:])

        def failed(error: TainError) -> None:
            self._offers.setText(str(error))

        self._page.painting.do(work, self._offers.setText, failed)

    def _save_burns(self) -> None:
        if self._page.ready is not None:
            self._page.files.save_burns(self._page.ready)
