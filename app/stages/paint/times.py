"""Cards of the Paint page about time and stuff: the timetable, paint needed, bonding."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QDateTime, QSignalBlocker, Qt
from PySide6.QtWidgets import QCheckBox, QDateTimeEdit

from app.dialogs.trial import BondTrialDialog
from app.qt.captions import caption
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.stages.paint.timetable_bars import TimetableBars
from app.widgets import messages
from app.widgets.fields import ChoiceField, NumberField, show_role, small_button, words
from core.errors import TainError
from core.finishing.amounts import Amount
from core.finishing.bonding import ADHESIVES, JOINTS, BondTrial, bond_advice
from core.finishing.calendar_file import piece_words
from core.finishing.timetable import sessions, time_text
from core.job.painting.decisions import with_bond, with_pieces, with_workday
from core.shop_book.profiles import keep_bond_trial

HOURS = (
    ("opens_h", "Work begins", "h", 0, 23),
    ("closes_h", "Work ends", "h", 1, 24),
    ("mask_min", "Laying a mask", "min", 0, 240),
    ("coat_min", "One coat", "min", 0, 240),
    ("peel_min", "Peeling", "min", 0, 240),
    ("abrade_min", "Abrading", "min", 0, 240),
)
NOTHING_BONDED = "nothing is bonded"


class TimesCard(PaintedCard):
    """When what is done, and how much paint it takes."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Timetable")
        self._page = page
        self._pieces = NumberField("Pieces finished together", low=1, high=500, places=0)
        self._pieces.entered.connect(self._change_pieces)
        self.row("Pieces", self._pieces, help_text="One pair of hands does all of them; waits run side by side")
        self._dated = QCheckBox(caption("On a day of the calendar"))
        self._dated.toggled.connect(self._change_dated)
        self.body.addWidget(self._dated)
        self._start = QDateTimeEdit()
        self._start.setAccessibleName(caption("When work begins"))
        self._start.setDisplayFormat("yyyy-MM-dd HH:mm")
        self._start.setCalendarPopup(True)
        self._start.setKeyboardTracking(False)
        self._start.dateTimeChanged.connect(self._change_start)
        self._start_label = self.row("Start", self._start)
        self._fields: dict[str, NumberField] = {}
        for key, label, unit, low, high in HOURS:
            field = NumberField(label, unit=unit, low=low, high=high, places=1 if unit == "h" else 0)
            field.entered.connect(lambda value, key=key: self._change_hours(key, value))
            self.row(label, field)
            self._fields[key] = field
        page.watch(self._pieces, *self._fields.values())
        self._bars = TimetableBars()
        self.body.addWidget(self._bars)
        self._lines = words()
        self.body.addWidget(self._lines)
        self._notes = words(role="quiet")
        self.body.addWidget(self._notes)
        self._save = small_button("Save for a calendar…", tip="An iCalendar file with every step")
        self._save.clicked.connect(self._save_calendar)
        self.tick_off = small_button("&Tick off…", tip="What is done, when, and what is due next")
        self.tick_off.clicked.connect(self._tick_off)
        self.line(self._save, self.tick_off).addStretch(1)
        self.body.addWidget(words("Paint needed", role="heading"))
        self._amounts = words()
        self.body.addWidget(self._amounts)

    def show_painted(self, painted: Painted) -> None:
        """Show the timetable and the amounts."""
        finishing, table = painted.plan.job.finishing, painted.table
        self._pieces.show_value(finishing.pieces)
        dated = bool(finishing.workday.start)
        with QSignalBlocker(self._dated), QSignalBlocker(self._start):
            self._dated.setChecked(dated)
            if dated:
                self._start.setDateTime(QDateTime.fromString(table.start.isoformat(), Qt.DateFormat.ISODate))
        self._start.setVisible(dated)
        self._start_label.setVisible(dated)
        for key, field in self._fields.items():
            field.show_value(getattr(finishing.workday, key))
        self._bars.show_table(table)
        several = finishing.pieces > 1
        lines = [
            f"{time_text(s.start, dated=table.dated)}  {s.label}{f' ({piece_words(s.pieces)})' if several else ''}"
            for s in sessions(table.tasks)
        ]
        self._lines.setText("\n".join([*lines, f"{time_text(table.end, dated=table.dated)}  cured, may be handled"]))
        self._notes.setText("\n".join(table.notes))
        self._save.setEnabled(table.dated)
        self._amounts.setText("\n".join(amount_words(amount) for amount in painted.painting.amounts))

    def _change_pieces(self, count: float) -> None:
        self._page.decide(lambda plan: with_pieces(plan.job, round(count)), "Pieces", merge_key="pieces")

    def _change_dated(self, dated: bool) -> None:
        day = QDateTime.currentDateTime().addDays(1).date().toPython()
        opens_h = self._page.session.job.finishing.workday.opens_h
        start = f"{day.isoformat()}T{int(opens_h):02d}:{round(opens_h % 1 * 60):02d}" if dated else ""  # type: ignore[attr-defined]
        self._set_start(start)

    def _change_start(self, moment: QDateTime) -> None:
        self._set_start(moment.toString("yyyy-MM-ddTHH:mm"))

    def _set_start(self, start: str) -> None:
        self._page.decide(
            lambda plan: with_workday(plan.job, replace(plan.job.finishing.workday, start=start)),
            "Start of painting",
            merge_key="paint start",
        )

    def _change_hours(self, key: str, value: float) -> None:
        self._page.decide(
            lambda plan: with_workday(plan.job, replace(plan.job.finishing.workday, **{key: value})),  # type: ignore[arg-type]
            "Working hours",
            merge_key=f"hours {key}",
        )

    def _tick_off(self) -> None:
        from app.dialogs.trouble.steps import StepsDialog

        if self._page.painted is not None:
            dialog = StepsDialog(self, self._page.session, self._page.painted.table)
            messages.run(dialog)
            dialog.deleteLater()

    def _save_calendar(self) -> None:
        if self._page.painted is not None:
            self._page.files.save_calendar(self._page.painted)


