"""Paint: which colour goes where and in what order, masks, times and amounts."""

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.qt.captions import filled
from app.session.paint_ahead import PaintAhead
from app.session.painting import Painted
from app.session.session import Session
from app.session.settings import Settings
from app.stages.paint.bench import BenchCard
from app.stages.paint.burned_through import BurnedThroughCard
from app.stages.paint.card import PaintedCard
from app.stages.paint.datum import DatumCard
from app.stages.paint.desk import PaintDesk
from app.stages.paint.figures import PaintCard
from app.stages.paint.film import FilmCard
from app.stages.paint.masks import MasksCard, TightCard
from app.stages.paint.order import OrderCard
from app.stages.paint.selected import SelectedCard
from app.stages.paint.times import BondCard, TimesCard
from app.stages.paint.trials import TrialsCard
from app.stages.paint.ways import WaysCard
from app.stages.room import Room
from app.widgets.fields import Card, words
from core.findings import Finding
from core.finishing.inspection import checks_for
from core.job.painting.colouring import suggested_paints
from core.job.painting.decisions import with_suggested_paints


class PaintPage(PaintDesk):
    """Colours in their order, the steps of the chosen one, the selected areas; all else behind named doors."""

    def __init__(self, session: Session, settings: Settings, ahead: PaintAhead, *, parent: QWidget) -> None:
        super().__init__(session, settings, ahead, parent=parent)
        self._state = words(role="quiet")
        self._state.setObjectName("state")
        self.body.addWidget(self._state)
        self.add_findings_card()
        self._order, self._bench, self._selected = OrderCard(self), BenchCard(self), SelectedCard(self)
        self.tight = TightCard(self)
        for card in (self._order, self._bench, self.tight, self._selected):
            self.body.addWidget(card)
        self._doors = QVBoxLayout()
        self._doors.setSpacing(4)
        self.body.addLayout(self._doors)
        self._cards: list[PaintedCard] = [self._order, self._bench, self.tight, self._selected]
        self.figures_room = self._room("Figures of this paint", PaintCard, TrialsCard)
        self._room("Masks, film and datum", MasksCard, FilmCard, DatumCard)
        self._room("Masks or later burns", WaysCard, BurnedThroughCard)
        self._room("Timetable, paint needed, bonding", TimesCard, BondCard)
        self._checks = words()
        inspection = Card()
        inspection.body.addWidget(self._checks)
        self.checks_room = self._room("Look at the sheet first")
        self.checks_room.body.addWidget(inspection)
        self.add_wrong_button()
        self.end_body()
        self._run_sheet_waits = False
        self.run_sheet_wanted.connect(self._show_run_sheet)
        self.painting.changed.connect(self._show_waiting_run_sheet)
        self.painting.changed.connect(self.touch)
        self.files.written.connect(lambda text: self.say(text, role="quiet"))
        session.selection_changed.connect(self._show_selection)

    def _room(self, title: str, *cards: Callable[["PaintPage"], PaintedCard]) -> Room:
        room, door = self.add_room(title)
        self._doors.addWidget(door)
        self.furnish_later(lambda: self._furnish(room, cards))
        return room

    def _furnish(self, room: Room, cards: Sequence[Callable[["PaintPage"], PaintedCard]]) -> None:
        for make in cards:
            card = make(self)
            room.body.addWidget(card)
            self._show_card(card, self.painted)
            self._cards.append(card)
        room.end()

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show what is known."""
        session = self.session
        painted = self.painted
        self._state.setText(self._state_words(painted))
        self._state.setVisible(bool(self._state.text()))
        some = painted is not None and bool(painted.painting.steps)
        for card in self._cards:
            self._show_card(card, painted)
        if not some:
            self.tight.hide()
        self.show_doors([room for room in self.rooms if some or room is self.checks_room])
        if (step := self.chosen_step) is not None:
            self.figures_room.head.setText(filled("Figures of {name}", name=step.area.paint.name))
        self.keep_tab_order()
        checks = checks_for(session.job.stock)
        lines = [f"• {one.flaw[0].upper()}{one.flaw[1:]}. From the front: {one.from_front}." for one in checks]
        self._checks.setText("\n".join(lines))
        self.show_findings_card()
        if self._suggested:
            self.show_main_action("Use these paints and go o&n")
        else:
            self.show_go_on()

    def _show_card(self, card: PaintedCard, painted: Painted | None) -> None:
        some = painted is not None and bool(painted.painting.steps)
        card.setVisible(some or (card is self._selected and painted is not None))
        if painted is not None:
            card.show_painted(painted)

    def on_main_action(self) -> None:
        """Go on; what the artwork suggests is then decided."""
        if self._suggested:
            self.decide(with_suggested_paints, "Paints as suggested")
        super().on_main_action()

    def stage_findings(self) -> list[Finding]:
        """What painting the present job came to, and what the shop remembers of it."""
        return [*super().stage_findings(), *(self.session.paint_findings or ())]

    def listed_findings(self) -> list[Finding]:
        """Tight places have a card that steps through them."""
        return [one for one in self.stage_findings() if one.code != "tight-mask"]

    @property
    def _suggested(self) -> bool:
        plan = self.session.plan
        return plan is not None and bool(suggested_paints(plan))

    def _state_words(self, painted: Painted | None) -> str:
        if self.session.job.source is None:
            return "Open artwork first."
        if self.painting.error is not None:
            return str(self.painting.error)
        if self.painting.busy or self.session.busy:
            return "Working out masks and order…"
        if self.painting.stopped:
            return "Stopped before masks and order were worked out; F5 goes on."
        if painted is None:
            return "Not worked out yet."
        if not painted.painting.steps:
            return "Nothing is painted: every bared area stays bare. Select areas on a face to give them a paint."
        return ""

    def _show_selection(self) -> None:
        if self.isVisible() and self.painted is not None:
            self._selected.show_painted(self.painted)

    def ask_run_sheet(self) -> None:
        """Show the run sheet from another page: at once, or as soon as the paint plan that it needs is there."""
        self._run_sheet_waits = True
        self.painting.want(self.session.plan)
        self._show_waiting_run_sheet()

    def _show_waiting_run_sheet(self) -> None:
        if self._run_sheet_waits and self.ready is not None:
            self._run_sheet_waits = False
            self._show_run_sheet()

    def _show_run_sheet(self) -> None:
        if self.ready is not None:
            self.files.show_run_sheet(self.ready)
