"""What the job costs and what to quote, with the rates that the shop reckons with."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QBoxLayout,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.book_dialog import BookDialog
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.session.shop import Shop
from app.widgets.fields import Card, NumberField, small_button, words
from app.widgets.figure_fields import number_field
from app.widgets.plain_table import PlainTable
from app.widgets.scrolled import Scrolled
from app.words.wording import in_shown_units
from core.errors import TainError
from core.figures import figure_named, figures_of
from core.job.costs.cost import Cost, CostLine, job_cost
from core.job.costs.pricing import MOST_PARTS, prices, quote_words
from core.job.costs.rates import Rates, breaks_words, parsed_breaks
from core.job.painting.planning import paint_plan
from core.job.plan import Plan

if TYPE_CHECKING:
    from core.finishing.steps import PaintPlan
    from core.shop_book.store import ShopBook

LABELS: dict[str, str] = {
    "machine_per_h": "&Machine", "setup_min": "&Setting up", "load_min": "Sheet on", "handwork_per_h": "&Handwork",
    "attendance_pct": "Attended", "margin_pct": "&On top", "tax_pct": "&Tax", "least_charge": "&Least charge",
    "round_to": "Rounded to", "tax_round_to": "Tax rounded",
}  # fmt: skip
"""Short, so that all fields begin at one line; what they mean stands in the tooltip."""
OF_THE_PRICE = ("margin_pct", "least_charge", "tax_pct", "round_to", "tax_round_to")
"""Rates that make a price of the cost; the others make the cost."""


NARROW_PX = 1000
RATES_WIDE_PX = 236


class RatesColumn(Scrolled):
    """The shop's rates in two cards: side by side, or one below the other where it is narrow."""

    def __init__(self, cards: Sequence[Card]) -> None:
        super().__init__(caption("The shop's rates"), margin_px=0)
        self.content.setProperty("role", "welcome")
        self._cards = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._cards.setSpacing(16)
        for card in cards:
            self._cards.addWidget(card)
        self.body.addLayout(self._cards)
        self.show_narrow(False)

    def show_narrow(self, narrow: bool) -> None:
        """How the cards lie."""
        ways = QBoxLayout.Direction
        self._cards.setDirection(ways.TopToBottom if narrow else ways.LeftToRight)
        bar = self.verticalScrollBar().sizeHint().width()
        self.setMinimumWidth(RATES_WIDE_PX + bar)
        self.setMaximumWidth(RATES_WIDE_PX + bar if narrow else 2 * RATES_WIDE_PX + 16 + bar)


