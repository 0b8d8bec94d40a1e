"""Paint: which film masks are cut from, what cuts it, and how."""

from dataclasses import replace
from functools import partial

from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import LengthField, words
from app.widgets.figure_fields import FigureField, figure_field
from core.figures import figure_named
from core.finishing.films import CHLORINE, FILMS
from core.finishing.paints import MaskOptions
from core.job.painting.decisions import with_masks

FIGURES = ("film", "cut_by", "cut_width_mm", "overcut_mm", "border_mm")


class FilmCard(PaintedCard):
    """The figures of the film, and what to know of it."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Film for masks")
        self._page = page
        self.fields: dict[str, FigureField] = {}
        for name in FIGURES:
            figure = figure_named(MaskOptions, name)
            field = figure_field(figure, figure.words, entered=partial(self._change, name))
            self.row(figure.words, field, help_text=figure.about)
            self.fields[name] = field
        page.watch(*(field for field in self.fields.values() if isinstance(field, LengthField)))
        self.told = words(role="quiet")
        self.body.addWidget(self.told)
        self.caution = words(CHLORINE)
        self.body.addWidget(self.caution)

    def show_painted(self, painted: Painted) -> None:
        """Show what the job says."""
        masks = painted.plan.job.finishing.masks
        for name, field in self.fields.items():
            field.show_value(getattr(masks, name))
        film = FILMS[masks.film]
        self.told.setText(f"{film.laying} {film.edges}")
        self.caution.setVisible(masks.cut_by == "laser")

    def _change(self, name: str, value: object) -> None:
        figure = figure_named(MaskOptions, name)
        self._page.decide(
            lambda plan: with_masks(plan.job, replace(plan.job.finishing.masks, **{name: value})),  # type: ignore[arg-type]
            figure.words,
            merge_key=f"masks {name}",
        )
