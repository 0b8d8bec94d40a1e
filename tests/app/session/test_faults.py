"""Faults of the program: a report and a rescue copy, plain words, no traceback on the screen."""

import threading

import pytest

from app.session.log import log_file, logging_to, steps
from app.session.recovery import leftovers
from core.job.job_file import load_job


@pytest.fixture
def faults(with_plate):
    with_plate.faults.hook()
    yield with_plate.faults
    with_plate.faults.unhook()


def texts(dialog):
    from PySide6.QtWidgets import QLabel

    return " ".join(label.text() for label in dialog.findChildren(QLabel))


def fail():
    raise ZeroDivisionError("division by zero in the middle of it")


def test_a_fault_on_the_gui_thread_is_reported_and_the_job_rescued(with_plate, faults, dialogs, home, qtbot):
    said = []

    def answer(dialog):
        said.append(texts(dialog))
        return False

    dialogs.expect("run", answer)
    from PySide6.QtCore import QTimer

    QTimer.singleShot(0, fail)
    qtbot.waitUntil(lambda: bool(said))
    assert "Traceback" not in said[0] and "ZeroDivisionError" not in said[0]
    (rescued,) = (home / "reports").glob("*.tain")
    assert load_job(rescued) == with_plate.session.job and str(rescued) in said[0]
    (report,) = (home / "reports").glob("*.txt")
    assert rescued.stem == report.stem
    text = report.read_text("utf-8")
    assert "Traceback" in text and "PySide6" in text and "Tain" in text
    assert with_plate.isVisible()


def test_a_fault_on_another_thread_is_told_on_the_gui_thread(faults, dialogs, qtbot):
    threads = []

    def answer(dialog):
        threads.append(threading.current_thread())
        return False

    dialogs.expect("run", answer)
    worker = threading.Thread(target=fail)
    worker.start()
    worker.join()
    qtbot.waitUntil(lambda: bool(threads))
    assert threads == [threading.main_thread()]


def test_closing_after_a_fault_asks_nothing_more(with_plate, faults, dialogs, qtbot):
    dialogs.expect("run", True)
    faults.report(ZeroDivisionError("x"))
    qtbot.waitUntil(lambda: not with_plate.isVisible())


def test_a_fault_in_a_derivation_is_told(make_window, plate, dialogs, qtbot):
    def derive(job, progress):
        fail()
        yield

    told = []
    window = make_window(derive=derive)
    dialogs.expect("run", lambda dialog: told.append(texts(dialog)))
    window.faults.hook()
    try:
        window.files.open(plate)
        qtbot.waitUntil(lambda: bool(told))
    finally:
        window.faults.unhook()
    assert "not your doing" in told[0] and window.session.job.source is not None


def test_what_a_report_holds_is_read_before_it_can_be_copied(with_plate, faults, dialogs, qtbot):
    from PySide6.QtGui import QGuiApplication
    from PySide6.QtWidgets import QPlainTextEdit, QPushButton

    QGuiApplication.clipboard().setText("what was there")
    shown = []

    def answer(dialog):
        dialog.show()
        look = dialog.findChild(QPushButton, "look at the report")
        copy = dialog.findChild(QPushButton, "copy the report")
        assert not copy.isVisible() and QGuiApplication.clipboard().text() == "what was there"
        look.click()
        text = dialog.findChild(QPlainTextEdit, "report")
        assert text.isVisible() and copy.isVisible()
        copy.click()
        shown.append(text.toPlainText())
        return False

    dialogs.expect("run", answer)
    faults.report(ZeroDivisionError("x"))
    qtbot.waitUntil(lambda: bool(shown))
    assert QGuiApplication.clipboard().text() == shown[0] and "ZeroDivisionError" in shown[0]


def test_a_report_names_no_home_folder_and_tells_the_last_steps(
    with_plate, home, dialogs, qtbot, tmp_path, monkeypatch
):
    monkeypatch.setenv("HOME", "/home/gertrude")
    with logging_to(home):
        with_plate.menus.actions["turn"].trigger()
        told = []
        with_plate.faults.happened.connect(lambda fault: told.append(fault.report))
        dialogs.expect("run", False)
        with_plate.faults.report(OSError("/home/gertrude/signs/a.svg and /media/Gertrude/stick"))
        qtbot.waitUntil(lambda: dialogs.answers == [])
    assert "gertrude" not in told[0].lower() and "~/signs/a.svg" in told[0]
    assert "Menu: Turn the sheet over the other way" in told[0] and "Turn endways" in told[0]
    log = log_file(home).read_text("utf-8")
    assert "Tain begins. Tain 0" in log and "Qt " in log and "Turn endways" in log and "gertrude" not in log.lower()


def test_the_log_begins_anew_before_it_grows_large(home, monkeypatch):
    home.mkdir()
    monkeypatch.setattr("app.session.log.MOST_BYTES", 5000)
    with logging_to(home):
        for number in range(400):
            steps.info("Step %d of many", number)
    names = sorted(path.name for path in home.glob("tain.log*"))
    assert names == ["tain.log", "tain.log.1", "tain.log.2", "tain.log.3"]
    assert all(path.stat().st_size < 6000 for path in home.glob("tain.log*"))


def test_a_fault_that_comes_again_and_again_is_reported_once(with_plate, home, dialogs, qtbot):
    dialogs.expect("run", False)
    error = ZeroDivisionError("in every painting")
    for _ in range(20):
        with_plate.faults.report(error)
    qtbot.waitUntil(lambda: dialogs.answers == [])
    assert len(list((home / "reports").glob("*.txt"))) == 1


def test_closing_after_a_fault_leaves_unsaved_work_to_be_offered_back(with_plate, faults, dialogs, qtbot, home):
    with_plate.menus.actions["turn"].trigger()
    job = with_plate.session.job
    dialogs.expect("run", True)
    faults.report(ZeroDivisionError("x"))
    qtbot.waitUntil(lambda: not with_plate.isVisible())
    (left,) = leftovers(home / "recovery")
    assert load_job(left.file) == job


def test_closing_after_a_fault_asks_where_no_copy_could_be_made(with_plate, faults, dialogs, qtbot, home):
    (home / "reports").write_text("a file where the folder should be", "utf-8")
    with_plate.menus.actions["turn"].trigger()
    dialogs.expect("run", True)
    dialogs.expect("ask", "cancel")
    faults.report(ZeroDivisionError("x"))
    qtbot.waitUntil(lambda: dialogs.answers == [])
    assert with_plate.isVisible() and with_plate.session.modified
