"""One cause: how likely, what speaks for and against it, what can be saved, what to change, its trial."""

from PySide6.QtCore import Signal

from app.qt.captions import filled
from app.widgets.fields import Card, small_button, words
from core.trouble.changes import Change
from core.trouble.ranking import RankedCause

REMEMBERED = "Remembered with the paint, stock, adhesive or machine; the next job that would repeat it is told"


class CauseCard(Card):
    """change_wanted: the change it offers. trial_wanted: the cause to be settled. remember_wanted: the cause it was."""

    change_wanted = Signal(object)
    trial_wanted = Signal(object)
    remember_wanted = Signal(object)

    def __init__(self, number: int, one: RankedCause, change: Change | None) -> None:
        super().__init__()
        self.cause = one.cause
        self.body.setSpacing(6)
        self.body.addWidget(words(f"{number}. {one.cause.name}", role="heading"))
        self.body.addWidget(words(f"{one.likely[:1].upper()}{one.likely[1:]} · {one.cause.source}", role="quiet"))
        for sign, items in (("+", one.speaks_for), ("−", one.speaks_against)):
            for item in items:
                self.body.addWidget(words(f"{sign}  {item.words} ({item.source})"))
        self.body.addWidget(words(filled("Now: {rescue}", rescue=one.cause.rescue)))
        self.body.addWidget(words(filled("Next time: {prevent}", prevent=one.cause.prevent)))
        self.change, self.trial = None, None
        buttons = []
        if change is not None:
            self.body.addWidget(words(f"In this job: {change.words}.".replace("..", "."), role="quiet"))
            self.change = small_button(
                "Change it for next time", filled("Change it for next time: {name}", name=one.cause.name)
            )
            self.change.clicked.connect(lambda: self.change_wanted.emit(change))
            buttons.append(self.change)
        if one.cause.factors:
            self.trial = small_button("Plan a trial…", filled("Plan a trial: {name}", name=one.cause.name))
            self.trial.clicked.connect(lambda: self.trial_wanted.emit(one.cause))
            buttons.append(self.trial)
        self.remember = small_button("It was this", filled("It was this: {name}", name=one.cause.name), tip=REMEMBERED)
        self.remember.clicked.connect(lambda: self.remember_wanted.emit(one.cause))
        self.line(*buttons, self.remember).addStretch(1)
