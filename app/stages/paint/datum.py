"""Card of the Paint page with the datum that every file of the job is laid by."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import ChoiceField, words
from app.widgets.figure_fields import FigureField, figure_field
from core.figures import figure_named
from core.job.datum import with_datum
from core.sheet.datum import Datum

DATUM_FIGURES = {
    "part edge": (),
    "marks": ("marks_burned", "met_within_mm"),
    "pins": ("pin_mm", "pin_clearance_mm"),
}
KINDS = (("the part's edge", "part edge"), ("marks in the waste", "marks"), ("pins", "pins"))


class DatumCard(PaintedCard):
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
