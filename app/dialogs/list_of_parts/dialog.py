"""Many parts of one design from a list: read, matched to the fields, looked at row by row, laid on sheets, written.

The dialog shows the session's order and commits every change to it, so that it is undone, saved and brought back like
all other work; what the order comes to is worked out off the GUI thread.
"""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QFrame, QScrollArea, QTabWidget, QVBoxLayout, QWidget

from app.dialogs.beside import BesideDialog
from app.dialogs.customer_pages import ask_offer, ask_proof
from app.dialogs.foot import Foot
from app.dialogs.list_of_parts.fields_card import FieldsCard
from app.dialogs.list_of_parts.list_card import ListCard, Read
from app.dialogs.list_of_parts.row_preview import RowPreview
from app.dialogs.list_of_parts.rows_table import RowsTable
from app.dialogs.list_of_parts.sheets_card import SheetsCard
from app.dialogs.list_of_parts.sheets_table import SheetsTable
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled, told
from app.session.placing import Placing
from app.session.session import Session
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.fields import small_button
from app.words.wording import count_text, duration_text
from core.errors import TainError
from core.order.fields import Picked
from core.order.lists import NameList
from core.order.order import Order
from core.order.parts import with_matched_fields
from core.order.row_findings import RowFinding
from core.order.working_out import DesignTexts, FilledOrder, design_texts, fill_order, same_parts

if TYPE_CHECKING:
    from app.dialogs.list_of_parts.working import Laid, Written

_CARDS_PX = 550
_NO_FIELD = "This design holds no field. Write one into its text, like {name}, or make a text a field."


