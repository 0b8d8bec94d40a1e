"""Paint: which colour goes where and in what order, masks, times and amounts. The faces show the finished piece."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.canvas.modes import RegionLook
from app.qt.captions import filled
from app.session.paint_ahead import PaintAhead
from app.session.painting import Painted
from app.session.session import Session
from app.session.settings import Settings
from app.stages.paint.bench import BenchCard
from app.stages.paint.burned_through import BurnedThroughCard
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
from core.finishing.steps import front_view
from core.job.painting.bench import looks_at
from core.job.painting.colouring import suggested_paints
from core.job.painting.decisions import with_suggested_paints

COAT = "#b8bdc2"
FILM, FILM_HATCH = "#c9c2a5", "#5d5638"


class PaintPage(PaintDesk):
    """Colours in their order, the steps of the chosen one, the selected areas; all else behind named doors.

    looks_changed: how the faces look in this stage, for the canvas.
    """

    looks_changed = Signal(object)

    def __init__(self, session: Session, settings: Settings, ahead: PaintAhead, *, parent: QWidget) -> None:
        super().__init__(session, settings, ahead, parent=parent)
        self._shown_looks: tuple[object, ...] | None = None
        self.looks_wanted.connect(self.send_looks)
        self._state = words(role="quiet")
        self._state.setObjectName("state")
        self.body.addWidget(self._state)
        self.add_findings_card()
        self._order, self._bench, self._selected = OrderCard(self), BenchCard(self), SelectedCard(self)
        self.tight, self.ways_card, self.bond = TightCard(self), WaysCard(self), BondCard(self)
        for card in (self._order, self._bench, self.tight, self._selected):
            self.body.addWidget(card)
        self._doors = QVBoxLayout()
        self._doors.setSpacing(4)
        self.body.addLayout(self._doors)
        figures, film = (PaintCard(self), TrialsCard(self)), (MasksCard(self), FilmCard(self), DatumCard(self))
        burned_later = (self.ways_card, BurnedThroughCard(self))
        self.figures_room = self._room("Figures of this paint", *figures)
        self._room("Masks, film and datum", *film)
        self._room("Masks or later burns", *burned_later)
        times = TimesCard(self)
        self._room("Timetable, paint needed, bonding", times, self.bond)
        self._cards = (self._order, self._bench, self.tight, self._selected)
        self._behind_doors = (*figures, *film, *burned_later, times, self.bond)
        self._checks = words()
        inspection = Card()
        inspection.body.addWidget(self._checks)
        self.checks_room = self._room("Look at the sheet first", inspection)
        self.add_wrong_button()
        self.end_body()
        self._run_sheet_waits = False
        self.run_sheet_wanted.connect(self._show_run_sheet)
        self.painting.changed.connect(self._show_waiting_run_sheet)
        self.painting.changed.connect(self.touch)
        self.files.written.connect(lambda text: self.say(text, role="quiet"))
        session.selection_changed.connect(self._show_selection)

    def _room(self, title: str, *cards: Card) -> Room:
        room, door = self.add_room(title)
        for card in cards:
            room.body.addWidget(card)
        room.end()
        self._doors.addWidget(door)
        return room

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Ask for what is missing and show what is known."""
        session = self.session
        if session.current or session.job.source is None:
            self.painting.want(session.plan)
        painted = self.painted
        self._state.setText(self._state_words(painted))
        self._state.setVisible(bool(self._state.text()))
        some = painted is not None and bool(painted.painting.steps)
        for card in (*self._cards, *self._behind_doors):
            card.setVisible(some or (card is self._selected and painted is not None))
            if painted is not None:
                card.show_painted(painted)
        if not some:
            self.tight.hide()
        self.show_doors([room for room in self.rooms if some or room is self.checks_room])
        if (step := self.chosen_step) is not None:
            self.figures_room.head.setText(filled("Figures of {name}", name=step.area.paint.name))
        self.keep_tab_order()
        checks = checks_for(session.job.stock)
        lines = [f"• {one.flaw[0].upper()}{one.flaw[1:]}. From the front: {one.from_front}." for one in checks]
        self._checks.setText("\n".join(lines))
        self.send_looks()
        self.show_findings_card()
        if self._suggested:
            self.show_main_action("Use these paints and go o&n")
        else:
            self.show_go_on()

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
        if painted is None:
            return "Not worked out yet."
        if not painted.painting.steps:
            return "Nothing is painted: every bared area stays bare. Select areas on a face to give them a paint."
        return ""

    def _show_selection(self) -> None:
        if self.isVisible() and self.painted is not None:
            self._selected.show_painted(self.painted)

    def send_looks(self) -> None:
        """The faces: the piece after the chosen step, with the film that lies on it then, or the finished piece."""
        painted = self.painted
        if painted is None:
            return
        shown = (painted.painting, painted.bench, self.shown_at)
        if self._shown_looks is None or any(a is not b for a, b in zip(shown, self._shown_looks, strict=True)):
            self._shown_looks = shown
            self.looks_changed.emit(looks_of(painted, self.shown_at))

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


def looks_of(painted: Painted, at: int | None) -> tuple[RegionLook, ...]:
    """The painted areas in their colours, as they are after a step; over them its film, hatched."""
    if at is None:
        finished = front_view(painted.painting.colouring)
        return tuple(RegionLook(region=look.region, colour=look.colour) for look in finished if look.colour is not None)
    step = painted.bench[at]
    seen = looks_at(painted.plan, painted.painting, painted.burning, step)
    looks = [RegionLook(region=look.region, colour=look.colour or COAT) for look in seen]
    if not step.film.is_empty:
        looks.append(RegionLook(region=step.film, colour=FILM, pattern="hatch", pattern_colour=FILM_HATCH, opacity=0.6))
    return tuple(looks)
