"""A page for the customer, proof or offer: for whom it is, a look at it, then a file."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap, QResizeEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QScrollArea, QVBoxLayout, QWidget

from app.dialogs.beside import BesideDialog
from app.dialogs.foot import Foot
from app.dialogs.letterhead import LetterheadDialog
from app.dialogs.run_sheet_preview import page_pictures
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.placing import Placing
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.fields import Card, NumberField, clear, small_button
from app.widgets.plain_text import plain_label
from app.words.wording import count_text
from core.atomic import write_atomically
from core.errors import TainError
from core.job.costs.pricing import MOST_PARTS
from core.progress import Progress

PAGE_WIDTH_PX, LEAST_PAGE_PX, FIELDS_PX = 560, 300, 280


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the maker says of the page. quantity: None for as many as there are."""

    customer: str = ""
    number: str = ""
    words: str = ""
    quantity: int | None = None


Make = Callable[[Asked, Progress], bytes]


class CustomerPageDialog(Guarded, BesideDialog):
    """``data`` is the PDF as it is shown, None while there is none. ``words``: of an offer, what is offered."""

    def __init__(
        self,
        parent: QWidget | None,
        placing: Placing,
        shop: Shop,
        make: Make,
        *,
        title: str,
        suggested: Path,
        words: str | None = None,
    ) -> None:
        lead = "It is written with the shop's letterhead. Look at it, then save it for the customer."
        super().__init__(parent, placing, title=title, lead=lead)
        self._shop, self._make, self._title, self._suggested = shop, make, title, suggested
        self._is_offer = words is not None
        self.data: bytes | None = None
        self._pictures: list[tuple[QLabel, QImage]] = []
        card = self._card(words or "")
        card.setMinimumWidth(FIELDS_PX)
        self.left.addWidget(card)
        self.left.addStretch(1)
        content = QWidget()
        self._pages = QVBoxLayout(content)
        self._pages.setSpacing(12)
        self._scroll = scroll = QScrollArea()
        scroll.setAccessibleName(caption("The pages"))
        scroll.setWidgetResizable(True)
        scroll.setWidget(content)
        scroll.setMinimumWidth(LEAST_PAGE_PX)
        scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)  # else it takes of the pages' room
        self.right.addWidget(scroll, 1)
        self.close_with(self._foot())
        self.resize(1040, 720)
        placing.busy_changed.connect(self._show_busy)
        self.make_page()

    def _card(self, words: str) -> Card:
        card = Card()
        self.customer, self.number, self.what = QLineEdit(), QLineEdit(), QLineEdit(words)
        self.what.setCursorPosition(0)
        self.quantity = NumberField(
            "How many are offered, 0 for as many as there are", low=0, high=MOST_PARTS, places=0
        )
        card.row("&For", self.customer, help_text="The customer's name, as it is to stand on the page")
        if self._is_offer:
            card.row("&Number", self.number, help_text="The offer's own number")
            self.what.setAccessibleName(caption("What"))
            card.beside(("&What", self.what, "What is offered, in words"))  # a whole line: words are long
            card.row("&Quantity", self.quantity, help_text="0: as many as there are")
        for field in (self.customer, self.number, self.what):
            field.editingFinished.connect(self.make_page)
        self.quantity.entered.connect(lambda value: self.make_page())
        self.letterhead = small_button("&Letterhead…", tip="The shop's own name and address")
        self.letterhead.clicked.connect(self._edit_letterhead)
        card.body.addWidget(self.letterhead)
        return card

    def _foot(self) -> Foot:
        search = SearchBar(self.placing, f"Making the {self._title.lower()}", stop="S&top")
        foot = Foot(self, "&Save…", search, leave="Close")
        foot.main.clicked.disconnect()
        foot.main.clicked.connect(self.save)
        self.save_button = foot.main
        return foot

    @property
    def asked(self) -> Asked:
        """What the fields say."""
        return Asked(
            customer=self.customer.text().strip(),
            number=self.number.text().strip(),
            words=self.what.text().strip(),
            quantity=round(self.quantity.value()) or None,
        )

    def make_page(self) -> None:
        """Make it as the fields now say, and show it."""
        asked, make = self.asked, self._make
        share = self.devicePixelRatioF()

        def work(progress: Progress, tell: object) -> tuple[bytes, list[QImage]]:
            data = make(asked, progress)
            return data, page_pictures(data, round(PAGE_WIDTH_PX * share))

        self.told.setText(caption("Making it…"))
        self.placing.do(work, lambda made: self._show(*made), self._failed)

    def _fitted(self, picture: QImage) -> QPixmap:
        """The page as wide as there is room, up to the width it was drawn for."""
        share = self.devicePixelRatioF()
        room_px = round(max(LEAST_PAGE_PX, self._scroll.viewport().width() - 24) * share)
        if room_px < picture.width():
            picture = picture.scaledToWidth(room_px, Qt.TransformationMode.SmoothTransformation)
        shown = QPixmap.fromImage(picture)
        shown.setDevicePixelRatio(share)
        return shown

    def _show(self, data: bytes, pictures: list[QImage]) -> None:
        self.data = data
        self._forget_pages()
        for number, picture in enumerate(pictures, start=1):
            page = plain_label()
            page.setAccessibleName(filled("Page {number} of {pictures}", number=number, pictures=len(pictures)))
            page.setPixmap(self._fitted(picture))
            page.setAlignment(Qt.AlignmentFlag.AlignHCenter)
            self._pages.addWidget(page)
            self._pictures.append((page, picture))
        self._pages.addStretch(1)
        self.told.setText(f"{count_text(len(pictures), 'page', 'pages')}.")
        self._show_busy()

    def _forget_pages(self) -> None:
        self._pictures.clear()
        clear(self._pages)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size; the pages stay as wide as there is room."""
        super().resizeEvent(event)
        for page, picture in self._pictures:
            page.setPixmap(self._fitted(picture))

    def _failed(self, error: TainError) -> None:
        self.data = None
        self._forget_pages()
        self.told.setText(str(error))
        self._show_busy()

    def _show_busy(self) -> None:
        self.save_button.setEnabled(not self.placing.busy and self.data is not None)

    def _edit_letterhead(self) -> None:
        dialog = LetterheadDialog(self, self._shop)
        kept = messages.run(dialog)
        dialog.deleteLater()
        if kept:
            self.make_page()

    def save(self) -> None:
        """Ask for a file and write it: PDF, a proof also as PNG."""
        data = self.data
        filters = "PDF (*.pdf)" if self._is_offer else "PDF (*.pdf);;PNG (*.png)"
        path = messages.save_file(self, self._title, path=str(self._suggested), filters=filters)
        if data is None or path is None:
            return
        is_png = path.suffix.lower() == ".png" and not self._is_offer
        path = path if is_png or path.suffix.lower() == ".pdf" else path.with_name(f"{path.name}.pdf")
        if path.exists() and not messages.may_replace(self, self._title, path):
            return

        def work(progress: Progress, tell: object) -> None:
            from core.output.orders.proof_page import as_picture

            write_atomically(path, as_picture(data) if is_png else data, overwrite=True)

        def take(nothing: None) -> None:
            self.told.setText(filled("Wrote {name}.", name=path.name))
            self._show_busy()

        self.placing.do(work, take, self._written_not)

    def _written_not(self, error: TainError) -> None:
        self.told.setText(str(error))
        self._show_busy()

    def leave(self) -> None:
        """The dialog is done with."""
        self.placing.stop()
        self.placing.busy_changed.disconnect(self._show_busy)
