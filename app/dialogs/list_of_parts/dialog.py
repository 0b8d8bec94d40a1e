"""Many parts of one design from a list: read, matched to the fields, looked at row by row, laid on sheets, written.

The dialog holds an Order and shows what it comes to; all of it is worked out off the GUI thread.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.foot import Foot
from app.dialogs.list_of_parts.field_rows import FieldRows
from app.dialogs.list_of_parts.row_preview import RowPreview
from app.dialogs.search_bar import SearchBar
from app.session.placing import Placing, Tell
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, LengthField, small_button, words
from app.words.wording import duration_text
from core.atomic import write_atomically
from core.errors import JobError, TainError
from core.order.fields import Picked, names_in
from core.order.filling import field_names
from core.order.laying import rack_grounds
from core.order.list_reading import load_list, pasted_list
from core.order.lists import NameList
from core.order.order import Order
from core.order.order_file import save_order
from core.order.parts import with_matched_fields
from core.order.row_findings import RowFinding
from core.order.working_out import FilledOrder, WorkedOrder, design_template, fill_order, work_out
from core.output.mask_files import write_files
from core.progress import Progress
from core.shop_book.store import open_book

LIST_FILTERS = "Lists (*.csv *.tsv *.txt *.xlsx *.xlsm);;All files (*)"
_HERE, _RACK = "sheet", "rack"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Written:
    """What was written into a folder, or why nothing was."""

    count: int
    stopped: str = ""


class ListDialog(QDialog):
    """``order`` is the order as it now stands, ``worked`` what it came to when it was last laid out."""

    def __init__(self, parent: QWidget | None, placing: Placing, order: Order, *, folder: str, inches: bool) -> None:
        super().__init__(parent)
        self.setWindowTitle("Many parts from a list")
        self._placing, self._folder = placing, folder
        self.order = order
        self.filled: FilledOrder | None = None
        self.worked: WorkedOrder | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        lead = (
            "Text in braces, like {name}, is a field. Each row of a list fills it; all parts are laid on as many sheets"
            " as it takes."
        )
        layout.addWidget(words(lead, role="quiet"))
        columns = QHBoxLayout()
        columns.setSpacing(16)
        left = QVBoxLayout()
        left.setSpacing(12)
        left.addWidget(self._list_card())
        left.addWidget(self._fields_card())
        left.addWidget(self._sheets_card(inches))
        left.addStretch(1)
        columns.addLayout(left, 1)
        right = QVBoxLayout()
        right.setSpacing(8)
        self.preview = RowPreview(inches=inches)
        self.preview.switched.connect(self._switch_row)
        right.addWidget(self.preview, 1)
        self.findings = QListWidget()
        self.findings.setAccessibleName("What was found in the list")
        self.findings.setWordWrap(True)
        self.findings.itemActivated.connect(self._go_to_row)
        self.findings.itemClicked.connect(self._go_to_row)
        right.addWidget(self.findings, 1)
        columns.addLayout(right, 1)
        layout.addLayout(columns, 1)
        self.told = words()
        layout.addWidget(self.told)
        layout.addLayout(self._foot())
        self.resize(1080, 680)
        self.finished.connect(lambda result: placing.stop())
        placing.busy_changed.connect(self._show_busy)
        self._begin()

    # --- what it is made of --------------------------------------------------------------------------------------

    def _list_card(self) -> Card:
        card = Card("List")
        self.read = small_button("&Read a list…", tip="CSV, TSV or XLSX")
        self.read.clicked.connect(self.ask_list)
        self.paste = small_button("&Paste cells", tip="Cells that were copied elsewhere")
        self.paste.clicked.connect(self.paste_cells)
        self.again = small_button("Read it &again", tip="The same file, as it is now")
        self.again.clicked.connect(self.read_again)
        card.line(self.read, self.paste, self.again)
        self.form = words(role="quiet")
        card.body.addWidget(self.form)
        self.rows_off = small_button("Switch all rows &on")
        self.rows_off.clicked.connect(lambda: self._change(rows_off=()))
        card.body.addWidget(self.rows_off)
        return card

    def _fields_card(self) -> Card:
        card = Card("Fields")
        self.fields = FieldRows()
        self.fields.changed.connect(lambda fields: self._change(fields=fields))
        self.fields.refused.connect(lambda why: self.told.setText(why))
        card.body.addWidget(self.fields)
        self.pick_text = ChoiceField("A text of the design without a field")
        self.pick_name = QLineEdit("name")
        self.pick_name.setAccessibleName("What the new field is called")
        self.pick = small_button("Make it a &field", tip="All of that text is filled from the list")
        self.pick.clicked.connect(self.pick_field)
        card.line(self.pick_text, self.pick_name, self.pick)
        self.count = ChoiceField("How many of each row")
        self.count.chosen.connect(lambda column: self._change(count_column=column))
        card.row("How man&y", self.count, help_text="One of each row, or as many as a column says")
        return card

    def _sheets_card(self, inches: bool) -> Card:
        card = Card("Sheets")
        self.ground = ChoiceField(
            "What they are laid on", (("sheets like this job's", _HERE), ("the rack, offcuts first", _RACK))
        )
        self.way = ChoiceField(
            "How they lie", (("row by row, in list order", "list order"), ("as densely as it goes", "densest"))
        )
        self.way.chosen.connect(lambda way: self._change(way=way))
        self.spacing = LengthField("Sheet between neighbours", low=0, high=200, step=0.5)
        self.spacing.show_inches(inches)
        self.spacing.entered.connect(lambda value: self._change(spacing_mm=value))
        self.marks = QCheckBox("&Score the parts' numbers into the waste")
        self.marks.toggled.connect(lambda on: self._change(marks=on))
        card.row("La&id on", self.ground)
        card.row("They &lie", self.way)
        card.row("Bet&ween", self.spacing)
        card.body.addWidget(self.marks)
        self.lay = small_button("Lay them &out")
        self.lay.clicked.connect(self.lay_out)
        card.body.addWidget(self.lay)
        return card

    def _foot(self) -> Foot:
        self.search = SearchBar(self._placing, "Working the order out", stop="S&top", given_up=self._stopped)
        self.save = small_button("Sa&ve the order…", tip="Design, list, fields and sheets as a .tain")
        self.save.clicked.connect(self.save_order)
        self.proof = small_button("Proo&f…", tip="The page that the customer signs, PDF or PNG")
        self.proof.clicked.connect(self.write_proof)
        self.offer = small_button("Offer…", tip="One page with the price")
        self.offer.clicked.connect(self.write_offer)
        self.write = small_button("Write &all files…", tip="Each sheet, map, labels, run sheets, figures")
        self.write.clicked.connect(self.write_files)
        foot = Foot(self, "&Done", self.search, self.save, self.proof, self.offer, self.write, leave="Give up")
        self.done_button = foot.main
        return foot

    # --- the order -----------------------------------------------------------------------------------------------

    def _begin(self) -> None:
        try:
            template = design_template(self.order)
            wanted = field_names(template)
        except TainError as error:
            self._cannot(str(error))
            return
        taken = {one.text for one in self.order.picked}
        free = [(said, at) for at, said in enumerate(template.texts) if said and not names_in(said) and at not in taken]
        self.pick_text.offer(free)
        for widget in (self.pick_text, self.pick_name, self.pick):
            widget.setVisible(bool(free))
        if not wanted:
            self._cannot("This design holds no field. Write one into its text, like {name}, or make a text a field.")
            return
        self._take_order(with_matched_fields(self.order, wanted))

    def pick_field(self) -> None:
        """Make the chosen text of the design a field of the name that was written."""
        name = self.pick_name.text().strip(" {}")
        chosen = self.pick_text.value()
        if not isinstance(chosen, int) or not names_in(f"{{{name}}}"):
            self.told.setText("Choose a text of the design, and write what its field is called, like name.")
            return
        self.order = replace(self.order, picked=(*self.order.picked, Picked(text=chosen, name=name)), sheets=())
        for widget in (self.read, self.paste):
            widget.setEnabled(True)
        self._begin()

    def _cannot(self, why: str) -> None:
        for widget in (self.read, self.paste, self.again, self.lay, self.save, self.proof, self.offer, self.write):
            widget.setEnabled(False)
        self.told.setText(why)
        self._show_order()

    def _change(self, **changes: Any) -> None:
        """The order with something decided otherwise; where it lay counts no more."""
        self._take_order(replace(self.order, sheets=(), **changes))

    def _take_order(self, order: Order) -> None:
        self.order, self.worked = order, None
        self._show_order()
        if order.names is None and not any(one.running is not None for one in order.fields):
            self.filled = None
            self.preview.show_parts(None, ())
            self._show_findings(())
            self.told.setText("Read a list, paste cells, or let numbers run in a field.")
            self._show_busy()
            return
        self.told.setText("Setting the names…")

        def work(progress: Progress, tell: Tell) -> FilledOrder:
            return fill_order(order, progress=progress)

        self._placing.do(work, self._take_filled, self._failed)

    def _take_filled(self, filled: FilledOrder) -> None:
        self.filled = filled
        self.preview.show_parts(filled, filled.findings)
        self._show_findings(filled.findings)
        count = len(filled.parts)
        self.told.setText(f"{count} {'part' if count == 1 else 'parts'}. Not laid out yet.")
        self._show_busy()

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))
        self._show_busy()

    def _stopped(self) -> None:
        self.told.setText("Stopped.")

    def _switch_row(self, row: int, on: bool) -> None:
        rows = set(self.order.rows_off)
        rows = rows - {row} if on else rows | {row}
        self._change(rows_off=tuple(sorted(rows)))

    # --- the list ------------------------------------------------------------------------------------------------

    def ask_list(self) -> None:
        """Ask for a list and read it."""
        path = messages.open_file(self, "Read a list", folder=self._folder, filters=LIST_FILTERS)
        if path is not None:
            self._read(lambda wanted: load_list(path, wanted=wanted))

    def paste_cells(self) -> None:
        """Take the cells on the clipboard as the list."""
        text = QGuiApplication.clipboard().text()
        self._read(lambda wanted: pasted_list(text, wanted=wanted))

    def read_again(self) -> None:
        """Read the list's file as it is now."""
        names = self.order.names
        if names is not None and names.path:
            path, header = Path(names.path), names.form.has_header
            sheet = names.form.sheet or None
            self._read(lambda wanted: load_list(path, wanted=wanted, has_header=header, sheet=sheet))

    def _read(self, read: Callable[[tuple[str, ...]], NameList]) -> None:
        wanted = tuple(one.name for one in self.order.fields)

        def take(names: NameList) -> None:
            fields = tuple(
                replace(one, column="") if one.column not in names.columns else one for one in self.order.fields
            )
            counted = self.order.count_column if self.order.count_column in names.columns else ""
            order = replace(self.order, names=names, fields=fields, count_column=counted, rows_off=(), sheets=())
            self._take_order(with_matched_fields(order, wanted))

        self._placing.do(lambda progress, tell: read(wanted), take, self._failed)

    # --- sheets and files ----------------------------------------------------------------------------------------

    def lay_out(self) -> None:
        """Lay all parts on sheets and work every sheet out."""
        order, on_rack = self.order, self.ground.currentIndex() == 1
        self.told.setText("Laying them out…")

        def work(progress: Progress, tell: Tell) -> WorkedOrder:
            pieces = _rack() if on_rack else ()
            grounds = rack_grounds(pieces, order.design)
            if on_rack and not grounds:
                raise _no_piece(order)
            return work_out(order, grounds, {uuid: piece for uuid, _, piece in pieces}, progress=progress)

        self._placing.do(work, self._take_worked, self._failed)

    def _take_worked(self, worked: WorkedOrder) -> None:
        from core.output.orders.files import what_stops

        self.worked, self.order, self.filled = worked, worked.order, worked.filled
        self.preview.show_parts(worked.filled, worked.findings)
        self._show_findings(worked.findings)
        seconds = sum(sheet.plan.time_s for sheet in worked.sheets)
        parts, sheets = sum(len(one.laid.places) for one in worked.sheets), len(worked.sheets)
        text = f"{parts} {'part' if parts == 1 else 'parts'} on {sheets} {'sheet' if sheets == 1 else 'sheets'}, "
        stopping = what_stops(worked)
        self.told.setText(text + duration_text(seconds) + "." + (f" {stopping[0]}" if stopping else ""))
        self._show_busy()

    def save_order(self) -> None:
        """Keep design, list, fields and sheets as a file."""
        suggested = Path(self._folder or ".") / f"{self._stem()}-order.tain"
        path = messages.ask_target(self, "Save the order", suggested, ".tain", filters="Tain orders (*.tain)")
        if path is not None:
            order = self.order
            self._write(lambda: save_order(order, path, overwrite=True), f"Saved {path.name}.")

    def write_proof(self) -> None:
        """Write the page that the customer signs."""
        suggested = Path(self._folder or ".") / f"{self._stem()}-proof.pdf"
        path = messages.save_file(self, "Proof", path=str(suggested), filters="PDF (*.pdf);;PNG (*.png)")
        if path is None or (path.exists() and not messages.may_replace(self, "Proof", path)):
            return
        order = self.order

        def write() -> None:
            from core.output.orders.proof_page import as_picture, proof, shown_order
            from core.shop_book.shops_own import letterhead_of

            with open_book() as book:
                letterhead = letterhead_of(book)
            data = proof(shown_order(fill_order(order)), letterhead)
            write_atomically(path, as_picture(data) if path.suffix.lower() == ".png" else data, overwrite=True)

        self._write(write, f"Wrote {path.name}.")

    def write_offer(self) -> None:
        """Write one page with the price of all."""
        suggested = Path(self._folder or ".") / f"{self._stem()}-offer.pdf"
        path = messages.ask_target(self, "Offer", suggested, ".pdf", filters="PDF (*.pdf)")
        worked = self.worked
        if path is None or worked is None:
            return

        def write() -> None:
            from core.job.cost import joined
            from core.output.orders.files import sheet_costs
            from core.output.orders.offer_page import offer_of, offer_page
            from core.shop_book.rack import rack_pieces
            from core.shop_book.shops_own import letterhead_of, rates_of

            with open_book() as book:
                rates, letterhead = rates_of(book), letterhead_of(book)
                pieces = {uuid: piece for uuid, _, piece in rack_pieces(book)}
            design = worked.order.design
            words = f"{self._stem()}, {design.stock.name}, {design.sheet.thickness_mm:g} mm"
            offer = offer_of(joined(sheet_costs(worked, rates, pieces)), words, day=date.today())
            write_atomically(path, offer_page(offer, letterhead), overwrite=True)

        self._write(write, f"Wrote {path.name}.")

    def write_files(self) -> None:
        """Write everything into a folder."""
        worked = self.worked
        suggested = Path(self._folder or ".") / f"{self._stem()}-sheets"
        folder = messages.save_file(self, "A folder for all files", path=str(suggested), filters="")
        if worked is None or folder is None:
            return
        overwrite = folder.is_dir() and any(folder.iterdir())
        if overwrite and not messages.may_replace(self, "Replace files", folder):
            return

        def work(progress: Progress, tell: Tell) -> Written:
            from core.output.orders.files import order_files, sheet_costs, what_stops
            from core.shop_book.shops_own import rates_of

            if stopping := what_stops(worked):
                return Written(count=0, stopped=stopping[0])
            pieces = {uuid: piece for uuid, _, piece in _rack()}
            with open_book() as book:
                rates = rates_of(book)
            files = order_files(worked, sheet_costs(worked, rates, pieces), pieces, progress=progress)
            return Written(count=len(write_files(files, folder, overwrite=overwrite)))

        def take(written: Written) -> None:
            said = f"Nothing was written: {written.stopped}" if written.stopped else ""
            self.told.setText(said or f"Wrote {written.count} files to {folder.name}.")
            self._show_busy()

        self._placing.do(work, take, self._failed)

    def _write(self, write: Callable[[], None], said: str) -> None:
        def take(nothing: None) -> None:
            self.told.setText(said)
            self._show_busy()

        self._placing.do(lambda progress, tell: write(), take, self._failed)

    # --- showing -------------------------------------------------------------------------------------------------

    def _show_order(self) -> None:
        order = self.order
        names = order.names
        self.form.setText(
            f"{names.name}: {names.form.words}; {len(names.rows)} rows." if names is not None else "No list yet."
        )
        off = len(order.rows_off)
        self.rows_off.setVisible(bool(off))
        self.rows_off.setText(f"Switch {off} {'row' if off == 1 else 'rows'} &on again")
        columns = names.columns if names is not None else ()
        self.fields.show_fields(order.fields, columns)
        self.count.offer([("one of each", ""), *((f"as column {one} says", one) for one in columns)])
        self.count.show_value(order.count_column)
        self.way.show_value(order.way)
        if self.ground.currentIndex() < 0:
            self.ground.show_value(_HERE)
        self.spacing.show_value(order.spacing_mm)
        self.marks.blockSignals(True)
        self.marks.setChecked(order.marks)
        self.marks.blockSignals(False)

    def _show_findings(self, findings: tuple[RowFinding, ...]) -> None:
        self.findings.clear()
        ranked = sorted(findings, key=lambda one: ("problem", "warning", "note").index(one.severity))
        for one in ranked:
            item = QListWidgetItem(f"{one.severity.capitalize()}: {one.message}")
            item.setData(0x0100, one.row or 0)
            self.findings.addItem(item)
        if not ranked:
            self.findings.addItem(QListWidgetItem("Nothing was found."))

    def _go_to_row(self, item: QListWidgetItem) -> None:
        row = item.data(0x0100) or 0
        parts = self.filled.parts if self.filled is not None else ()
        at = next((at for at, part in enumerate(parts) if part.row == row), None)
        if row and at is not None:
            self.preview.go(at)

    def _show_busy(self) -> None:
        busy = self._placing.busy
        names = self.order.names
        ready = not busy and self.filled is not None
        self.again.setEnabled(not busy and names is not None and bool(names.path))
        for widget in (self.lay, self.save, self.proof):
            widget.setEnabled(ready)
        for widget in (self.write, self.offer):
            widget.setEnabled(ready and self.worked is not None)

    def _stem(self) -> str:
        source = self.order.design.source
        return Path(source.name).stem if source is not None else "parts"


def _rack() -> Any:
    from core.shop_book.rack import rack_pieces

    with open_book() as book:
        return rack_pieces(book)


def _no_piece(order: Order) -> TainError:
    return JobError(
        f"No piece on the rack is {order.design.stock.name}, {order.design.sheet.thickness_mm:g} mm.",
        hint="Lay them on sheets like this job's, or put pieces on the rack.",
    )
