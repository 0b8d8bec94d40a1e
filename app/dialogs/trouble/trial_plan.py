"""A trial planned: what is varied and at which levels, how often, on what offcut; what it can find is told at once."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.fields import Card, ChoiceField, NumberField, show_role, words
from core.errors import TainError
from core.finishing.paints import STARTING_PAINTS, Paint
from core.job.job import Job
from core.job.painting.colouring import paints_of_shapes
from core.job.plan import Plan
from core.trouble.faults import Fault
from core.trouble.trials.factors import BURNED, KINDS, STARTING_LEVELS, Factor, factor_from
from core.trouble.trials.planning import USUAL_REPEATS, ask_of_job, planned_trial, told_before
from core.trouble.trials.scales import SCALES, scale_of
from core.trouble.trials.trial import Trial
from core.units import parse_sheet_size_mm

NONE = ""
WORSE = (("as is usual", None), ("the low end", "low"), ("the high end", "high"), ("either", "either"))


class TrialPlanDialog(QDialog):
    """Accepted with ``trial``; None while what is entered makes none."""

    def __init__(
        self, parent: QWidget | None, job: Job, plan: Plan | None, *, faults: Sequence[Fault], factors: Sequence[str],
        paint: str,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.setWindowTitle(caption("Plan a trial"))
        self.setMinimumWidth(560)
        self._job, self._plan = job, plan
        self._seed = int(datetime.now().timestamp()) % 100_000
        self.trial: Trial | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        lead = "All levels crossed, laid as patches on an offcut, each worked on by itself in an order drawn by lot."
        layout.addWidget(words(lead, role="quiet"))
        layout.addWidget(self._what_card(faults, paint))
        layout.addWidget(self._factors_card(factors))
        layout.addWidget(self._size_card())
        self.told = words()
        layout.addWidget(self.told)
        foot = Foot(self, "&Plan it…")
        self.take = foot.main
        layout.addLayout(foot)
        self._work_out()

    def _what_card(self, faults: Sequence[Fault], paint: str) -> Card:
        card = Card()
        self._faults = [fault.code for fault in faults] or [""]
        self.fault = ChoiceField("What is looked for", [(code.replace("-", " "), code) for code in self._faults])
        self.fault.chosen.connect(lambda code: self._another_fault())
        card.row("Looked for", self.fault)
        self._paints: list[Paint | None] = [*(paints_of_shapes(self._plan)[1] if self._plan is not None else ())]
        self._paints = [*(self._paints or STARTING_PAINTS), None]
        self.paint = ChoiceField(
            "Paint of the trial", [(one.name if one else "none: bared patches", one) for one in self._paints]
        )
        named = next((one for one in self._paints if one is not None and one.name == paint), self._paints[0])
        self.paint.show_value(named)
        self.paint.chosen.connect(lambda one: self._another_fault())
        card.row("Paint", self.paint)
        self._scales = list(SCALES.values())
        self.scale = ChoiceField("Scale that patches are judged on", [(one.title, one) for one in self._scales])
        self.scale.show_value(scale_of(self._faults[0]))
        self.scale.chosen.connect(lambda one: self._work_out())
        card.row("Judged by", self.scale)
        return card

    def _factors_card(self, offered: Sequence[str]) -> Card:
        card = Card("What is varied")
        names = [*offered, *(name for name in KINDS if name not in offered)]
        self._names = [NONE, *names]
        self.factors: list[ChoiceField] = []
        self.levels: list[QLineEdit] = []
        self.worse: list[ChoiceField] = []
        for number in (1, 2):
            factor = ChoiceField(
                filled("Factor {number}", number=number), [(_words(name), name) for name in self._names]
            )
            factor.show_value(names[0] if number == 1 else NONE)
            levels = QLineEdit(STARTING_LEVELS[names[0]] if number == 1 else "")
            levels.setAccessibleName(filled("Levels of factor {number}, parted by commas", number=number))
            levels.setPlaceholderText(caption("levels, like 10, 60"))
            levels.textChanged.connect(lambda text: self._work_out())
            worse = ChoiceField(filled("Expected worse at, factor {number}", number=number), WORSE)
            worse.setToolTip(caption("Fixed before anything is painted: the test looks this way"))
            worse.chosen.connect(lambda side: self._work_out())
            factor.chosen.connect(lambda name, levels=levels: self._another_factor(name, levels))
            line = QHBoxLayout()
            for widget, stretch in ((factor, 3), (levels, 3), (worse, 3)):
                line.addWidget(widget, stretch)
            card.body.addLayout(line)
            self.factors.append(factor)
            self.levels.append(levels)
            self.worse.append(worse)
        card.body.addWidget(words("The last column: which end is expected to come out worse.", role="quiet"))
        return card

    def _size_card(self) -> Card:
        card = Card()
        self.repeats = NumberField("Repeats", low=1, high=12, places=0)
        self.repeats.show_value(USUAL_REPEATS)
        self.repeats.entered.connect(lambda value: self._work_out())
        card.row("Repeats", self.repeats)
        self.size_field = QLineEdit("150x100")
        self.size_field.textChanged.connect(lambda text: self._work_out())
        card.row("Offcut", self.size_field, help_text="Width x height, mm unless said otherwise")
        self.start = QLineEdit()
        self.start.setPlaceholderText(caption("like 2026-03-02T09:00; a calendar needs it"))
        self.start.textChanged.connect(lambda text: self._work_out())
        card.row("Begins", self.start)
        return card

    def _another_fault(self) -> None:
        bare = self._paints[max(self.paint.currentIndex(), 0)] is None
        self.scale.show_value(scale_of(self._faults[max(self.fault.currentIndex(), 0)], bare=bare))
        self._work_out()

    def _another_factor(self, name: str, levels: QLineEdit) -> None:
        levels.setText(STARTING_LEVELS.get(name, ""))
        self._work_out()

    def _asked_factors(self, fault: str) -> tuple[Factor, ...]:
        found = []
        for choice, levels, worse in zip(self.factors, self.levels, self.worse, strict=True):
            name = self._names[choice.currentIndex()]
            if name:
                side = WORSE[worse.currentIndex()][1]
                found.append(factor_from(f"{name}={levels.text()}", fault, side))  # type: ignore[arg-type]  # one of them
        return tuple(found)

    def _work_out(self) -> None:
        """The trial as entered, and what it can find."""
        self.trial = None
        fault = self._faults[max(self.fault.currentIndex(), 0)]
        try:
            factors = self._asked_factors(fault)
            width_mm, height_mm, _ = parse_sheet_size_mm(self.size_field.text())
            paint = self._paints[max(self.paint.currentIndex(), 0)]
            if any(factor.name == "cured_edges" for factor in factors):
                paint = None
            asked = ask_of_job(self._job, self._plan, paint, start=self.start.text().strip())
            ask = replace(
                asked,
                fault=fault,
                factors=factors,
                repeats=round(self.repeats.value()),
                seed=self._seed,
                scale=self._scales[max(self.scale.currentIndex(), 0)],
                size_mm=(width_mm, height_mm),
                made=date.today().isoformat(),
            )
            trial = planned_trial(ask)
            told = [f"{len(trial.patches)} patches.", *(finding.message for finding in told_before(trial))]
            from core.trouble.trials.steps import hours_taken

            told.append(f"From the burn to the judging: {hours_taken(trial):.0f} h.")
        except TainError as error:
            show_role(self.told, "refusal")
            self.told.setText(str(error))
        else:
            show_role(self.told, "body")
            self.told.setText("\n".join(told))
            self.trial = trial
        self.take.setEnabled(self.trial is not None)


def _words(name: str) -> str:
    if not name:
        return "nothing more"
    kind = KINDS[name]  # type: ignore[index]  # one of them
    unit = f", {kind.unit}" if kind.unit else ""
    return f"{kind.words}{unit}{' (burned)' if name in BURNED else ''}"
