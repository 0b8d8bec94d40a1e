"""What is made of this design by a list, seen where there is one."""

from collections.abc import Callable

from app.qt.captions import filled
from app.widgets.fields import Card, small_button, words
from app.words.wording import count_text
from core.order.order import Order


class ListCard(Card):
    """``open_list`` shows the list with its rows and sheets."""

    def __init__(self, open_list: Callable[[], None]) -> None:
        super().__init__("Many from a list")
        self.told = words(role="quiet")
        self.body.addWidget(self.told)
        self.open = small_button("Rows and s&heets…", tip="The list, its fields, each row, all sheets")
        self.open.clicked.connect(lambda: open_list())
        self.body.addWidget(self.open)

    def show_order(self, order: Order) -> None:
        """Show what the order holds; nothing where it is one job."""
        self.setVisible(not order.is_job)
        self.told.setText(order_words(order))


def order_words(order: Order) -> str:
    """The list, and where its parts lie."""
    if order.names is not None:
        off = f", {len(order.rows_off)} switched off" if order.rows_off else ""
        said = f"{order.names.name}: {count_text(len(order.names.rows), 'row', 'rows')}{off}."
    else:
        running = [one.running.words for one in order.fields if one.running is not None]
        said = filled("Numbers that run: {join}.", join=", ".join(running)) if running else "No list yet."
    if not order.sheets:
        return f"{said} Not laid out yet."
    parts = sum(len(sheet.places) for sheet in order.sheets)
    return f"{said} {count_text(parts, 'part', 'parts')} on {count_text(len(order.sheets), 'sheet', 'sheets')}."
