"""Closing: asked when something would be lost, does what was said, and asks again after any later change."""

import threading

import pytest
from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from app.widgets import messages
from core.job.decisions import with_stop_corner
from core.job.job_file import load_job
from core.output import export as export_module
from tests.windows import wait_until


def by_menu(window):
    window.menus.actions["quit"].trigger()


def by_key(window):
    window.activateWindow()
    wait_until(window.isActiveWindow)
    QTest.keySequence(window, QKeySequence(window.menus.actions["quit"].shortcut()))


def by_title_bar(window):
    window.windowHandle().close()


class Ending:
    """A desktop's session that ends, as Qt tells of it."""

    def __init__(self) -> None:
        self.cancelled = False

    def allowsInteraction(self) -> bool:
        return True

    def cancel(self) -> None:
        self.cancelled = True

    def release(self) -> None:
        pass


WAYS = [by_menu, by_key, by_title_bar]


@pytest.fixture
def changed(with_plate, settle):
    with_plate.menus.actions["turn"].trigger()
    settle(with_plate)
    return with_plate


def test_do_not_save_closes_at_once(changed, dialogs, qtbot):
    dialogs.expect("ask", "discard")
    changed.close()
    qtbot.waitUntil(lambda: not changed.isVisible())
    assert not changed.autosave.file.exists()


def test_cancel_keeps_it_open_and_it_asks_again(changed, dialogs):
    for times, way in enumerate((*WAYS, *WAYS), start=1):
        dialogs.expect("ask", "cancel")
        way(changed)
        assert changed.isVisible() and len(dialogs.asked) == times


def test_save_saves_then_closes(changed, dialogs, qtbot, tmp_path):
    dialogs.expect("ask", "save")
    dialogs.expect("save", tmp_path / "kept.tain")
    changed.close()
    qtbot.waitUntil(lambda: not changed.isVisible())
    assert (tmp_path / "kept.tain").exists()


def test_nothing_unsaved_is_not_asked_about(window):
    assert window.close() and not window.isVisible()


def test_a_change_after_do_not_save_is_asked_about(changed, dialogs, settle):
    changed.leaving.give_up_changes()
    changed.session.commit(with_stop_corner(changed.session.job, "bottom right"), "Stop")
    settle(changed)
    dialogs.expect("ask", "cancel")
    assert not changed.close() and changed.isVisible()


def test_saving_that_fails_keeps_it_open(changed, dialogs, qtbot, tmp_path, settle):
    dialogs.expect("ask", "save")
    dialogs.expect("save", tmp_path / "nowhere" / "kept.tain")
    dialogs.expect("tell")
    changed.close()
    settle(changed)
    qtbot.waitUntil(lambda: bool(dialogs.told))
    assert changed.isVisible() and changed.session.modified


@pytest.mark.parametrize(("answer", "stopped"), [("discard", False), ("cancel", True)])
def test_a_session_that_ends_asks_too(changed, dialogs, answer, stopped):
    dialogs.expect("ask", answer)
    ending = Ending()
    changed.leaving.session_ends(ending)
    assert ending.cancelled == stopped
    if not stopped:
        assert changed.close()


def test_a_session_that_ends_with_nothing_unsaved_goes_on(window):
    ending = Ending()
    window.leaving.session_ends(ending)
    assert not ending.cancelled


def test_a_session_that_ends_waits_until_it_is_saved(changed, dialogs, tmp_path):
    dialogs.expect("ask", "save")
    dialogs.expect("save", tmp_path / "kept.tain")
    ending = Ending()
    changed.leaving.session_ends(ending)
    assert not ending.cancelled and load_job(tmp_path / "kept.tain") == changed.session.job


def test_a_session_does_not_end_where_saving_was_given_up(changed, dialogs):
    dialogs.expect("ask", "save")
    dialogs.expect("save", "")
    ending = Ending()
    changed.leaving.session_ends(ending)
    assert ending.cancelled


def test_a_session_that_lets_nobody_ask_leaves_the_copy_on_disk_at_once(changed, monkeypatch):
    monkeypatch.setattr(Ending, "allowsInteraction", lambda self: False)
    changed.leaving.session_ends(Ending())
    assert load_job(changed.autosave.file) == changed.session.job


