"""What the parts are laid on, and how."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox

from app.qt.captions import caption
from app.widgets.fields import Card, ChoiceField, LengthField
from core.order.order import Order

_HERE, _RACK = "sheet", "rack"


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
