"""The run sheet: one PDF, A4, that goes to the machine and to the paint bench. Reads in black and white.

First what is burned: both faces with the corner mark, stock and side, layers with settings and times, coverage,
cautions. Then what is painted: the finished front, masks in order, timetable, paint and film needed.
"""

import io
from functools import partial
from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Frame, PageTemplate

from core.finishing.steps import PaintPlan
from core.finishing.timetable import Timetable
from core.job.job_code import job_code
from core.job.plan import Plan
from core.output.proof import ReadBack
from core.output.run_sheet.beside import Beside
from core.output.run_sheet.burning import burning_part
from core.output.run_sheet.fonts import fonts_for
from core.output.run_sheet.looks import MARGIN, WIDTH, Style
from core.output.run_sheet.numbered import NumberedCanvas
from core.output.run_sheet.painting import painting_part
from core.progress import Progress, silent

BURNED = "burned on ________________ by ________________"


_PAINTING_NEEDS = 0.6 * A4[1]
"""The painting part goes on below the first one where so much of a page is left, points."""


def run_sheet(
    plan: Plan,
    painting: PaintPlan,
    table: Timetable,
    *,
    read_back: ReadBack | None = None,
    beside: Beside | None = None,
    progress: Progress = silent,
) -> bytes:
    """The PDF's bytes; the same inputs give the same bytes. read_back: how the file for the machine was proven.

    Raises Cancelled when the progress callback does.
    """
    beside = beside or Beside()
    words = "".join([*_all_words(plan, painting), beside.piece_words, *(file.name for file in beside.files)])
    fonts = fonts_for(words)
    style = Style(fonts)
    story = [*burning_part(plan, style, read_back, beside)]
    if painting.steps:
        story += [CondPageBreak(_PAINTING_NEEDS), *painting_part(plan, painting, table, style)]
    buffer = io.BytesIO()
    name = plan.job.source.name if plan.job.source else "Job"
    document = _ToldDocument(
        buffer, progress, len(story), pagesize=A4, title=f"Run sheet: {name}", author="Tain", invariant=1
    )
    no_padding = {f"{side}Padding": 0 for side in ("left", "right", "top", "bottom")}
    frame = Frame(MARGIN, 14 * mm, WIDTH, A4[1] - 25 * mm, **no_padding)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    foot = f"{name}   {job_code(plan.job)}"
    document.build(story, canvasmaker=partial(NumberedCanvas, signed=BURNED, foot=foot, font=fonts.regular))
    return buffer.getvalue()


class _ToldDocument(BaseDocTemplate):  # type: ignore[misc]  # the library has no types
    """Tells how far it is after each part that stands on a page."""

    def __init__(self, buffer: io.BytesIO, progress: Progress, count: int, **options: Any) -> None:
        super().__init__(buffer, **options)
        self._tell, self._count, self._done = progress, count, 0

    def afterFlowable(self, flowable: Any) -> None:  # noqa: N802  # the library's name
        """A part was drawn."""
        self._done += 1
        self._tell(min(1.0, self._done / self._count), "drawing the run sheet")


def _all_words(plan: Plan, painting: PaintPlan) -> list[str]:
    """Every text that the maker may have written."""
    job = plan.job
    words = [job.stock.name, job.machine.name, job.stock.coat, job.source.name if job.source else ""]
    words += [layer.name for layer in job.layers]
    for step in painting.steps:
        words += [step.area.paint.name, step.area.paint.conditions, step.area.paint.note]
    return words