def pressed_in_the_box(changed, way, press, closes):
    """The program's own loop runs, the box is the one on the screen, its button is pressed."""
    pressed = []

    def look():
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            (button,) = [one for one in box.buttons() if one.text().replace("&", "") == press]
            pressed.append(press)
            button.click()
            QTimer.singleShot(0 if closes else 100, looks.stop)

    looks = QTimer()
    looks.timeout.connect(look)
    looks.start(10)
    before = messages.use(messages.Dialogs())
    QTimer.singleShot(0, lambda: way(changed))
    loop = QEventLoop()
    ends = QTimer()
    ends.timeout.connect(lambda: loop.quit() if pressed and (not changed.isVisible() or not closes) else None)
    ends.start(20)
    QTimer.singleShot(20_000, loop.quit)
    loop.exec()
    messages.use(before)
    return pressed


@pytest.fixture
def changed_and_kept(changed, tmp_path):
    """Work with a file that it can be saved to, changed since."""
    changed.session.mark_saved(changed.session.order, tmp_path / "kept.tain")
    changed.menus.actions["turn"].trigger()
    return changed


@pytest.mark.parametrize(("press", "closes"), [("Don't save", True), ("Cancel", False), ("Save", True)])
@pytest.mark.parametrize("way", WAYS)
def test_with_real_boxes_in_the_real_event_loop(changed_and_kept, dialogs, tmp_path, way, press, closes):
    window = changed_and_kept
    assert pressed_in_the_box(window, way, press, closes=closes) == [press] and window.isVisible() != closes
    assert (tmp_path / "kept.tain").exists() == (press == "Save")
    assert not closes or not window.autosave.file.exists()


def test_what_is_changed_while_a_file_is_read_is_asked_about(changed, dialogs, plate, settle):
    """Opening asked about what was there then; what came since is not thrown away unasked."""
    dialogs.expect("ask", "discard")
    changed.files.open(plate)
    changed.session.commit(with_stop_corner(changed.session.job, "bottom right"), "Stop")
    job = changed.session.job
    dialogs.expect("ask", "cancel")
    settle(changed)
    assert changed.session.job == job and len(dialogs.asked) == 2


@pytest.fixture
def held(with_plate, monkeypatch):
    """The window, and what lets its exports go on."""
    gate, write = threading.Event(), export_module.export

    def slow(plan, path, **options):
        gate.wait(20)
        return write(plan, path, **options)

    monkeypatch.setattr(export_module, "export", slow)
    yield with_plate, gate
    gate.set()


def test_a_window_closes_once_all_that_was_asked_for_is_written(held, dialogs, tmp_path, qtbot):
    """What had not begun when it closed was never written."""
    window, gate = held
    for name in ("one.svg", "two.svg"):
        dialogs.expect("save", tmp_path / name)
        window.files.ask_export(".svg")
    window.close()
    assert window.isVisible()
    gate.set()
    qtbot.waitUntil(lambda: not window.isVisible(), timeout=30_000)
    assert (tmp_path / "one.svg").exists() and (tmp_path / "two.svg").exists()


def test_a_window_waits_for_what_is_written_after_a_reading_too(held, dialogs, tmp_path, plate, qtbot):
    window, gate = held
    dialogs.expect("save", tmp_path / "one.svg")
    window.files.ask_export(".svg")
    window.files.open(plate)
    dialogs.expect("save", tmp_path / "two.svg")
    window.files.ask_export(".svg")
    window.close()
    gate.set()
    qtbot.waitUntil(lambda: not window.isVisible(), timeout=30_000)
    assert (tmp_path / "one.svg").exists() and (tmp_path / "two.svg").exists()


def test_a_session_that_ends_waits_until_all_is_written(held, dialogs, tmp_path):
    window, gate = held
    for name in ("one.svg", "two.svg"):
        dialogs.expect("save", tmp_path / name)
        window.files.ask_export(".svg")
    QTimer.singleShot(0, gate.set)
    window.leaving.session_ends(Ending())
    assert (tmp_path / "one.svg").exists() and (tmp_path / "two.svg").exists()


def test_a_window_stays_where_what_it_was_to_write_fails(held, dialogs, tmp_path, settle):
    window, gate = held
    dialogs.expect("save", tmp_path / "gone" / "one.svg")
    window.files.ask_export(".svg")
    dialogs.expect("tell")
    window.close()
    gate.set()
    settle(window)
    assert window.isVisible() and len(dialogs.told) == 1


def test_stop_keeps_a_window_that_waits_to_close(held, dialogs, tmp_path, settle):
    window, gate = held
    dialogs.expect("save", tmp_path / "one.svg")
    window.files.ask_export(".svg")
    window.close()
    window.files.stop()
    gate.set()
    settle(window)
    assert window.isVisible()
