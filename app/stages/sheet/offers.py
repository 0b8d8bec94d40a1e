"""Sheet: places to choose from, each with what it does to the run time, and where the artwork's own corner comes."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.session.placing import Placing
from app.widgets.fields import Card, clear, small_button, words
from app.words.wording import area_text, length_text
from core.errors import TainError
from core.job.fitting import with_place
from core.job.job import Job
from core.job.laid_out import same_question
from core.job.plan import Plan
from core.job.timing import range_text
from core.sheet.ground import PlacingOptions

if TYPE_CHECKING:
    from core.job.place_offers import Offer
    from core.job.place_told import PlaceTold
    from core.sheet.ground import Placed

AIM_WORDS = {"least flaws": "Least flaws", "quickest": "Quickest run", "least sheet": "Least sheet"}

WhenCurrent = Callable[[Callable[[Plan], None]], None]
Put = Callable[[Callable[[Plan], Job], str, str | None], None]


class OffersCard(Card):
    """``when_current`` calls back with a plan of the present job; ``put`` has the plan's job placed anew."""

    def __init__(self, when_current: WhenCurrent, put: Put, options: Callable[[Job], PlacingOptions]) -> None:
        super().__init__()
        self._when_current, self._put, self._options = when_current, put, options
        self._placing = Placing(self)
        self._inches = False
        self.offers: tuple[Offer, ...] = ()
        self._asked: Plan | None = None
        self.now = words(role="quiet")
        self.body.addWidget(self.now)
        self.look = small_button(
            "&Look for places", tip="The least flaws showing, the quickest run, the most of the sheet left"
        )
        self.look.clicked.connect(lambda: self._when_current(self._look))
        self.line(self.look).addStretch(1)
        self.body.addWidget(SearchBar(self._placing, "Looking for places", stop="Stop"))
        self._rows = QVBoxLayout()
        self._rows.setSpacing(8)
        self.body.addLayout(self._rows)
        self.refused = words(role="refusal")
        self.refused.hide()
        self.body.addWidget(self.refused)
        self._placing.busy_changed.connect(lambda: self.look.setEnabled(not self._placing.busy))

    @property
    def busy(self) -> bool:
        """Whether places are being looked for."""
        return self._placing.busy

    def show_plan(self, plan: Plan | None, *, inches: bool) -> None:
        """Say where the artwork lies now; places found for a job that has changed are taken off."""
        from core.job.place_told import told_of_plan

        self._inches = inches
        told = told_of_plan(plan) if plan is not None else None
        self.now.setText(
            filled("Now: {told_words}", told_words=told_words(told, inches=inches))
            if told is not None
            else caption("Nothing is burned yet.")
        )
        self.look.setEnabled(told is not None and not self._placing.busy)
        if plan is not None and self._asked is not None and not same_question(plan, self._asked):
            self._asked, self.offers = None, ()
            self._show_offers()

    def _look(self, plan: Plan) -> None:
        from core.job.place_offers import place_offers

        options = self._options(plan.job)
        self._asked = plan
        self.refused.hide()
        self._placing.do(
            lambda progress, tell: place_offers(plan, options, progress=progress), self._take, self._failed
        )

    def _take(self, offers: "tuple[Offer, ...]") -> None:
        self.offers = offers if self._asked is not None else ()
        self._show_offers()

    def _failed(self, error: TainError) -> None:
        self.refused.setText(str(error))
        self.refused.show()

    def _show_offers(self) -> None:
        clear(self._rows)
        for offer in self.offers:
            self._rows.addWidget(self._row(offer))

    def _row(self, offer: "Offer") -> QWidget:
        row = QWidget()
        column = QVBoxLayout(row)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        title = " and ".join(AIM_WORDS[aim] if n == 0 else AIM_WORDS[aim].lower() for n, aim in enumerate(offer.aims))
        column.addWidget(words(title, role="heading"))
        shown = offer.placed.shown_mm2
        flaws = f"{area_text(shown, inches=self._inches)} of flaws show" if shown else "no flaw shows"
        column.addWidget(
            words(
                filled(
                    "Runs {range_text}, {time_words}; {flaws}.",
                    range_text=range_text(offer.time),
                    time_words=offer.time_words,
                    flaws=flaws,
                )
            )
        )
        told = told_words(offer.told, inches=self._inches)
        column.addWidget(words(f"{told[0].upper()}{told[1:]}", role="quiet"))
        button = small_button("Put it there", filled("Put it there: {lower}", lower=title.lower()))
        button.clicked.connect(partial(self._put, partial(_at, placed=offer.placed), f"Place: {title}", None))
        line = QVBoxLayout()
        line.addWidget(button)
        column.addLayout(line)
        return row


def _at(plan: Plan, placed: "Placed") -> Job:
    return with_place(plan.job, placed)


def told_words(told: "PlaceTold", *, inches: bool) -> str:
    """Where a place puts what is burned, and the corner of the artwork's own page."""

    def at(x_mm: float, y_mm: float) -> str:
        return f"{length_text(x_mm, inches=inches, places=2)}, {length_text(y_mm, inches=inches, places=2)}"

    x0, y0, x1, y1 = told.box_mm
    lies = f", turned {told.rotation_deg % 360:g}°" if told.rotation_deg % 360 else ""
    return f"burned from {at(x0, y0)} to {at(x1, y1)}; its page's top left corner comes to {at(*told.page_mm)}{lies}."
