"""Pages of an order: names as outlines, so that every script is set as it will be burned; A4 with a numbered foot."""

import io
from collections.abc import Sequence
from functools import partial

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from core.artwork.fonts.outlines import outline_text
from core.geometry.path import CUBIC, LINE, Path
from core.output.run_sheet.fonts import Fonts
from core.output.run_sheet.looks import MARGIN, WIDTH
from core.output.run_sheet.numbered import NumberedCanvas


class Words(Flowable):  # type: ignore[misc]  # the library has no types
    """Words on one line as outlines, shaped as in artwork; made smaller where they are longer than ``width`` points."""

    def __init__(self, words: str, size: float, width: float) -> None:
        super().__init__()
        self._path, advance, _ = outline_text(words, family="sans-serif", size_mm=size)
        self._scale = min(1.0, width / advance) if advance > 0 else 1.0
        self._size = size
        self.width, self.height = min(advance, width), size * 1.25

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        if not len(self._path):
            return
        baseline = self._size * 0.3
        drawn = self.canv.beginPath()
        self.canv.saveState()
        self.canv.translate(0, baseline)
        self.canv.scale(self._scale, -self._scale)
        for subpath in self._path.subpaths():
            _trace(drawn, subpath)
        self.canv.setFillGray(0.0)
        self.canv.drawPath(drawn, fill=1, stroke=0, fillMode=1)
        self.canv.restoreState()


def _trace(drawn: object, path: Path) -> None:
    x, y = path.start_points[0].tolist()
    drawn.moveTo(x, y)  # type: ignore[attr-defined]
    for kind, row in zip(path.kinds.tolist(), path.segments.tolist(), strict=True):
        if kind == CUBIC:
            drawn.curveTo(*row[2:8])  # type: ignore[attr-defined]
        elif kind == LINE:
            drawn.lineTo(*row[2:4])  # type: ignore[attr-defined]
    drawn.close()  # type: ignore[attr-defined]


def paged(story: Sequence[Flowable], *, title: str, foot: str, fonts: Fonts, signed: str = "") -> bytes:
    """The PDF's bytes; the same story gives the same bytes."""
    buffer = io.BytesIO()
    document = BaseDocTemplate(buffer, pagesize=A4, title=title, author="Tain", invariant=1)
    no_padding = {f"{side}Padding": 0 for side in ("left", "right", "top", "bottom")}
    frame = Frame(MARGIN, 14 * mm, WIDTH, A4[1] - 25 * mm, **no_padding)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    document.build(list(story), canvasmaker=partial(NumberedCanvas, foot=foot, font=fonts.regular, signed=signed))
    return buffer.getvalue()
