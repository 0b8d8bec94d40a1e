"""The shop's own name and address, as they stand on proofs and offers."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from app.dialogs.book_dialog import BookDialog
from app.dialogs.foot import Foot
from app.qt.captions import caption
from app.session.shop import Shop
from app.widgets.fields import Card, NumberField, words
from core.errors import TainError
from core.figures import figure_named
from core.job.letterhead import Letterhead, check_letterhead

if TYPE_CHECKING:
    from core.shop_book.store import ShopBook

_LINES_PX = 84


class LetterheadDialog(BookDialog):
    """``letterhead`` is what the fields say; accepted: the shop book has it."""

    def __init__(self, parent: QWidget | None, shop: Shop) -> None:
        super().__init__(parent, shop, caption("Letterhead"))
        lead = "The shop's own name and address, as they stand on proofs and offers. The shop book keeps them."
        self.column.addWidget(words(lead, role="quiet"))
        card = Card()
        self.name = QLineEdit()
        self.address, self.contact, self.terms = _lines(), _lines(), _lines()
        one = figure_named(Letterhead, "valid_days")
        self.valid = NumberField("How many days an offer holds", unit=one.unit, low=one.least, high=one.most, places=0)
        card.row("&Name", self.name)
        card.row("&Address", self.address, help_text="A line each: street, town")
        card.row("&Contact", self.contact, help_text="A line each: telephone, mail")
        card.row("Offers &hold", self.valid, help_text="Days from the day of the offer")
        card.row("&Terms", self.terms, help_text="What is said below an offer")
        self.column.addWidget(card)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        self.column.addWidget(self.refusal)
        foot = Foot(self, "&Keep it")
        foot.main.clicked.disconnect()
        foot.main.clicked.connect(self.keep)
        self.column.addLayout(foot)
        self.resize(520, 480)
        self.do(_read, self._show, failed=self._refuse)

    @property
    def letterhead(self) -> Letterhead:
        """What the fields say."""
        return Letterhead(
            name=self.name.text().strip(),
            address=_kept(self.address),
            contact=_kept(self.contact),
            valid_days=round(self.valid.value()),
            terms=" ".join(self.terms.toPlainText().split()),
        )

    def keep(self) -> None:
        """Let the shop book have it."""
        letterhead = self.letterhead
        try:
            check_letterhead(letterhead)
        except TainError as error:
            self._refuse(error)
            return

        def work(book: "ShopBook") -> None:
            from core.shop_book.shops_own import keep_letterhead

            keep_letterhead(book, letterhead)

        self.do(work, lambda none: self.accept(), failed=self._refuse, writes=True)

    def _show(self, letterhead: Letterhead) -> None:
        self.name.setText(letterhead.name)
        for field, text in ((self.address, letterhead.address), (self.contact, letterhead.contact)):
            field.setPlainText("\n".join(line.strip() for line in text.split(";") if line.strip()))
        self.valid.show_value(letterhead.valid_days)
        self.terms.setPlainText(letterhead.terms)

    def _refuse(self, error: TainError) -> None:
        self.refusal.setText(str(error))
        self.refusal.show()


def _read(book: "ShopBook") -> Letterhead:
    from core.shop_book.shops_own import letterhead_of

    return letterhead_of(book)


def _lines() -> QPlainTextEdit:
    field = QPlainTextEdit()
    field.setTabChangesFocus(True)
    field.setFixedHeight(_LINES_PX)
    return field


def _kept(field: QPlainTextEdit) -> str:
    """Its lines, parted as the letterhead keeps them."""
    return "; ".join(line.strip(" ;") for line in field.toPlainText().splitlines() if line.strip(" ;"))
