"""The program starts and ends, and a window comes up as the last one was left."""

import gc
import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.window.main_window import MainWindow
from app.window.start import run_window

FAULTY = Path(__file__).parents[3] / "sample_jobs" / "faulty-door-sign.svg"


def test_the_program_starts_opens_the_named_file_and_ends(plate, qtbot, monkeypatch):
    seen = []

    def look():
        shown = [one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow) and one.isVisible()]
        for window in shown:
            if not window.session.complete:
                continue
            seen.append(window.session.job.source.name)
            window.leaving.give_up_changes()
            window.close()

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(20)
    monkeypatch.setattr(sys, "setswitchinterval", lambda interval_s: None)  # it is the whole process's
    assert run_window(str(plate)) == 0
    timer.stop()
    assert seen == ["plate.svg"]
    assert not gc.isenabled()  # as before: it would take widgets apart on whatever thread it ran


def test_the_page_can_be_hidden_and_stays_so(own_plate, make_window):
    window = own_plate
    window.menus.actions["page"].trigger()
    assert not window.pages[window.stage].isVisible()
    again = make_window()
    assert not again.pages[again.stage].isVisible()


def test_the_height_of_the_list_of_findings_is_remembered(make_window, settle, qtbot):
    window = make_window()
    window.resize(1200, 800)
    window.settings.set("findings_shown", True)
    window.files.open(FAULTY)
    settle(window)
    splitter = window.findings.parentWidget()
    splitter.setSizes([splitter.height() - 260, 260])
    qtbot.wait(1)
    tall = window.findings.height()
    assert tall > 200
    window.leaving.give_up_changes()
    window.close()
    again = make_window()
    again.resize(1200, 800)
    again.files.open(FAULTY)
    settle(again)
    qtbot.waitUntil(lambda: abs(again.findings.height() - tall) <= 8)


def test_the_window_comes_back_as_it_was_left(make_window):
    first = make_window()
    first.resize(770, 640)  # the screen of the tests is small
    first.close()
    second = make_window()
    assert (second.width(), second.height()) == (770, 640)


def test_a_damaged_settings_file_costs_habits_not_the_start(home, make_window):
    home.mkdir(exist_ok=True)
    (home / "window.ini").write_text("[window]\nunits=parsec\npage_shown=perhaps\npage_width=wide\n", "utf-8")
    window = make_window()
    assert window.settings.get("units") == "mm" and window.settings.get("page_shown") is True
