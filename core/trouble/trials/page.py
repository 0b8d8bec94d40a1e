"""The trial's sheet: a PDF, A4, to fill in. Map and grades first, then the steps with their times, treatments last."""

import io

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageBreak, PageTemplate, Spacer, Table

from core.finishing.timetable import time_text
from core.output.run_sheet.fonts import fonts_for
from core.output.run_sheet.looks import MARGIN, TOP, WIDTH, Box, Style, lined_cells, text, tight_cells
from core.trouble.faults import BY_CODE
from core.trouble.trials.planning import told_before
from core.trouble.trials.scales import SCALES
from core.trouble.trials.steps import Step, steps_of
from core.trouble.trials.trial import Trial

_MAP_HEIGHT = 70 * mm
THROUGH_A_CARD = "Paint each patch by itself through a card with an opening of its size, all others covered."


class _Map(Flowable):  # type: ignore[misc]  # the library has no types
    """One offcut with its patches and their labels, as its labels are read."""

    def __init__(self, trial: Trial, piece: int, font: str) -> None:
        super().__init__()
        laid = trial.piece(piece)
        self._laid, self._font = laid, font
        self._scale = min(WIDTH / laid.width_mm, _MAP_HEIGHT / laid.height_mm)
        self.width, self.height = laid.width_mm * self._scale, laid.height_mm * self._scale

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        self.canv.setLineWidth(0.9)
        self.canv.rect(0, 0, self.width, self.height)
        self.canv.setFont(self._font, 9)
        for patch in self._laid.patches:
            x, y = patch.x_mm * self._scale, self.height - (patch.y_mm + patch.height_mm) * self._scale
            width, height = patch.width_mm * self._scale, patch.height_mm * self._scale
            self.canv.rect(x, y, width, height)
            self.canv.drawCentredString(x + width / 2, y + height / 2 - 3, patch.label)


def trial_page(trial: Trial) -> bytes:
    """The PDF's bytes; the same trial gives the same bytes. Raises UnreadableError when its start is no date."""
    names = [trial.stock.name, trial.machine.name, trial.job, trial.paint.name if trial.paint else ""]
    style = Style(fonts_for("".join([*names, *(level for factor in trial.factors for level in factor.levels)])))
    story = [*_head(trial, style), *_to_fill_in(trial, style), PageBreak(), *_steps(trial, style), PageBreak(),
             *_treatments(trial, style)]  # fmt: skip
    buffer = io.BytesIO()
    document = BaseDocTemplate(buffer, pagesize=A4, title=f"Trial {trial.code}", author="Tain", invariant=1)
    no_padding = {f"{side}Padding": 0 for side in ("left", "right", "top", "bottom")}
    frame = Frame(MARGIN, 14 * mm, WIDTH, A4[1] - 25 * mm, **no_padding)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    document.build(story)
    return buffer.getvalue()


def _head(trial: Trial, style: Style) -> list[Flowable]:
    fault = BY_CODE[trial.fault].name if trial.fault in BY_CODE else "what comes out wrong"
    side = "front" if trial.read_from == "front" else "back"
    lines = [
        text(f"Trial {trial.code}", style.title),
        text(f"{fault}: {trial.about}", style.side),
        text(f"{trial.stock.name} on {trial.machine.name}{', ' + trial.made if trial.made else ''}", style.text),
        text(f"Labels are read from the {side}. Air, extraction and eye protection as the machine's manual asks; the "
             "can's safety data sheet and local codes come first: ventilate, no flame or spark.", style.text),
        *([text(THROUGH_A_CARD, style.text)] if trial.paint is not None else []),
        *(text(finding.message, style.text) for finding in told_before(trial)),
        Spacer(1, 4 * mm),
    ]  # fmt: skip
    for number in range(1, len(trial.sizes_mm) + 1):
        lines += [_Map(trial, number, style.fonts.regular), Spacer(1, 3 * mm)]
    return lines


def _to_fill_in(trial: Trial, style: Style) -> list[Flowable]:
    """A row for each patch with a box for each grade; treatments are not told here."""
    scale = SCALES[trial.scale]
    words = scale.words or tuple(str(grade) for grade in range(len(scale.grades)))
    marked = trial.grades()
    rows = [[text(word, style.strong) for word in ("patch", *words, "seen")]]
    for one in trial.patches:
        boxes = [Box(ticked=marked.get(one.label) == grade) for grade in range(len(words))]
        rows.append([text(one.label, style.strong), *boxes, ""])
    grade = 18 * mm if len(words) < 5 else 12 * mm
    widths = [16 * mm, *[grade] * len(words), WIDTH - 16 * mm - grade * len(words)]
    told = "; ".join(f"{word}: {grade}" for word, grade in zip(words, scale.grades, strict=True))
    return [
        text(f"Grades: {told}. From {words[trial.limit]} on a patch counts as faulty.", style.small),
        text(f"{scale.title}: {scale.source}.", style.small),
        Spacer(1, 2 * mm),
        Table(rows, colWidths=widths, style=lined_cells(), repeatRows=1),
    ]


def _steps(trial: Trial, style: Style) -> list[Flowable]:
    dated = bool(trial.workday.start)
    ticked = {tick.key for tick in trial.ticks}
    rows = [[text(word, style.strong) for word in ("", "when", "patch", "what", "wait")]]
    rows += [
        [Box(ticked=step.key in ticked), text(time_text(step.start, dated=dated), style.small),
         text(step.patches[0] if len(step.patches) == 1 else "all", style.strong), text(step.words, style.small),
         text(_wait(step), style.small)]
        for step in steps_of(trial)
    ]  # fmt: skip
    widths = [8 * mm, 34 * mm, 16 * mm, WIDTH - 98 * mm, 40 * mm]
    return [text("Steps", style.head), Table(rows, colWidths=widths, style=lined_cells(), repeatRows=1)]


def _wait(step: Step) -> str:
    if not step.after or not step.wait_min:
        return ""
    return f"{'exactly' if step.exact else 'at least'} {step.wait_min:g} min"


def _treatments(trial: Trial, style: Style) -> list[Flowable]:
    head = [text(word, style.strong) for word in ("patch", *(factor.kind.words for factor in trial.factors), "repeat")]
    rows = [head]
    for one in trial.patches:
        told = [factor.level_words(level) for factor, level in zip(trial.factors, one.levels, strict=True)]
        rows.append([text(words, style.text) for words in (one.label, *told, str(one.block))])
    widths = [20 * mm, *[55 * mm] * len(trial.factors), 25 * mm]
    return [
        text("Treatments, drawn by lot", style.head),
        text(f"Seed {trial.seed}. Do not look at this page while judging.", style.text),
        Table(rows, colWidths=widths, style=[*tight_cells(1), *TOP], repeatRows=1, hAlign="LEFT"),
    ]
