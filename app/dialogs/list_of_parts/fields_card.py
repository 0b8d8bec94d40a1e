"""The fields of the design: what fills each, how long text is fitted; texts made fields; how many of each row."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from app.dialogs.list_of_parts.field_rows import FieldRows
from app.qt.captions import caption
from app.widgets.fields import Card, ChoiceField, small_button
from core.order.fields import Picked, names_in
from core.order.order import Order
from core.order.working_out import DesignTexts


class FieldsCard(Card):
    """``fields_changed`` tells all fields; ``counted`` the column that says how many; ``picked`` a text made a field;
    ``refused`` why what was typed makes none."""

    fields_changed = Signal(object)
    counted = Signal(str)
    picked = Signal(object)
    refused = Signal(str)

    def __init__(self) -> None:
        super().__init__(caption("Fields"))
        self.rows = FieldRows()
        self.rows.changed.connect(self.fields_changed)
        self.rows.refused.connect(self.refused)
        self.body.addWidget(self.rows)
        self.text = ChoiceField("A text of the design without a field")
        self.name = QLineEdit("name")
        self.name.setAccessibleName(caption("What the new field is called"))
        self.pick = small_button("Make it a &field", tip="All of that text is filled from the list")
        self.pick.clicked.connect(self._pick)
        self.line(self.text, self.name, self.pick)
        self.count = ChoiceField("How many of each row")
        self.count.chosen.connect(lambda column: self.counted.emit(column))
        self.row("How man&y", self.count, help_text="One of each row, or as many as a column says")

    def show_order(self, order: Order) -> None:
        """Show its fields, and the columns that may fill them."""
        columns = order.names.columns if order.names is not None else ()
        self.rows.show_fields(order.fields, columns)
        self.count.offer([("one of each", ""), *((f"as column {one} says", one) for one in columns)])
        self.count.show_value(order.count_column)

    def show_texts(self, texts: DesignTexts) -> None:
        """Offer the texts of the design that are no field yet."""
        self.text.offer([(said, number) for number, said in texts.others])
        for widget in (self.text, self.name, self.pick):
            widget.setVisible(bool(texts.others))

    def _pick(self) -> None:
        name, chosen = self.name.text().strip(" {}"), self.text.value()
        if not isinstance(chosen, int) or not names_in(f"{{{name}}}"):
            self.refused.emit(caption("Choose a text of the design, and write what its field is called, like name."))
            return
        self.picked.emit(Picked(text=chosen, name=name))
