"""Faults of the program: a report and a rescue copy, plain words, no traceback on the screen."""

import threading

import pytest

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
    (rescued,) = (home / "rescue").glob("*.tain")
    assert load_job(rescued) == with_plate.session.job and str(rescued) in said[0]
    (report,) = (home / "reports").glob("*.txt")
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