class BondCard(PaintedCard):
    """What holds the piece to what it is mounted on."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Bonding")
        self._page = page
        self._joint = ChoiceField("Joint", [(NOTHING_BONDED, ""), *((f"{k}: {v}", k) for k, v in JOINTS.items())])
        self._joint.chosen.connect(lambda joint: self._change(str(joint), None))
        self.row("Joint", self._joint)
        self._adhesive = ChoiceField("Adhesive", [(f"{k}: {v}", k) for k, v in ADHESIVES.items()])
        self._adhesive.chosen.connect(lambda adhesive: self._change(None, str(adhesive)))
        self.row("Adhesive", self._adhesive)
        self._verdict = words(role="heading")
        self._verdict.setObjectName("verdict")
        self.body.addWidget(self._verdict)
        self._advice = words()
        self._advice.setObjectName("advice")
        self.body.addWidget(self._advice)
        self._source = words(role="quiet")
        self.body.addWidget(self._source)
        self._add = small_button("Add a trial of yours…", "Add a bonding trial", tip="It is kept in the shop book")
        self._add.clicked.connect(self._add_trial)
        self.body.addWidget(self._add)

    def show_painted(self, painted: Painted) -> None:
        """Show the advice for what is chosen."""
        finishing = painted.plan.job.finishing
        self._joint.show_value(finishing.joint)
        self._adhesive.show_value(finishing.adhesive)
        self._adhesive.setEnabled(bool(finishing.joint))
        known = bool(finishing.joint and finishing.adhesive)
        for label in (self._verdict, self._advice, self._source, self._add):
            label.setVisible(known)
        if not known:
            return
        advice = bond_advice(finishing.joint, finishing.adhesive, trials=self._page.bond_trials())
        self._verdict.setText(advice.verdict.capitalize())
        show_role(self._verdict, "refusal" if advice.verdict == "avoid" else "heading")
        own = [own_trial_words(trial) for trial in advice.trials]
        self._advice.setText("\n".join([advice.why, advice.how, advice.caution, *own]))
        self._source.setText(advice.source.capitalize() + ".")

    def _add_trial(self) -> None:
        job = self._page.session.job
        finishing = job.finishing
        dialog = BondTrialDialog(
            self,
            BondTrial(joint=finishing.joint, adhesive=finishing.adhesive, verdict="suits", stock=job.stock.name),
        )
        accepted, trial = messages.run(dialog), dialog.trial
        dialog.deleteLater()
        if not accepted:
            return
        try:
            keep_bond_trial(trial)
        except TainError as error:
            self._page.say(str(error))
        else:
            self._page.say("The trial is in the shop book.", role="quiet")
            self._page.touch()

    def _change(self, joint: str | None, adhesive: str | None) -> None:
        finishing = self._page.session.job.finishing
        joint = finishing.joint if joint is None else joint
        adhesive = (finishing.adhesive or "transfer tape") if adhesive is None else adhesive
        self._page.decide(
            lambda plan: with_bond(plan.job, joint=joint, adhesive=adhesive if joint else ""), "What is bonded"
        )


def own_trial_words(trial: BondTrial) -> str:
    """One of the shop's own trials in a line."""
    where = ", ".join(part for part in (trial.date, trial.stock) if part)
    return f"Own trial{f' ({where})' if where else ''}: {trial.verdict}. {trial.note}".strip()


def amount_words(amount: Amount) -> str:
    """How much of one paint, for people."""
    if amount.kind == "film":
        return f"{amount.paint}: {amount.area_mm2 / 100:.0f} cm² of film"
    cans = f", {amount.cans:.2f} cans" if amount.cans >= 0.01 else ""
    price = f", {amount.price:.2f}" if amount.price else ""
    return f"{amount.paint}: {amount.volume_ml:.1f} ml{cans}{price}"
