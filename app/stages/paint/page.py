"""Paint: which colour goes where and in what order, masks, times and amounts. The faces show the finished piece."""

from PySide6.QtCore import Signal

from app.canvas.modes import RegionLook
from app.session.painting import Painted
from app.session.session import Session
from app.session.settings import Settings
from app.stages.paint.colours import OrderCard, PaintCard, SelectedCard
from app.stages.paint.desk import PaintDesk
from app.stages.paint.masks import MasksCard, TightCard
from app.stages.paint.times import BondCard, TimesCard
from app.stages.paint.trials import TrialsCard
from app.stages.paint.ways import DatumCard, WaysCard
from app.widgets.fields import Card, small_button, words
from core.artwork.drawing import Finding
from core.finishing.inspection import checks_for
from core.finishing.steps import PaintStep, front_view
from core.job.painting.colouring import suggested_paints
from core.job.painting.decisions import with_suggested_paints

FILM, FILM_HATCH = "#c9c2a5", "#5d5638"


class PaintPage(PaintDesk):
    """Order first, then the selected areas, the chosen paint, masks, times, bonding and what to look for.

    looks_changed: how the faces look in this stage, for the canvas.
    """

    looks_changed = Signal(object)

    def __init__(self, session: Session, settings: Settings) -> None:
        super().__init__(session, settings)
        self._shown_looks: tuple[object, ...] | None = None
        self.looks_wanted.connect(self.send_looks)
        self._state = words(role="quiet")
        self.body.addWidget(self._state)
        self.add_findings_card()
        self._order, self._selected, self._bond = OrderCard(self), SelectedCard(self), BondCard(self)
        self._tight, self.ways_card = TightCard(self), WaysCard(self)
        self._cards = (
            self._order,
            self._selected,
            PaintCard(self),
            TrialsCard(self),
            MasksCard(self),
            DatumCard(self),
            self.ways_card,
            self._tight,
            TimesCard(self),
            self._bond,
        )
        for card in self._cards:
            self.body.addWidget(card)
        self._inspection = Card("Look at the sheet first")
        self._checks = words()
        self._inspection.body.addWidget(self._checks)
        self.body.addWidget(self._inspection)
        self.end_body()
        self._run_sheet = small_button("&Run sheet…", "Run sheet", tip="One PDF for the machine and the paint bench")
        self._run_sheet.clicked.connect(self._show_run_sheet)
        self.foot.insertWidget(1, self._run_sheet)
        self._run_sheet_waits = False
        self.painting.changed.connect(self._tell_session)
        self.painting.changed.connect(self._show_waiting_run_sheet)
        self.painting.changed.connect(self.touch)
        self.files.written.connect(lambda text: self.say(text, role="quiet"))
        session.selection_changed.connect(self._show_selection)

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
        for card in self._cards:
            card.setVisible(some or (card is self._selected and painted is not None))
            if painted is not None:
                card.show_painted(painted)
        self.keep_tab_order()
        if not some:
            self._tight.hide()
        checks = checks_for(session.job.stock)
        lines = [f"• {one.flaw[0].upper()}{one.flaw[1:]}. From the front: {one.from_front}." for one in checks]
        self._checks.setText("\n".join(lines))
        self._inspection.setVisible(session.job.source is not None)
        self._run_sheet.setEnabled(self.ready is not None)
        self.send_looks()
        self.show_findings_card()
        if self._suggested:
            self.show_main_action("Use these paints and go o&n")
        else:
            self.show_go_on()

    def touch(self) -> None:
        """Once paints are decided their masks are worked out behind other pages too: the rail tells what was found."""
        if self.session.complete and self.session.job.finishing.paints:
            self.painting.want(self.session.plan)
        super().touch()

    def on_main_action(self) -> None:
        """Go on; what the artwork suggests is then decided."""
        if self._suggested:
            self.decide(with_suggested_paints, "Paints as suggested")
        super().on_main_action()

    def stage_findings(self) -> list[Finding]:
        """What painting the present job came to, and what the shop remembers of it."""
        return [*super().stage_findings(), *(self.session.paint_findings or ())]

    @property
    def _suggested(self) -> bool:
        plan = self.session.plan
        return plan is not None and bool(suggested_paints(plan))

    def _tell_session(self) -> None:
        painted = self.painting.painted
        if painted is not None and painted.plan.job == self.session.job:
            burns = () if painted.burning is None else painted.burning.findings
            self.session.note_painting(painted.plan.job, (*painted.painting.findings, *burns))

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
        """The faces: the finished piece, and the film of the chosen colour's mask where that is wanted."""
        painted = self.painted
        if painted is None:
            return
        masked = self.chosen_step if self._order.mask_shown else None
        after = self.ways_card.stage if self.ways_card.looks() is not None else None
        shown = (painted.painting, masked, after)
        if self._shown_looks is None or any(a is not b for a, b in zip(shown, self._shown_looks, strict=True)):
            self._shown_looks = shown
            self.looks_changed.emit(self.ways_card.looks() or looks_of(painted, masked))

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


def looks_of(painted: Painted, masked: PaintStep | None) -> tuple[RegionLook, ...]:
    """The painted areas in their colours; over them the film of a step's mask, hatched."""
    looks = [
        RegionLook(region=look.region, colour=look.colour)
        for look in front_view(painted.painting.colouring)
        if look.colour is not None
    ]
    if masked is not None and masked.made_by == "knife" and masked.opening is not None:
        film = painted.painting.ground.film.difference(masked.opening)
        looks.append(RegionLook(region=film, colour=FILM, pattern="hatch", pattern_colour=FILM_HATCH, opacity=0.6))
    elif masked is not None and not masked.patches.is_empty:
        looks.append(
            RegionLook(region=masked.patches, colour=FILM, pattern="hatch", pattern_colour=FILM_HATCH, opacity=0.6)
        )
    return tuple(looks)
