"""The shop's trials: steps ticked off with timers that run, patches graded by clicks, what they say in words."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.dialogs.book_dialog import BookDialog
from app.dialogs.coupon_picture import CouponPicture
from app.qt.captions import caption, filled
from app.session.shop import Shop
from app.widgets.checklist import Checklist, CheckRow, until
from app.widgets.empty_note import EmptyNote, OrEmpty
from app.widgets.fields import ChoiceField, words
from core.errors import TainError
from core.finishing.timetable import time_text
from core.trouble.trials.reading import TrialReading, read_trial
from core.trouble.trials.scales import SCALES
from core.trouble.trials.steps import Step, running, steps_of
from core.trouble.trials.trial import Trial

if TYPE_CHECKING:
    from core.shop_book.store import ShopBook
    from core.shop_book.trials_kept import KeptTrial

SIZE_PX = (1080, 740)


class TrialsDialog(BookDialog):
    """trial: the one that is shown, None where there is none."""

    def __init__(self, parent: QWidget | None, shop: Shop) -> None:
        super().__init__(parent, shop, "Trials")
        self.trial: Trial | None = None
        self.reading: TrialReading | None = None
        self._steps: tuple[Step, ...] = ()
        self._no_steps = ""
        self.leads_to_trouble = False
        shown = QVBoxLayout()
        shown.setSpacing(12)
        self.which = ChoiceField("Trial")
        self.which.chosen.connect(self._show)
        shown.addWidget(self.which)
        self._head = words(role="quiet")
        shown.addWidget(self._head)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        left, right = QVBoxLayout(), QVBoxLayout()
        left.addWidget(words("Steps", role="heading"))
        self.steps = Checklist("Steps of the trial, ticked when done", self._told_due)
        self.steps.ticked.connect(self._ticked)
        left.addWidget(self.steps, 1)
        right.addWidget(words("Patches", role="heading"))
        right.addWidget(words("Click a patch for the next grade; after the last one it is not judged.", role="quiet"))
        self.piece = ChoiceField("Offcut")
        self.piece.chosen.connect(lambda number: self._show_patches())
        right.addWidget(self.piece)
        self.picture = CouponPicture("The trial's offcut")
        self.picture.clicked.connect(self.next_grade)
        right.addWidget(self.picture, 1)
        right.addLayout(self._by_keyboard())
        self._grades = words(role="quiet")
        right.addWidget(self._grades)
        self.told = words()
        right.addWidget(self.told)
        columns.addLayout(left, 2)
        columns.addLayout(right, 3)
        shown.addLayout(columns, 1)
        self.body = OrEmpty(shown, self._empty_note())
        self.column.addWidget(self.body, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        close = QPushButton(caption("&Close"))
        close.clicked.connect(self.accept)
        foot.addWidget(close)
        self.column.addLayout(foot)
        self.resize(*SIZE_PX)
        self.do(lambda book: book.values("trial"), self._offer)

    def _empty_note(self) -> EmptyNote:
        return EmptyNote(
            "No trial is planned yet",
            (
                "A trial is a few patches on an offcut, each with one thing done otherwise: it settles which of "
                "several causes a fault really has.",
                "It is planned from “It came out wrong”: tick what is seen there, and have the likeliest cause tried.",
                "Here its steps are ticked off while their waits run, and its patches are graded by clicks.",
            ),
            (("&It came out wrong…", self._to_trouble),),
        )

    def _to_trouble(self) -> None:
        self.leads_to_trouble = True
        self.accept()

    def _by_keyboard(self) -> QHBoxLayout:
        """The same as a click, to be chosen with keys."""
        self.patch, self.grade = ChoiceField("Patch to grade"), ChoiceField("Grade of the patch")
        self.patch.chosen.connect(lambda label: self._show_grade())
        self.grade.chosen.connect(self._set_grade)
        line = QHBoxLayout()
        line.addWidget(self.patch)
        line.addWidget(self.grade)
        return line

    def _show_grade(self) -> None:
        """The grade of the patch that is chosen."""
        if self.trial is not None:
            self.grade.show_value(self.trial.grades().get(self.patch.currentText()))

    def _set_grade(self, grade: object) -> None:
        self._mark(self.patch.currentText(), grade if isinstance(grade, int) else None)

    def _offer(self, trials: Sequence[Trial]) -> None:
        newest = sorted(trials, key=lambda one: (one.made, one.code), reverse=True)
        self.which.offer([(f"{one.code}, {one.made}: {one.about}", one) for one in newest])
        self.body.show_empty(not newest)
        if newest:
            self._show(newest[0])

    def _show(self, trial: Trial) -> None:
        self.trial = trial
        scale = SCALES[trial.scale]
        self._head.setText(
            filled(
                "{about}, on {name}. {title}: {source}.",
                about=trial.about,
                name=trial.stock.name,
                title=scale.title,
                source=scale.source,
            )
        )
        self.piece.offer([(f"Offcut {number}", number) for number in range(1, len(trial.sizes_mm) + 1)])
        self.piece.setVisible(len(trial.sizes_mm) > 1)
        words_of = scale.words or tuple(map(str, range(len(scale.grades))))
        told = "; ".join(f"{word}: {grade}" for word, grade in zip(words_of, scale.grades, strict=True))
        self.patch.offer([(one.label, one.label) for one in trial.patches])
        self.grade.offer([("not judged", None), *((word, grade) for grade, word in enumerate(words_of))])
        self._grades.setText(
            filled("{told}. From {words_of} on a patch counts as faulty.", told=told, words_of=words_of[trial.limit])
        )
        try:
            self._steps = steps_of(trial)
        except TainError as error:  # a start that is no date, typed by hand into a document
            self._steps, self._no_steps = (), str(error)
        self._list_steps()
        self._show_patches()

    def _list_steps(self) -> None:
        assert self.trial is not None
        done = {tick.key: tick.at for tick in self.trial.ticks}
        dated = bool(self.trial.workday.start)
        rows = []
        for step in self._steps:
            how = "exactly" if step.exact else "at least"
            wait = f", {how} {step.wait_min:g} min after" if step.wait_min else ""
            when = f"done {done[step.key][11:16]}" if step.key in done else time_text(step.start, dated=dated)
            text = f"{when}  {step.key}{wait}\n{step.words}"
            rows.append(CheckRow(key=step.key, text=text, done=step.key in done))
        self.steps.show_rows(rows)

    def _told_due(self) -> str:
        """The next steps, with the time until each is due."""
        if self.trial is None or not self._steps:
            return self._no_steps
        if not self.trial.ticks:
            return "Tick a step when it is done: the wait of the next one runs from there."
        waiting = [(step, minutes) for step, minutes in running(self.trial, datetime.now()) if step.after]
        told = [f"{step.key}: {until(minutes)}" for step, minutes in waiting[:4] if minutes != float("inf")]
        return "\n".join(told) or "Nothing runs."

    def _ticked(self, key: str, on: bool) -> None:
        assert self.trial is not None
        code = self.trial.code
        at = datetime.now().isoformat(timespec="seconds") if on else None

        def work(book: "ShopBook") -> Trial:
            from core.shop_book.trials_kept import ticked

            return ticked(book, code, key, at=at)

        self.do(work, self._take_trial, writes=True)

    def _take_trial(self, trial: Trial) -> None:
        self.trial = trial
        self._list_steps()
        self._show_patches()

    def next_grade(self, label: str) -> None:
        """One grade more for a patch; after the last one it is not judged."""
        if self.trial is None:
            return
        scale = SCALES[self.trial.scale]
        now = self.trial.grades().get(label)
        grade = 0 if now is None else now + 1
        self._mark(label, grade if grade < len(scale.grades) else None)

    def _mark(self, label: str, grade: int | None) -> None:
        """The patch with this grade in place of what it had; None: not judged."""
        if self.trial is None:
            return
        marks = ((label, None),) if grade is None else ((label, None), (label, grade))
        code = self.trial.code

        def work(book: "ShopBook") -> "KeptTrial":
            from core.shop_book.trials_kept import marked

            return marked(book, code, marks)

        self.do(work, self._take_reading, writes=True)

    def _take_reading(self, kept: "KeptTrial") -> None:
        self.trial = kept.reading.trial
        self._show_patches()
        told = [self.told.text()]
        told += [f"Remembered with {one.thing}: {one.words}." for one in kept.cautions]
        told += [f"Learned doses: {', '.join(kept.learned)}."] if kept.learned else []
        told += [f"No dose was learned: {kept.not_learned}"] if kept.not_learned else []
        self.told.setText("\n".join(told))

    def _show_patches(self) -> None:
        assert self.trial is not None
        scale, grades = SCALES[self.trial.scale], self.trial.grades()
        seen = {label: scale.words[grade] if scale.words else str(grade) for label, grade in grades.items()}
        seen |= dict.fromkeys(self.trial.contradicted, "?!")
        self.picture.show_coupon(self.trial.piece(max(self.piece.currentIndex(), 0) + 1), seen)
        self._show_grade()
        self.reading = read_trial(self.trial)
        told = [factor.words for factor in self.reading.factors]
        told += [finding.message for finding in self.reading.findings if finding.code != "trial-scale"]
        self.told.setText("\n".join(told))
