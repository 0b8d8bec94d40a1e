"""What the parts are laid on and how, and what each sheet comes to once they are."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.qt.captions import caption
from app.widgets.fields import Card, ChoiceField, LengthField, small_button
from app.widgets.plain_table import PlainTable
from app.words.wording import percent_text
from core.job.pricing import money
from core.job.timing import range_text
from core.order.order import Order
from core.output.orders.reckoning import Reckoned, Taken

_HERE, _RACK = "sheet", "rack"
_MOST_SHOWN_PX = 170


class SheetsCard(Card):
    """``changed`` tells what is decided otherwise: (words for undo, the order's own names and values)."""

    changed = Signal(str, object)

    def __init__(self, *, inches: bool) -> None:
        super().__init__(caption("Sheets"))
        self.ground = ChoiceField(
            "What they are laid on", (("sheets like this job's", _HERE), ("the rack, offcuts first", _RACK))
        )
        self.ground.show_value(_HERE)
        self.way = ChoiceField(
            "How they lie", (("row by row, in list order", "list order"), ("as densely as it goes", "densest"))
        )
        self.way.chosen.connect(lambda way: self.changed.emit("How parts lie", {"way": way}))
        self.spacing = LengthField("Sheet between neighbours", low=0, high=200, step=0.5)
        self.spacing.show_inches(inches)
        self.spacing.entered.connect(lambda value: self.changed.emit("Sheet between parts", {"spacing_mm": value}))
        self.marks = QCheckBox(caption("&Score the parts' numbers into the waste"))
        self.marks.toggled.connect(lambda on: self.changed.emit("Numbers in the waste", {"marks": on}))
        self.row("La&id on", self.ground)
        self.row("They &lie", self.way)
        self.row("Bet&ween", self.spacing)
        self.body.addWidget(self.marks)
        self.lay = small_button("Lay them &out")
        self.body.addWidget(self.lay)
        self.table = PlainTable("What each sheet takes", ["Sheet", "Parts", "Runs", "Coat stays", "Paint", "Cost"])
        self.table.setMaximumHeight(_MOST_SHOWN_PX)
        self.table.hide()
        self.body.addWidget(self.table)

    @property
    def on_rack(self) -> bool:
        """Whether parts are to be laid on the rack's pieces."""
        return self.ground.value() == _RACK

    def show_order(self, order: Order) -> None:
        """Show how its parts lie."""
        self.way.show_value(order.way)
        self.spacing.show_value(order.spacing_mm)
        self.marks.blockSignals(True)
        self.marks.setChecked(order.marks)
        self.marks.blockSignals(False)

    def show_taken(self, taken: Reckoned | None) -> None:
        """Show what each sheet and all take; nothing while that is not known."""
        self.table.setVisible(taken is not None)
        if taken is not None:
            several = [*taken.sheets, taken.whole] if len(taken.sheets) > 1 else list(taken.sheets)
            rows = [_row("All" if one is taken.whole else str(at), one) for at, one in enumerate(several, start=1)]
            self.table.show_rows(rows, marked=[len(rows) - 1] if len(rows) > 1 else ())


def _row(name: str, one: Taken) -> tuple[str, ...]:
    stays = percent_text(one.left_over_pct / 100) if one.fill_mm2 else "–"
    cost = money(one.cost.total, one.cost.rates.currency) if one.cost.total else "not set"
    return name, str(one.parts), range_text(one.time), stays, one.paint_words or "none", cost
