"""The Sheet stage and its dialogs by keyboard alone: from an empty rack to what a job leaves on it."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from core.shop_book.rack import rack_pieces
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import press, tab_to

CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


def keys(dialog, *, until):
    """Show a dialog and run steps that press keys in it; it must have been accepted or rejected by one of them."""
    ended = []
    dialog.finished.connect(ended.append)
    dialog.show()
    dialog.activateWindow()
    QApplication.processEvents()
    until()
    assert ended, "no key ended the dialog"
    return ended[-1] == QDialog.DialogCode.Accepted


def key(window, which):
    window.activateWindow()  # another dialog may have been over it
    press(window, which)


def write(text):
    QTest.keyClicks(QApplication.focusWidget(), text)


def test_from_an_empty_rack_to_what_is_left_of_a_piece(with_plate, dialogs, settle, qtbot):
    window = with_plate

    def idle():
        page = window.sheet_page
        qtbot.waitUntil(
            lambda: not (window.shop.busy or page.placing.busy or page.hinting.busy or window.session.busy),
            timeout=60_000,
        )
        settle(window)

    # a piece is put on the rack
    def new_piece(form):
        def steps():
            write("R1")
            tab_to(form, "Width of the piece")
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_A, CTRL)
            write("200")
            tab_to(form, "Height of the piece")
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_A, CTRL)
            write("120")
            tab_to(form, "Stands at")
            write("shelf 2")
            key(form, Qt.Key.Key_Return)  # the button that keeps it is the default

        return keys(form, until=steps)

    def rack(dialog):
        def steps():
            idle()
            dialogs.answers.insert(0, ("run", new_piece))
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_N, ALT)
            qtbot.waitUntil(lambda: dialog.list.count() == 1)
            key(dialog, Qt.Key.Key_Escape)

        return keys(dialog, until=steps)

    dialogs.expect("run", rack)
    window.menus.actions["rack"].trigger()  # menus by keyboard are Qt's own
    idle()

    # the job is put on it
    window.activateWindow()
    press(window, Qt.Key.Key_3, CTRL)
    press(window, Qt.Key.Key_F7)
    tab_to(window, "Take a piece from the rack…")

    def choose(dialog):
        def steps():
            qtbot.waitUntil(lambda: dialog.put.isEnabled(), timeout=60_000)
            key(dialog, Qt.Key.Key_Return)

        return keys(dialog, until=steps)

    dialogs.expect("run", choose)
    press(window, Qt.Key.Key_Space)
    idle()
    assert window.session.job.sheet.width_mm == 200.0 and window.session.job.piece_id

    # a flaw is noted by numbers, right where the job lies; it is put where the flaw does not show
    def flaw(form):
        def steps():
            write("5,30 100,30")
            tab_to(form, "Kind of flaw")
            key(form, Qt.Key.Key_Down)
            key(form, Qt.Key.Key_Return)

        return keys(form, until=steps)

    window.activateWindow()
    tab_to(window, "Flaws of the sheet")
    press(window, Qt.Key.Key_Space)
    tab_to(window, "Note a flaw by numbers")
    dialogs.expect("run", flaw)
    press(window, Qt.Key.Key_Space)
    idle()
    assert [one.code for one in window.session.plan.findings] == ["flaw-shows"]
    window.activateWindow()
    press(window, Qt.Key.Key_Escape)
    tab_to(window, "Put it to the best place")
    press(window, Qt.Key.Key_Space)
    idle()
    assert window.session.plan.findings == ()

    # moved by the arrow keys over the flaw and back by undo
    press(window, Qt.Key.Key_F6)
    top = window.sheet_page.place_card.top.value()
    press(window, Qt.Key.Key_Up, CTRL)
    idle()
    assert window.sheet_page.place_card.top.value() == top - 1
    press(window, Qt.Key.Key_Z, CTRL)
    idle()

    # noting begins and ends by keys too
    tab_to(window, "Flaws of the sheet")
    press(window, Qt.Key.Key_Space)
    tab_to(window, "Note a line on a face")
    press(window, Qt.Key.Key_Space)
    assert window.sheet_work.noting == "line" and window.faces.hasFocus()
    press(window, Qt.Key.Key_Escape)
    assert window.sheet_work.noting is None

    # done: the rest is on the rack
    def done(dialog):
        def steps():
            key(dialog, Qt.Key.Key_Return)

        return keys(dialog, until=steps)

    dialogs.expect("run", done)
    window.menus.actions["job done"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers, timeout=60_000)
    idle()
    with open_book() as book:
        assert [name for _, name, _ in rack_pieces(book)] == ["R1-a"]
    window.activateWindow()
    tab_to(window, "Undo")
    press(window, Qt.Key.Key_Space)
    idle()
    with open_book() as book:
        assert [name for _, name, _ in rack_pieces(book)] == ["R1"]