class ListDialog(BesideDialog):
    """``filled`` is what the session's order comes to, ``laid`` its sheets; None while that is not worked out."""

    def __init__(
        self, parent: QWidget | None, session: Session, placing: Placing, shop: Shop, *, folder: str, inches: bool
    ) -> None:
        lead = (
            "Text in braces, like {name}, is a field. Each row of a list fills it; all parts are laid on as many sheets"
            " as it takes. What is changed here is undone and saved with the job."
        )
        super().__init__(parent, placing, title="Many parts from a list", lead=lead)
        self._session, self._shop, self._folder = session, shop, folder
        self._texts: DesignTexts | None = None
        self._texts_of: tuple[object, object] | None = None
        self.filled: FilledOrder | None = None
        self.laid: Laid | None = None
        self._shown: FilledOrder | None = None
        self.list, self.fields, self.sheets = ListCard(folder), FieldsCard(), SheetsCard(inches=inches)
        self.left.addWidget(_scrolled(self.list, self.fields, self.sheets))
        self.preview, self.rows, self.taken = RowPreview(inches=inches), RowsTable(), SheetsTable(inches=inches)
        self.tabs = QTabWidget()
        self.tabs.addTab(self.rows, caption("Rows"))
        self.tabs.addTab(self.taken, caption("Sheets"))
        self.right.addWidget(self.preview, 1)
        self.right.addWidget(self.tabs, 1)
        self.close_with(self._foot())
        self._connect()
        self.resize(1180, 720)
        self._order_changed()

    def _connect(self) -> None:
        self.list.wanted.connect(self._read)
        self.list.all_on.connect(lambda: self._change("All rows on", rows_off=()))
        self.fields.fields_changed.connect(lambda fields: self._change("Fields of the list", fields=fields))
        self.fields.counted.connect(lambda column: self._change("How many of each row", count_column=column))
        self.fields.picked.connect(self._pick)
        self.fields.refused.connect(self.told.setText)
        self.sheets.changed.connect(lambda label, values: self._change(label, **values))
        self.preview.switched.connect(self._switch_row)
        self.preview.moved.connect(self.rows.go_to_part)
        self.rows.switched.connect(self._switch_row)
        self.rows.chosen.connect(self.preview.go_to)
        self.placing.busy_changed.connect(self._show_busy)
        self._session.order_changed.connect(self._order_changed)
        for keys, step in (
            (QKeySequence.StandardKey.Undo, self._session.undo),
            (QKeySequence.StandardKey.Redo, self._session.redo),
        ):
            QShortcut(keys, self).activated.connect(step)

    def leave(self) -> None:
        """The dialog is done with: nothing of the session comes to it any more."""
        self.placing.stop()
        self.placing.busy_changed.disconnect(self._show_busy)
        self._session.order_changed.disconnect(self._order_changed)

    def _foot(self) -> Foot:
        self.search = SearchBar(self.placing, "Working the order out", stop="S&top", given_up=self._stopped)
        self.lay = small_button("Lay them &out", tip="All parts on sheets, and every sheet worked out")
        self.lay.clicked.connect(self.lay_out)
        self.proof = small_button("Proo&f…", tip="The page that the customer signs, PDF or PNG")
        self.proof.clicked.connect(self.write_proof)
        self.offer = small_button("Offer…", tip="One page with the price")
        self.offer.clicked.connect(self.write_offer)
        self.write = small_button("Write all fi&les…", tip="Each sheet, map, labels, run sheets, figures")
        self.write.clicked.connect(self.write_files)
        return Foot(self, "&Done", self.search, self.lay, self.proof, self.offer, self.write, leave="")

    # --- the order -----------------------------------------------------------------------------------------------

    @property
    def order(self) -> Order:
        """The session's order, with a field for each that the design holds."""
        order = self._session.order
        return with_matched_fields(order, self._texts.fields) if self._texts is not None else order

    def _change(self, label: str, **changes: Any) -> None:
        """Decide something otherwise; where the parts lay counts no more."""
        self._session.commit_order(replace(self.order, sheets=(), **changes), label)

    def _pick(self, picked: Picked) -> None:
        self._change("Text made a field", picked=(*self.order.picked, picked))

    def _switch_row(self, row: int, on: bool) -> None:
        rows = set(self.order.rows_off)
        rows = rows - {row} if on else rows | {row}
        self._change(f"Row {row} {'on' if on else 'off'}", rows_off=tuple(sorted(rows)))

    def _order_changed(self) -> None:
        """Another order stands in the session: by what was done here, or by undo."""
        order = self._session.order
        if self._texts is None or self._texts_of != (order.design.source, order.picked):
            self._texts, self._texts_of = None, (order.design.source, order.picked)
            self.told.setText(caption("Reading the design…"))
            self.placing.do(lambda progress, tell: design_texts(order), self._take_texts, self._failed)
            self._show_busy()
        else:
            self._look_at(self.order)

    def _take_texts(self, texts: DesignTexts) -> None:
        self._texts, self._shown = texts, None
        self.fields.show_texts(texts)
        self._look_at(self.order)

    def _look_at(self, order: Order) -> None:
        """Show the order, and have worked out what is not known of it."""
        if self.laid is not None and self.laid.worked.order != order:
            self.laid = None
        if self.filled is not None and not same_parts(self.filled.order, order):
            self.filled = None
        self._show_order()
        if self._texts is not None and not self._texts.fields:
            self.told.setText(_NO_FIELD)
        elif order.names is None and not any(one.running is not None for one in order.fields):
            self.placing.stop()
            self.told.setText(caption("Read a list, paste cells, or let numbers run in a field."))
        elif order.sheets and self.laid is None:
            self._work_out(order, anew=False)
        elif self.filled is None:
            self.told.setText(caption("Setting the names…"))
            self.placing.do(
                lambda progress, tell: fill_order(order, progress=progress), self._take_filled, self._failed
            )
        elif self.laid is None:
            self._tell_parts()
        self._show_busy()

    def _take_filled(self, filled: FilledOrder) -> None:
        self.filled = self._shown = filled
        self._show_rows()
        self._tell_parts()
        self._show_busy()

    def _tell_parts(self) -> None:
        count = len(self.filled.parts) if self.filled is not None else 0
        self.told.setText(filled("{count}. Not laid out yet.", count=count_text(count, "part", "parts")))

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))
        self._show_busy()

    def _stopped(self) -> None:
        self.told.setText(caption("Stopped."))
        self._show_busy()

    def _read(self, read: Read) -> None:
        order = self.order
        wanted = tuple(one.name for one in order.fields)

        def take(names: NameList) -> None:
            fields = tuple(replace(one, column="") if one.column not in names.columns else one for one in order.fields)
            counted = order.count_column if order.count_column in names.columns else ""
            new = replace(order, names=names, fields=fields, count_column=counted, rows_off=(), sheets=())
            self._session.commit_order(with_matched_fields(new, wanted), f"List {names.name}")

        self.placing.do(lambda progress, tell: read(wanted), take, self._failed)

    # --- sheets and files ----------------------------------------------------------------------------------------

    def lay_out(self) -> None:
        """Lay all parts on sheets and work every sheet out."""
        self._work_out(self.order, anew=True)

    def _work_out(self, order: Order, *, anew: bool) -> None:
        from app.dialogs.list_of_parts.working import laid_out

        on_rack = self.sheets.on_rack
        self.told.setText(caption("Laying them out…") if anew else caption("Working the sheets out…"))
        self.placing.do(
            lambda progress, tell: laid_out(order, on_rack=on_rack, anew=anew, progress=progress),
            self._take_laid,
            self._failed,
        )

    def _take_laid(self, laid: "Laid") -> None:
        self.laid, self.filled = laid, laid.worked.filled
        self._shown = self.filled
        self._session.commit_order(laid.worked.order, "Parts laid out")
        self._show_order()
        whole = laid.taken.whole
        parts, sheets = count_text(whole.parts, "part", "parts"), count_text(len(laid.taken.sheets), "sheet", "sheets")
        said = filled(
            "{parts} on {sheets}, {duration_text}.",
            parts=parts,
            sheets=sheets,
            duration_text=duration_text(whole.time.best_s),
        )
        self.told.setText(f"{said} {laid.stopping}".strip())
        self._show_busy()

    def write_proof(self) -> None:
        """The page that the customer signs."""
        ask_proof(self, self.placing, self._shop, self.order, Path(self._suggested("-proof.pdf")))

    def write_offer(self) -> None:
        """One page with the price of all."""
        ask_offer(self, self.placing, self._shop, self.order, Path(self._suggested("-offer.pdf")))

    def write_files(self) -> None:
        """Write everything into a folder."""
        from app.dialogs.list_of_parts.working import write_all

        laid = self.laid
        folder = messages.save_file(self, "A folder for all files", path=self._suggested("-sheets"), filters="")
        if laid is None or folder is None:
            return
        overwrite = folder.is_dir() and any(folder.iterdir())
        if overwrite and not messages.may_replace(self, "Replace files", folder):
            return

        def take(written: "Written") -> None:
            said = filled("Nothing was written: {stopped}", stopped=written.stopped) if written.stopped else ""
            said = said or filled("Wrote {count} files to {name}.", count=written.count, name=folder.name)
            self.told.setText(f"{said} {told(written.gone)}".strip())
            self._show_busy()

        self.placing.do(
            lambda progress, tell: write_all(laid, folder, overwrite=overwrite, progress=progress), take, self._failed
        )

    # --- showing -------------------------------------------------------------------------------------------------

    def _show_order(self) -> None:
        order = self.order
        self.list.show_order(order)
        self.fields.show_order(order)
        self.sheets.show_order(order)
        self.taken.show_taken(self.laid.taken if self.laid is not None else None)
        self.tabs.setTabEnabled(1, self.laid is not None)
        self._show_rows()

    def _show_rows(self) -> None:
        order = self.order
        findings: tuple[RowFinding, ...] = order.names.findings if order.names is not None else ()
        if self._shown is not None:
            findings = self.laid.worked.findings if self.laid is not None else self._shown.findings
        self.rows.show_order(order, self._shown, findings)
        self.preview.show_parts(self._shown, findings)

    def _show_busy(self) -> None:
        busy = self.placing.busy
        ready = not busy and self.filled is not None
        self.list.show_busy(busy, can_read=self._texts is not None and bool(self._texts.fields))
        for widget in (self.lay, self.proof):
            widget.setEnabled(ready)
        for widget in (self.write, self.offer):
            widget.setEnabled(ready and self.laid is not None)

    def _suggested(self, ending: str) -> str:
        return str(Path(self._folder or ".") / f"{self._stem()}{ending}")

    def _stem(self) -> str:
        source = self.order.design.source
        return Path(source.name).stem if source is not None else "parts"


def _scrolled(*cards: QWidget) -> QScrollArea:
    """Cards below each other that scroll upright where there is no room for all."""
    area, content = QScrollArea(), QWidget()
    area.setAccessibleName(caption("List, fields and sheets"))
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    column = QVBoxLayout(content)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(12)
    for card in cards:
        column.addWidget(card)
    column.addStretch(1)
    area.setWidget(content)
    area.setMinimumWidth(_CARDS_PX)
    return area
