"""What each sheet of a laid order takes, and all together: run time, coverage, paint, cost."""

from PySide6.QtWidgets import QHeaderView

from app.widgets.plain_table import PlainTable
from app.words.wording import area_text, percent_text
from core.job.costs.pricing import money
from core.job.timing import range_text
from core.output.orders.reckoning import Reckoned, Taken

_PAINT = 5


class SheetsTable(PlainTable):
    """Nothing is shown while nothing is laid."""

    def __init__(self, *, inches: bool) -> None:
        self._inches = inches
        super().__init__("What each sheet takes", ["Sheet", "Parts", "Runs", "Filled", "Coat stays", "Paint", "Cost"])
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(_PAINT, QHeaderView.ResizeMode.Stretch)

    def show_taken(self, taken: Reckoned | None) -> None:
        """Show what each sheet and all take."""
        if taken is None:
            self.show_rows(())
            return
        several = [*taken.sheets, taken.whole] if len(taken.sheets) > 1 else list(taken.sheets)
        rows = [self._row("All" if one is taken.whole else str(at), one) for at, one in enumerate(several, start=1)]
        self.show_rows(rows, marked=[len(rows) - 1] if len(rows) > 1 else ())

    def _row(self, name: str, one: Taken) -> tuple[str, ...]:
        stays = percent_text(one.left_over_pct / 100) if one.fill_mm2 else "–"
        cost = money(one.cost.total, one.cost.rates.currency) if one.cost.total else "not set"
        filled = area_text(one.fill_mm2, inches=self._inches)
        return name, str(one.parts), range_text(one.time), filled, stays, one.paint_words or "none", cost
