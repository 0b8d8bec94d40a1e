"""What the job costs and what to quote, with the rates that the shop reckons with."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QHBoxLayout, QHeaderView, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.dialogs.book_dialog import BookDialog
from app.session.shop import Shop
from app.widgets.fields import Card, NumberField, small_button, words
from app.widgets.plain_table import PlainTable
from app.words.wording import in_shown_units
from core.errors import TainError
from core.job.cost import Cost, Rates, job_cost, quote_words
from core.job.plan import Plan

if TYPE_CHECKING:
    from core.finishing.steps import PaintPlan
    from core.shop_book.store import ShopBook

RATES: tuple[tuple[str, str, str, str], ...] = (
    ("machine_per_h", "&Machine / h", "What an hour of the machine costs", ""),
    ("setup_min", "&Setting up", "Minutes at the machine for each job", "min"),
    ("handwork_per_h", "&Handwork / h", "What an hour of masking and painting costs", ""),
    ("sheet_per_m2", "Sheet / m²", "For jobs that lie on no piece of the rack", ""),
    ("mask_film_per_m2", "Mask film / m²", "What the film for masks costs", ""),
    ("margin_pct", "&On top", "Put on top for a quote", "%"),
)
MOST = 1e6


class CostDialog(BookDialog):
    """Reckons for a complete plan, off the GUI thread; ``cost`` is what it came to, None while it is under way."""

    def __init__(self, parent: QWidget | None, shop: Shop, plan: Plan, *, inches: bool) -> None:
        super().__init__(parent, shop, "Cost and quote")
        self._plan, self._inches = plan, inches
        self._painting: PaintPlan | None = None
        self._kept = Rates()
        self.cost: Cost | None = None
        columns = QHBoxLayout()
        columns.setSpacing(16)
        columns.addWidget(self._rates_card(), 2)
        right = QVBoxLayout()
        right.setSpacing(8)
        self.table = PlainTable("What the job costs", ("For", "Cost", "How it comes about"))
        self.table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        right.addWidget(self.table, 1)
        self.quote = words(role="heading")
        right.addWidget(self.quote)
        self.told = words(role="quiet")
        right.addWidget(self.told)
        columns.addLayout(right, 3)
        self.column.addLayout(columns, 1)
        line = QHBoxLayout()
        line.setSpacing(8)
        self.copy = small_button("Cop&y the quote line")
        self.copy.clicked.connect(self._copy)
        line.addWidget(self.copy)
        line.addStretch(1)
        close = QPushButton("Close")
        close.clicked.connect(self.reject)
        self.keep = QPushButton("&Keep these rates")
        self.keep.setProperty("role", "main")
        self.keep.clicked.connect(self._keep)
        line.addWidget(close)
        line.addWidget(self.keep)
        self.column.addLayout(line)
        self.resize(860, 460)
        self._show(None)
        self._read()

    def _rates_card(self) -> Card:
        card = Card("The shop's rates")
        self.fields: dict[str, NumberField] = {}
        for key, label, about, unit in RATES:
            field = NumberField(about, unit=unit, low=0, high=MOST, step=1, places=2)
            field.entered.connect(lambda value: self.reckon())
            card.row(label, field, help_text=about)
            self.fields[key] = field
        self.currency = QLineEdit()
        self.currency.setMaxLength(8)
        self.currency.editingFinished.connect(self.reckon)
        card.row("&Currency", self.currency)
        card.body.addStretch(1)
        return card

    @property
    def rates(self) -> Rates:
        """What the fields say."""
        figures = {key: field.value() for key, field in self.fields.items()}
        return replace(Rates(currency=self.currency.text().strip()), **figures)  # type: ignore[arg-type]

    def _read(self) -> None:
        def work(book: "ShopBook") -> Rates:
            from core.shop_book.rates import rates_of

            return rates_of(book)

        def take(rates: Rates) -> None:
            self._kept = rates
            for key, field in self.fields.items():
                field.show_value(getattr(rates, key))
            self.currency.setText(rates.currency)
            self.reckon()

        self.do(work, take, failed=self._failed)

    # --- reckoning -----------------------------------------------------------------------------------------------

    def reckon(self) -> None:
        """Work the cost out with the rates in the fields."""
        rates, plan, painting = self.rates, self._plan, self._painting
        self.keep.setEnabled(rates != self._kept)

        def work(book: "ShopBook") -> "tuple[PaintPlan, Cost]":
            from core.job.painting.planning import paint_plan

            entry = book.entry(plan.job.piece_id) if plan.job.piece_id else None
            painted = painting if painting is not None else paint_plan(plan)
            piece = entry.value if entry is not None else None
            return painted, job_cost(plan, rates, piece=piece, painting=painted)

        def take(found: "tuple[PaintPlan, Cost]") -> None:
            self._painting = found[0]
            if rates == self.rates:
                self._show(found[1])

        self.do(work, take, failed=self._failed)

    def _show(self, cost: Cost | None) -> None:
        self.cost = cost
        self.copy.setEnabled(cost is not None)
        if cost is None:
            self.told.setText("Reckoning…")
            return
        rows = [
            (line.what.capitalize(), f"{line.amount:.2f}", in_shown_units(line.how, inches=self._inches))
            for line in cost.lines
        ]
        rows.append(("Together", f"{cost.total:.2f}", ""))
        self.table.show_rows(rows, marked=(len(rows) - 1,))
        for row in range(len(rows)):
            amount = self.table.item(row, 1)
            if amount is not None:
                amount.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.quote.setText(quote_words(cost))
        self.told.setText(
            "Set the shop's rates at the left." if cost.total == 0 else "Of a piece the job pays what is not kept."
        )

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))

    def _copy(self) -> None:
        if self.cost is not None:
            QApplication.clipboard().setText(quote_words(self.cost))
            self.told.setText("The quote line is copied.")

    def _keep(self) -> None:
        rates = self.rates

        def work(book: "ShopBook") -> None:
            from core.shop_book.rates import keep_rates

            keep_rates(book, rates)

        def take(none: None) -> None:
            self._kept = rates
            self.keep.setEnabled(False)
            self.told.setText("The shop book has these rates.")

        self.do(work, take, failed=self._failed, writes=True)
