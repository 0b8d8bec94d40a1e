"""Pages with a foot that says which of how many each one is."""

from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from core.encodable import encodable
from core.output.run_sheet.looks import MARGIN


class NumberedCanvas(Canvas):  # type: ignore[misc]  # the library has no types
    """Writes the foot of each page once it is known how many there are. signed: in its middle on the first one."""

    def __init__(self, *arguments: Any, foot: str, font: str, signed: str = "", **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._foot, self._foot_font, self._signed = encodable(foot), font, signed
        self._pages: list[dict[str, Any]] = []

    def setTitle(self, title: str) -> None:  # noqa: N802  # the library's name
        """The document's own title; a file's name may hold bytes that are no letters."""
        super().setTitle(encodable(title))

    def showPage(self) -> None:  # noqa: N802  # the library's name
        """Keep the page until the last one is made."""
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write all pages with their feet."""
        for number, page in enumerate(self._pages, start=1):
            self.__dict__.update(page)
            self.setFont(self._foot_font, 9)
            self.drawString(MARGIN, 8 * mm, self._foot)
            if number == 1 and self._signed:
                self.drawCentredString(A4[0] / 2, 8 * mm, self._signed)
            self.drawRightString(A4[0] - MARGIN, 8 * mm, f"page {number} of {len(self._pages)}")
            super().showPage()
        super().save()
