"""Card of the Paint page: how each colour is kept off what waits, and what either way comes to."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QVBoxLayout

from app.qt.captions import caption, filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import Card, ChoiceField, clear, small_button, words
from app.widgets.figure_fields import with_help
from core.errors import TainError
from core.job.painting.decisions import with_way

WAYS = (("behind a mask", "mask"), ("burned later", "burn"))


class WaysCard(PaintedCard):
    """Masked or burned later, colour by colour."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
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

    @property
    def offers_text(self) -> str:
        """What was told of both ways."""
        return self._offers.text()

    def _build_rows(self, names: tuple[str, ...]) -> None:
        clear(self._rows)
        self._choices = {}
        for name in names[1:]:
            choice = ChoiceField(filled("How {name} is painted", name=name), WAYS)
            choice.chosen.connect(lambda way, name=name: self._choose(name, way))
            holder = Card()
            holder.setProperty("role", "")
            holder.body.setContentsMargins(0, 0, 0, 0)
            holder.row(name, choice)
            with_help(choice, "Behind a mask, cleared with the colour before it; or cleared later in a burn of its own")
            self._rows.addWidget(holder)
            self._choices[name] = choice

    def _choose(self, name: str, way: Any) -> None:
        self._page.decide(lambda plan: with_way(plan, name, way), filled("How {name} is painted", name=name))

    def _compare_ways(self) -> None:
        painted = self._painted
        if painted is None:
            return
        self._offers.setText(caption("Comparing…"))

        def work(progress: Any) -> str:
            from core.job.painting.offers import way_offers

            offers = way_offers(painted.plan, progress=progress)
            better = {"mask": "better behind a mask", "burn": "better burned later"}
            return "\n".join(f"{offer.name}: {better[offer.better]}. {offer.why}" for offer in offers[1:])

        def failed(error: TainError) -> None:
            self._offers.setText(str(error))

        self._page.painting.do(work, self._offers.setText, failed)
