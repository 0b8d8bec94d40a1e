"""Card of the Paint page about the areas that are selected on the faces: which paint they get."""

from __future__ import annotations

from app.qt.captions import caption, filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets import messages
from app.widgets.fields import ChoiceField, small_button, words
from app.words.wording import count_text
from core.finishing.paints import BARE
from core.job.painting.colouring import filled_shapes, source_colour
from core.job.painting.decisions import with_new_paint, with_paint_of
from core.job.plan import Plan

STAYS_BARE = "Stays bare, light shows through"


class SelectedCard(PaintedCard):
    """The paint of the areas that are selected on the faces."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._title = words(role="heading")
        self.body.addWidget(self._title)
        self._hint = words("Click a painted area on a face to give it another paint.", role="quiet")
        self.body.addWidget(self._hint)
        self._paint = ChoiceField("Paint of the selected areas")
        self._paint.chosen.connect(self._put)
        self.body.addWidget(self._paint)
        self._alike = small_button("All of this colour", tip="Everything that has this colour in the artwork")
        self._alike.clicked.connect(self._select_colour)
        self._layer = small_button("All on this layer", tip="Every area on the same fill layer")
        self._layer.clicked.connect(self._select_layer)
        self._new = small_button("New paint…", "New paint for the selected areas")
        self._new.clicked.connect(self._new_paint)
        self.line(self._alike, self._layer, self._new)

    def show_painted(self, painted: Painted) -> None:
        """Show what the selection is painted with."""
        paint_of = painted.painting.colouring.paint_of
        chosen = self._chosen(painted.plan)
        self._title.setText(
            filled("{chosen} selected", chosen=count_text(len(chosen), "area", "areas"))
            if chosen
            else caption("No area selected")
        )
        self._hint.setVisible(not chosen)
        for widget in (self._paint, self._alike, self._layer, self._new):
            widget.setVisible(bool(chosen))
        finishing = painted.plan.job.finishing
        names = dict.fromkeys([*painted.painting.order, *(paint.name for paint in finishing.paints)])
        self._paint.offer([*((name, name) for name in names), (STAYS_BARE, BARE)])
        used = {paint_of.get(shape) for shape in chosen}
        self._paint.show_value(used.pop() if len(used) == 1 else None)

    def _chosen(self, plan: Plan) -> list[str]:
        """The selected shapes that are filled."""
        filled = {shape.id for shape in filled_shapes(plan)}
        return sorted(self._page.session.selection & filled)

    def _put(self, name: object) -> None:
        self._page.decide(
            lambda plan: with_paint_of(plan, self._chosen(plan), str(name)),
            "Areas stay bare" if name == BARE else filled("Paint areas {name}", name=name),
        )

    def _select_colour(self) -> None:
        plan = self._page.session.plan
        if plan is not None:
            selection = self._page.session.selection
            shapes = filled_shapes(plan)
            colours = {source_colour(shape) for shape in shapes if shape.id in selection}
            self._page.session.select(shape.id for shape in shapes if source_colour(shape) in colours)

    def _select_layer(self) -> None:
        plan = self._page.session.plan
        if plan is not None:
            layers = {plan.layer_of[shape] for shape in self._chosen(plan)}
            self._page.session.select(s.id for s in filled_shapes(plan) if plan.layer_of[s.id] in layers)

    def _new_paint(self) -> None:
        colour = messages.choose_colour(self._page, "Colour of the new paint", "#888888")
        if colour is not None:
            self._page.decide(lambda plan: with_new_paint(plan, self._chosen(plan), colour), "New paint")
