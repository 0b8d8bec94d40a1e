"""How the run sheet looks: type, cells, boxes to tick."""

from typing import Any
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib import colors
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph

from core.output.run_sheet.fonts import Fonts

rl_config.useA85 = 0  # streams as bytes: as letters they are a quarter longer, and take longer to write than the rest

MARGIN = 14 * mm
WIDTH = A4[0] - 2 * MARGIN
TOP = [("VALIGN", (0, 0), (-1, -1), "TOP")]


class Style:
    """Paragraph styles of the sheet, large enough to read at arm's length."""

    def __init__(self, fonts: Fonts) -> None:
        self.fonts = fonts
        self.text = ParagraphStyle("text", fontName=fonts.regular, fontSize=10, leading=12.5)
        self.small = ParagraphStyle("small", parent=self.text, fontSize=9, leading=11)
        self.number = ParagraphStyle("number", parent=self.text, alignment=TA_RIGHT)
        self.small_number = ParagraphStyle("small-number", parent=self.small, alignment=TA_RIGHT)
        self.strong = ParagraphStyle("strong", parent=self.text, fontName=fonts.bold)
        self.strong_number = ParagraphStyle("strong-number", parent=self.strong, alignment=TA_RIGHT)
        self.title = ParagraphStyle("title", parent=self.strong, fontSize=20, leading=24)
        self.side = ParagraphStyle("side", parent=self.strong, fontSize=13, leading=16)
        self.head = ParagraphStyle("head", parent=self.strong, fontSize=12.5, leading=15, spaceBefore=7, spaceAfter=2)


def text(words: str, style: ParagraphStyle) -> Paragraph:
    """The words as they are: nothing in them is markup."""
    return Paragraph(escape(words), style)


class Box(Flowable):  # type: ignore[misc]  # the library has no types
    """A box to tick with a pen, or ticked already."""

    def __init__(self, *, ticked: bool = False, size: float = 9.0) -> None:
        super().__init__()
        self._ticked = ticked
        self.width = self.height = size

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        self.canv.setLineWidth(0.9)
        self.canv.setStrokeGray(0.0)
        self.canv.rect(0, 0, self.width, self.height)
        if self._ticked:
            self.canv.setLineWidth(1.6)
            self.canv.lines([(1.5, 4.5, 3.8, 1.8), (3.8, 1.8, 9.0, 9.5)])


def tight_cells(gap: float = 0.0) -> list[tuple[Any, ...]]:
    """Cells close to each other, ``gap`` points above and below."""
    return [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), gap),
        ("BOTTOMPADDING", (0, 0), (-1, -1), gap),
    ]


def lined_cells() -> list[tuple[Any, ...]]:
    """Rows with a line below each."""
    return [
        *tight_cells(2),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, colors.grey),
    ]
