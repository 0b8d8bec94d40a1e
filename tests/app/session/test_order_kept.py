"""An order is part of the window's work: undone step by step, asked about at the end, brought back after a kill."""

from dataclasses import replace

import pytest
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest

from app.session.recovery import leftovers
from app.stages.stage import Stage
from core.job.decisions import with_turn
from core.job.job_file import load_job
from core.order.order_file import load_work
from tests.app.session.dying_window import died
from tests.core.order.designs import PLATE


@pytest.fixture
def files(tmp_path):
    (tmp_path / "plate.svg").write_text(PLATE)
    (tmp_path / "club.csv").write_text("Name,Role\nAnna Bérg,Cook\nBo,Clerk\n")
    return tmp_path


@pytest.fixture
def listed(window, files, dialogs, settle, qtbot):
    """A window whose job became an order through the dialog: a list read, one row switched off."""
    window.files.open(files / "plate.svg")
    settle(window)
    window.go_to(Stage.SHEET)

    def idle():
        qtbot.waitUntil(lambda: not window.sheet_page.placing.busy, timeout=30_000)

    def steps(dialog):
        idle()
        dialogs.expect("open", files / "club.csv")
        dialog.list.read.click()
        idle()
        table = dialog.rows.model
        assert [line.said for line in table.lines] == [("Anna Bérg", "Cook"), ("Bo", "Clerk")]
        dialog.preview.go(1)
        dialog.preview.made.click()
        idle()
        assert table.lines[1].made is False and dialog.order.rows_off == (3,)
        return True

    dialogs.expect("run", steps)
    window.sheet_page.list_of_parts.click()
    settle(window)
    return window


def test_changes_of_the_list_are_undone_and_redone_one_by_one(listed, settle):
    session, undo, redo = listed.session, listed.menus.actions["undo"], listed.menus.actions["redo"]
    whole, job = session.order, session.job
    assert whole.rows_off == (3,) and session.undo_label == "Row 3 off"
    undo.trigger()
    assert session.order.rows_off == () and session.order.names == whole.names and session.undo_label == "List club.csv"
    undo.trigger()
    assert session.order.is_job and session.job is job and session.undo_label is None
    assert session.complete  # the job is what it was: nothing is worked out again
    redo.trigger()
    redo.trigger()
    assert session.order == whole and not redo.isEnabled()
    session.commit(with_turn(job, "endways"), "Turn")
    assert session.order.names == whole.names and session.order.design.turn == "endways"
    settle(listed)


def test_the_sheet_page_says_what_the_list_holds(listed, settle):
    card = listed.sheet_page.list_card
    assert card.isVisibleTo(listed.sheet_page) and card.told.text().startswith("club.csv: 2 rows, 1 switched off.")
    listed.session.undo()
    settle(listed)
    assert card.told.text() == "club.csv: 2 rows. Not laid out yet."
    listed.session.undo()
    settle(listed)
    assert not card.isVisibleTo(listed.sheet_page)


def test_undo_within_the_dialog_is_shown_there(listed, dialogs, settle, qtbot):
    def steps(dialog):
        qtbot.waitUntil(lambda: not listed.sheet_page.placing.busy, timeout=30_000)
        assert len(dialog.filled.parts) == 1
        dialog.show()
        QTest.keySequence(dialog, QKeySequence(QKeySequence.StandardKey.Undo))
        qtbot.waitUntil(lambda: dialog.filled is not None and len(dialog.filled.parts) == 2, timeout=30_000)
        QTest.keySequence(dialog, QKeySequence(QKeySequence.StandardKey.Redo))
        qtbot.waitUntil(lambda: dialog.filled is not None and len(dialog.filled.parts) == 1, timeout=30_000)
        return True

    dialogs.expect("run", steps)
    listed.sheet_page.list_of_parts.click()
    settle(listed)


def test_closing_asks_about_an_order_and_saves_it(listed, dialogs, files, qtbot):
    assert listed.session.modified
    dialogs.expect("ask", "cancel")
    listed.close()
    assert listed.isVisible() and "plate.svg" in dialogs.asked[0]
    dialogs.expect("ask", "save")
    dialogs.expect("save", files / "club.tain")
    listed.close()
    qtbot.waitUntil(lambda: not listed.isVisible())
    assert load_work(files / "club.tain") == listed.session.order


def test_an_order_undone_to_one_job_is_saved_as_a_job(listed, dialogs, files, settle):
    for target in (True, False):
        if target:
            dialogs.expect("save", files / "club.tain")
        listed.menus.actions["save"].trigger()
        settle(listed)
        assert not listed.session.modified
        assert load_work(files / "club.tain") == listed.session.order
        while listed.session.undo_label is not None:
            listed.session.undo()
    assert load_job(files / "club.tain") == listed.session.job


def test_a_killed_windows_order_comes_back_with_its_steps(make_window, files, home, dialogs, settle):
    home.mkdir(exist_ok=True)
    assert died("list", files / "plate.svg", files / "club.csv")
    window = make_window()
    dialogs.expect("ask", "back")
    window.leaving.offer_recovery(leftovers(home / "recovery"))
    settle(window)
    order = window.session.order
    assert order.rows_off == (3,) and [row.cells[0] for row in order.names.rows] == ["Anna Bérg", "Bo"]
    assert window.session.modified and window.session.undo_label == "Row 3 off"
    window.session.undo()
    assert window.session.order == replace(order, rows_off=())
    settle(window)