class CostDialog(Guarded, BookDialog):
    """Reckons for a complete plan, off the GUI thread; ``cost`` is what it came to, None while it is under way."""

    def __init__(self, parent: QWidget | None, shop: Shop, plan: Plan, *, inches: bool) -> None:
        super().__init__(parent, shop, "Cost and quote")
        self._plan, self._inches = plan, inches
        self._painting: PaintPlan | None = None
        self._kept = Rates()
        self.cost: Cost | None = None
        columns = QHBoxLayout()
        columns.setSpacing(16)
        self.rates_column = RatesColumn(self._rates_cards())
        columns.addWidget(self.rates_column, 10)  # as wide as it may be; the tables have the rest
        right = QVBoxLayout()
        right.setSpacing(8)
        self.table = PlainTable("What the job costs", ("For", "Cost", "How it comes about"))
        self.table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        self.table.setMinimumWidth(400)
        right.addWidget(self.table, 3)
        self.prices = PlainTable("What to ask", ("For", "Each", "Net", "Tax", "With tax"))
        right.addWidget(self.prices, 1)
        self.quote = words(role="heading")
        right.addWidget(self.quote)
        self.told = words(role="quiet")
        right.addWidget(self.told)
        columns.addLayout(right, 1)
        self.column.addLayout(columns, 1)
        line = QHBoxLayout()
        line.setSpacing(8)
        self.copy = small_button("Cop&y the quote line")
        self.copy.clicked.connect(self._copy)
        line.addWidget(self.copy)
        line.addStretch(1)
        close = QPushButton(caption("Close"))
        close.clicked.connect(self.reject)
        self.keep = QPushButton(caption("&Keep these rates"))
        self.keep.setProperty("role", "main")
        self.keep.clicked.connect(self._keep)
        line.addWidget(close)
        line.addWidget(self.keep)
        self.column.addLayout(line)
        self.resize(1200, 680)
        self._show(None)
        self._read()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size; where it is narrow the rates lie below each other and the tables keep their room."""
        super().resizeEvent(event)
        self.rates_column.show_narrow(event.size().width() < NARROW_PX)

    def _rates_cards(self) -> tuple[Card, Card]:
        cost, asked = Card("What the shop reckons with"), Card("What it asks")
        self.fields: dict[str, NumberField] = {}
        for one in figures_of(Rates):
            field = number_field(one, f"{one.words}. {one.about}")
            field.entered.connect(lambda value: self.reckon())
            card = asked if one.name in OF_THE_PRICE else cost
            card.row(LABELS.get(one.name, one.words), field, help_text=one.about)
            self.fields[one.name] = field
        self.currency = QLineEdit()
        self.currency.setMaxLength(round(figure_named(Rates, "currency").most))
        self.currency.editingFinished.connect(self.reckon)
        asked.row("C&urrency", self.currency)
        self.breaks = QLineEdit()
        self.breaks.setPlaceholderText(caption("10: 5, 50: 12.5"))
        self.breaks.editingFinished.connect(self.reckon)
        about = figure_named(Rates, "breaks").about
        asked.row("Price &breaks", self.breaks, help_text=about)
        self.quantity = NumberField("Parts to offer, 0 for one run", low=0, high=MOST_PARTS, step=1, places=0)
        self.quantity.entered.connect(lambda value: self._show(self.cost))
        asked.row("&Parts to offer", self.quantity, help_text="0: one run, and each price break")
        for card in (cost, asked):
            card.body.addStretch(1)
        return cost, asked

    @property
    def rates(self) -> Rates:
        """What the fields say. Raises UnreadableError for price breaks that are none."""
        figures = {key: field.value() for key, field in self.fields.items()}
        return replace(
            Rates(currency=self.currency.text().strip(), breaks=parsed_breaks(self.breaks.text())),
            **figures,  # type: ignore[arg-type]
        )

    def _read(self) -> None:
        def work(book: "ShopBook") -> Rates:
            from core.shop_book.shops_own import rates_of

            return rates_of(book)

        def take(rates: Rates) -> None:
            self._kept = rates
            for key, field in self.fields.items():
                field.show_value(getattr(rates, key))
            self.currency.setText(rates.currency)
            self.breaks.setText(breaks_words(rates))
            self.breaks.setCursorPosition(0)
            self.reckon()

        self.do(work, take, failed=self._failed)

    # --- reckoning -----------------------------------------------------------------------------------------------

    def reckon(self) -> None:
        """Work the cost out with the rates in the fields."""
        try:
            rates = self.rates
        except TainError as error:
            self.keep.setEnabled(False)
            self._failed(error)
            return
        plan, painting = self._plan, self._painting
        self.keep.setEnabled(rates != self._kept)

        def work(book: "ShopBook") -> "tuple[PaintPlan, Cost]":
            entry = book.entry(plan.job.piece_id) if plan.job.piece_id else None
            painted = painting if painting is not None else paint_plan(plan)
            piece = entry.value if entry is not None else None
            return painted, job_cost(plan, rates, piece=piece, painting=painted)

        def take(found: "tuple[PaintPlan, Cost]") -> None:
            self._painting = found[0]
            with suppress(TainError):  # breaks are being typed
                if rates == self.rates:
                    self._show(found[1])

        self.do(work, take, failed=self._failed)

    def _show(self, cost: Cost | None) -> None:
        self.cost = cost
        self.copy.setEnabled(cost is not None)
        if cost is None:
            self.told.setText(caption("Reckoning…"))
            return
        rows = [(line.label.capitalize(), f"{line.amount:.2f}", self._how(line)) for line in cost.lines]
        rows.append(("Together", f"{cost.total:.2f}", ""))
        self.table.show_rows(rows, marked=(len(rows) - 1,))
        offered = prices(cost, [self._quantity] if self._quantity else ()) if cost.total else ()
        self.prices.show_rows(
            [
                (
                    f"{one.quantity}{f', {one.off_pct:g} % off' if one.off_pct else ''}",
                    *(f"{amount:.2f}" for amount in (one.each, one.net, one.tax, one.gross)),
                )
                for one in offered
            ]
        )
        _align_right(self.table, (1,))
        _align_right(self.prices, range(1, self.prices.columnCount()))
        self.quote.setText(quote_words(cost, self._quantity))
        self.told.setText(
            caption("Of a piece the job pays what is not kept.")
            if cost.total
            else caption("Set the shop's rates at the left.")
        )

    @property
    def _quantity(self) -> int | None:
        return int(self.quantity.value()) or None

    def _how(self, line: CostLine) -> str:
        how = f"{line.how}, not reckoned" if line.unpriced else line.how
        return in_shown_units(how, inches=self._inches)

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))

    def _copy(self) -> None:
        if self.cost is not None:
            QApplication.clipboard().setText(quote_words(self.cost, self._quantity))
            self.told.setText(caption("The quote line is copied."))

    def _keep(self) -> None:
        try:
            rates = self.rates
        except TainError as error:
            self._failed(error)
            return

        def work(book: "ShopBook") -> None:
            from core.shop_book.shops_own import keep_rates

            keep_rates(book, rates)

        def take(none: None) -> None:
            self._kept = rates
            self.keep.setEnabled(False)
            self.told.setText(caption("The shop book has these rates."))

        self.do(work, take, failed=self._failed, writes=True)


def _align_right(table: PlainTable, columns: Iterable[int]) -> None:
    """Amounts stand at the right of their cells, under their headings."""
    at_right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
    for column in columns:
        items = [table.item(row, column) for row in range(table.rowCount())]
        for item in (table.horizontalHeaderItem(column), *items):
            if item is not None:
                item.setTextAlignment(at_right)
