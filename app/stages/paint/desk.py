"""What the Paint page and its cards both hold: the paint plan, the chosen paint, the shop's paints and trials."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from app.errands.finishing_files import FinishingFiles
from app.session.paint_ahead import PaintAhead
from app.session.painting import Painted
from app.session.session import Session
from app.session.settings import Settings
from app.stages.page import Page
from app.stages.stage import Stage
from core.errors import TainError
from core.finishing.bonding import BondTrial
from core.finishing.paints import Paint
from core.finishing.steps import PaintStep
from core.job.job import Job
from core.job.plan import Plan
from core.shop_book.profiles import known_bond_trials, known_paints


class PaintDesk(Page):
    """The page without its cards.

    run_sheet_wanted: to be shown.
    """

    run_sheet_wanted = Signal()

    def __init__(self, session: Session, settings: Settings, ahead: PaintAhead, *, parent: QWidget) -> None:
        super().__init__(
            Stage.PAINT,
            "Paint goes on from the back, colour by colour. Coat that stands hides what lands beside an area.",
            session,
            settings,
            parent=parent,
        )
        self.ahead, self.painting = ahead, ahead.painting
        self.files = FinishingFiles(self.painting, self)
        self.chosen = ""
        self._kept: tuple[Paint, ...] | None = None

    @property
    def painted(self) -> Painted | None:
        """What painting this artwork comes to, as last worked out; None while nothing is known."""
        return self.ahead.painted

    @property
    def ready(self) -> Painted | None:
        """The present job's painting with its complete plan, as the run sheet needs it."""
        painted, plan = self.painted, self.session.plan
        if painted is None or plan is None or not self.session.complete or painted.plan.job != plan.job:
            return None
        return replace(painted, plan=plan)

    @property
    def chosen_step(self) -> PaintStep | None:
        """The step of the paint that is chosen in the order, or the first."""
        steps = self.painted.painting.steps if self.painted is not None else ()
        return next((step for step in steps if step.area.paint.name == self.chosen), steps[0] if steps else None)

    def choose_paint(self, name: str) -> None:
        """Have the cards be about this paint; a picture of a step goes on to its first step."""
        if name != self.chosen:
            self.chosen = name
            if self.shown_at is not None and self.painted is not None:
                own = [n for n, step in enumerate(self.painted.bench) if step.colour == name]
                self.ahead.show_at(own[0] if own else None)
            self.touch()

    @property
    def shown_at(self) -> int | None:
        """Which step at the bench the faces show the piece after, from 0; None for the finished piece."""
        return self.ahead.shown_at

    def show_at(self, number: int | None) -> None:
        """Have the faces show the piece after a step at the bench, and the cards be about its colour."""
        if number is not None and self.painted is not None:
            self.chosen = self.painted.bench[number].colour
        self.ahead.show_at(number)
        self.touch()

    def decide(self, change: Callable[[Plan], Job], label: str, *, merge_key: str | None = None) -> None:
        """Commit a change to the present job as soon as its plan is there."""
        self.session.when_current(lambda plan: self.commit(lambda: change(plan), label, merge_key=merge_key))

    def kept_paints(self) -> tuple[Paint, ...]:
        """The shop book's paints; what is wrong with the book goes to the note line."""
        if self._kept is None:
            try:
                self._kept = known_paints()
            except TainError as error:
                self.say(str(error))
                self._kept = ()
        return self._kept

    def forget_kept(self) -> None:
        """The shop book has changed."""
        self._kept = None

    def bond_trials(self) -> tuple[BondTrial, ...]:
        """The shop's own bonding trials; what is wrong with the book goes to the note line."""
        try:
            return known_bond_trials()
        except TainError as error:
            self.say(str(error))
            return ()
