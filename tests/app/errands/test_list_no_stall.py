"""A list of 1,000 rows keeps the window as quick as a list of ten: no burst of its thread over a tenth of a second.

What counts is processor time of the window's own thread, as in ``tests/app/window/test_no_stall``.
"""

import time
from contextlib import contextmanager
from dataclasses import replace

import pytest
from PySide6.QtCore import QAbstractEventDispatcher
from PySide6.QtTest import QTest

from app.dialogs.list_of_parts.dialog import ListDialog
from core.order.list_reading import read_list
from core.sheet.placement import Sheet
from tests.core.order.designs import PLATE
from tests.windows import wait_until

LONGEST_S = 0.1
ROWS = 1_000


class Bursts:
    """The longest burst of processor time of this thread between two moments when its event loop was free."""

    def __init__(self, busy):
        self._busy = busy
        self.longest_s = {}
        self._doing, self._since_s = "", None
        self._dispatcher = QAbstractEventDispatcher.instance()
        self._dispatcher.awake.connect(self._turn)
        self._dispatcher.aboutToBlock.connect(self._turn)

    def do(self, words, action):
        QTest.qWait(0)
        self._doing, self._since_s = words, None
        began_s = time.thread_time()
        action()
        self.longest_s[words] = max(self.longest_s.get(words, 0.0), time.thread_time() - began_s)
        QTest.qWait(20)
        wait_until(lambda: not self._busy())
        QTest.qWait(20)
        self._doing = ""

    def off(self):
        self._dispatcher.awake.disconnect(self._turn)
        self._dispatcher.aboutToBlock.disconnect(self._turn)

    def _turn(self):
        now_s = time.thread_time()
        if self._since_s is not None and self._doing:
            self.longest_s[self._doing] = max(self.longest_s.get(self._doing, 0.0), now_s - self._since_s)
        self._since_s = now_s


@pytest.fixture
def opened(window, settle, tmp_path):
    """Opens the dialog, shown, of a design whose sheet takes many, with what measures it, for as long as it is used."""
    path = tmp_path / "plate.svg"
    path.write_text(PLATE)

    @contextmanager
    def do():
        window.session.mark_saved(window.session.order, tmp_path / "done.tain")
        window.files.open(path)
        settle(window)
        job = replace(window.session.job, sheet=Sheet(width_mm=600.0, height_mm=300.0, thickness_mm=3.0))
        window.session.commit(job, "Sheet")
        settle(window)
        dialog = ListDialog(window, window.session, window.sheet_page.placing, window.shop, folder="", inches=False)
        dialog.show()
        bursts = Bursts(lambda: window.sheet_page.placing.busy)
        bursts.do("begin", lambda: None)
        yield dialog, bursts
        bursts.off()
        dialog.leave()
        dialog.deleteLater()

    return do


def stalls(measured):
    """What took too long both times: a busy machine makes now this and now that long, work of ours the same again."""
    longest_s = measured()
    if any(seconds > LONGEST_S for seconds in longest_s.values()):
        again_s = measured()
        longest_s = {words: min(seconds, again_s[words]) for words, seconds in longest_s.items()}
    return {words: seconds for words, seconds in longest_s.items() if seconds > LONGEST_S}


def take(window_session, dialog, rows):
    text = "Name,Role\n" + "".join(f"Anna {n % 20},Cook\n" for n in range(rows))
    names = read_list(text.encode(), name="club.csv")
    window_session.commit_order(replace(dialog.order, names=names), "List")


def test_a_thousand_rows(opened, window):
    def measured():
        with opened() as (dialog, bursts):
            thousand_rows(window, dialog, bursts)
        assert len(bursts.longest_s) == 11
        return bursts.longest_s

    assert stalls(measured) == {}


def thousand_rows(window, dialog, bursts):
    bursts.do("take the list", lambda: take(window.session, dialog, ROWS))
    table, view = dialog.rows.model, dialog.rows.view
    assert len(dialog.filled.parts) == ROWS == table.rowCount() and table.told_count == ROWS - 20
    bursts.do("to the end", view.scrollToBottom)
    bursts.do("a row", lambda: view.selectRow(700))
    assert dialog.preview.where.text().startswith("701 of 1000, row 702")
    bursts.do("next", dialog.preview.on.click)
    assert dialog.rows.line().row == 703
    bursts.do("off", dialog.preview.made.click)
    assert len(dialog.filled.parts) == ROWS - 1
    bursts.do("all on", dialog.list.rows_off.click)
    bursts.do("only told", dialog.rows.only_told.click)
    assert table.rowCount() == ROWS - 20
    bursts.do("all", dialog.rows.only_told.click)
    bursts.do("undo", window.session.undo)
    bursts.do("redo", window.session.redo)


def test_laying_out_and_stopping(opened, window):
    def measured():
        with opened() as (dialog, bursts):
            laid_out_and_stopped(window, dialog, bursts)
        return bursts.longest_s

    assert stalls(measured) == {}


def laid_out_and_stopped(window, dialog, bursts):
    bursts.do("take the list", lambda: take(window.session, dialog, 24))
    heard = []
    window.sheet_page.placing.progressed.connect(lambda share, doing: heard.append((share, doing)))
    bursts.do("lay out", dialog.lay.click)
    assert dialog.laid is not None and dialog.laid.taken.whole.parts == 24
    assert any("working out sheets" in doing for _, doing in heard) and dialog.taken.rowCount() == 1
    bursts.do("lay out, stopped", lambda: (dialog.lay.click(), dialog.search.stop.click()))
    assert dialog.told.text() == "Stopped."
