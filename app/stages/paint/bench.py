"""Card of the Paint page with the steps of the chosen colour as the bench does them; the picture follows."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSignalBlocker, QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QToolButton

from app.qt.captions import caption, filled, told
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.theme.icons import icon
from app.widgets.fields import small_button, step_button, words
from app.widgets.plain_text import plain_label, plain_tip
from app.words.paint_words import mask_words
from core.finishing.timetable import time_text
from core.job.painting.bench import BenchStep, short_time

MOST_STEPS = 7
IN_A_ROW = 5
ICONS = {
    "burn": "burn",
    "mask": "mask",
    "colour": "paint",
    "flood": "flood",
    "wait": "clock",
    "cure": "clock",
    "peel": "peel",
}


class BenchCard(PaintedCard):
    """Mask, colour, wait, peel; or burn, flood, cure. A press shows the piece after that step."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._painted: Painted | None = None
        self._shown: list[int] = []
        self._title = words(role="heading")
        self._count = plain_label()
        self._count.setProperty("role", "quiet")
        self._back = step_button("chevron-left", "Step before", tip="The step before, in the picture")
        self._back.clicked.connect(lambda: self._go(-1))
        self._on = step_button("chevron-right", "Step after", tip="The step after, in the picture")
        self._on.clicked.connect(lambda: self._go(1))
        head = QHBoxLayout()
        head.setSpacing(4)
        head.addWidget(self._title, 1)
        for widget in (self._count, self._back, self._on):
            head.addWidget(widget)
        self.body.addLayout(head)
        # made once: an icon with an engine of ours that is made and thrown away again and again brings Qt down
        self._icons = {kind: icon(name) for kind, name in ICONS.items()}
        self._buttons = [self._button(place) for place in range(MOST_STEPS)]
        for first in range(0, MOST_STEPS, IN_A_ROW):
            self.line(*self._buttons[first : first + IN_A_ROW]).setSpacing(4)
        self._told = words()
        self.body.addWidget(self._told)
        self._masks = small_button("Save masks…", tip="SVG and DXF of every mask, as seen from the back")
        self._masks.clicked.connect(self._save_masks)
        self._burns = small_button("Save &burn files…", tip="An SVG and a DXF for each burn, and for the cut")
        self._burns.clicked.connect(self._save_burns)
        self._run_sheet = small_button("&Run sheet…", "Run sheet", tip="One PDF for the machine and the paint bench")
        self._run_sheet.clicked.connect(page.run_sheet_wanted)
        self.line(self._masks, self._burns, self._run_sheet)

    def _button(self, place: int) -> QToolButton:
        button = QToolButton()
        button.setProperty("role", "step")
        button.setCheckable(True)
        button.setAccessibleName(filled("Step {place} of the colour", place=place + 1))
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
        button.setIconSize(QSize(20, 20))
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        button.clicked.connect(partial(self._press, place))
        button.hide()
        return button

    def show_painted(self, painted: Painted) -> None:
        """Show the steps of the chosen colour."""
        self._painted = painted
        step, steps = self._page.chosen_step, painted.bench
        name = step.area.paint.name if step is not None else ""
        self._shown = [n for n, one in enumerate(steps) if one.colour == name][:MOST_STEPS]
        at = self._page.shown_at
        self._title.setText(filled("{name} at the bench", name=name))
        self._count.setText(
            filled("{at} of {steps}", at=at + 1, steps=len(steps))
            if at is not None
            else filled("{steps} steps", steps=len(steps))
        )
        self._back.setEnabled(at is not None)
        self._on.setEnabled(bool(steps) and (at is None or at < len(steps) - 1))
        for place, button in enumerate(self._buttons):
            button.setVisible(place < len(self._shown))
            if place < len(self._shown):
                self._fill(button, steps[self._shown[place]], checked=self._shown[place] == at)
        self._told.setText(self._words(painted, steps[at]) if at is not None else self._finished(painted))
        knife = any(one.made_by == "knife" or not one.patches.is_empty for one in painted.painting.steps)
        self._masks.setEnabled(knife)
        self._burns.setVisible(painted.burning is not None)
        self._burns.setEnabled(self._page.ready is not None)
        self._run_sheet.setEnabled(self._page.ready is not None)

    def _fill(self, button: QToolButton, step: BenchStep, *, checked: bool) -> None:
        button.setIcon(self._icons[step.kind])
        button.setText(f"{told(step.kind)}\n{step.figure or ' '}")
        name = f"{step.colour}: {step.kind} {step.figure}".strip()
        button.setAccessibleName(caption(name))
        button.setToolTip(plain_tip(filled("{name}. The picture shows the piece after it.", name=name)))
        with QSignalBlocker(button):
            button.setChecked(checked)

    def _words(self, painted: Painted, at: BenchStep) -> str:
        """What is done at a step, and when."""
        when = f"From {time_text(at.begins, dated=painted.table.dated)}. " if at.begins is not None else ""
        paint = at.step.area.paint if at.step is not None else None
        if at.kind == "burn":
            if at.burn is None:
                return "All areas are bared in one burn, before any paint."
            wait = f" After {short_time(3600 * at.burn.wait_h)} of cure." if at.burn.wait_h else ""
            off_mm = painted.burning.play.off_mm if painted.burning is not None else 0.0
            off = f" It lies up to {off_mm:.2f} mm off; overlaps make up for it." if at.burn.number > 1 else ""
            return f"{at.burn.words[0].upper()}{at.burn.words[1:]}.{wait}{off}"
        if at.step is None or paint is None:
            return ""
        if at.kind == "mask":
            said = mask_words(at.step)
            return f"{when}{said[0].upper()}{said[1:]}."
        if at.kind == "flood":
            return f"{when}Over the whole back: what waits is still under its coat."
        if at.kind == "colour":
            between = f", {short_time(60 * paint.between_coats_min)} between them" if paint.coats > 1 else ""
            return f"{when}{at.figure[0].upper()}{at.figure[1:]}{between}."
        if at.kind == "wait":
            return "From the last coat until the mask is touched or the next one is laid."
        return f"{when}The mask comes off." if at.kind == "peel" else "Until it may be handled or burned through."

    def _finished(self, painted: Painted) -> str:
        table = painted.table
        end = f"; the piece is cured {time_text(table.end, dated=table.dated)}" if table.tasks else ""
        return f"The picture shows the finished piece{end}."

    def _press(self, place: int) -> None:
        number = self._shown[place]
        self._page.show_at(None if number == self._page.shown_at else number)

    def _go(self, by: int) -> None:
        """A step on or back, into other colours too; before the first lies the finished piece."""
        at, painted = self._page.shown_at, self._painted
        if painted is None:
            return
        start = self._shown[0] if at is None and self._shown else 0
        number = start if at is None else at + by
        self._page.show_at(number if 0 <= number < len(painted.bench) else None)

    def _save_masks(self) -> None:
        if self._page.painted is not None:
            self._page.files.save_masks(self._page.painted)

    def _save_burns(self) -> None:
        if self._page.ready is not None:
            self._page.files.save_burns(self._page.ready)
