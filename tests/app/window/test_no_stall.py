"""Nothing that the maker does keeps the window from dealing with events for long.

What counts is processor time of the window's own thread in one burst, so that busy other programs, and the threads that
work beside it, do not. The largest sample; the three large files are in ``tests.benchmarks.bench_stalls``.
"""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication

from app.theme.in_force import apply_theme
from tests.windows import Watchdog, every_action, wait_until_settled

LONGEST_S = 0.1
CREST = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"


@pytest.fixture
def watchdog(qapp: QApplication) -> Iterator[Watchdog]:
    one = Watchdog()
    yield one
    one.off()


def test_the_watchdog_sees_a_stall(make_window, watchdog: Watchdog) -> None:
    window = make_window()
    window.show()
    wait_until_settled(window)

    def stall() -> None:
        until_s = time.thread_time() + 0.15
        while time.thread_time() < until_s:
            pass

    watchdog.do(window, "stall", stall)
    watchdog.do(window, "nothing", lambda: None)
    assert watchdog.longest_s["stall"] > 0.15 > watchdog.longest_s["nothing"]


def test_no_action_on_the_largest_sample_stalls_the_window(make_window, watchdog: Watchdog) -> None:
    window = make_window()
    window.show()
    wait_until_settled(window)
    for words, action in every_action(window, CREST):
        watchdog.do(window, words, action)
    window.session.mark_saved(window.session.order, Path("done.tain"))
    assert len(watchdog.longest_s) > 25
    assert {words: seconds for words, seconds in watchdog.longest_s.items() if seconds > LONGEST_S} == {}


def test_another_theme_is_put_on_each_widget_two_times_or_three(make_window, qapp: QApplication) -> None:
    """Qt polishes a widget once for each that it lies in where one style sheet replaces another: ten times, here."""
    window = make_window()
    window.show()
    window.files.open(CREST)
    wait_until_settled(window)

    class Counting(QObject):
        count = 0

        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            self.count += event.type() == QEvent.Type.StyleChange
            return False

    counting = Counting()
    try:
        for looks in ("dark", "light", "dark"):
            counting.count = 0
            qapp.installEventFilter(counting)
            apply_theme(qapp, looks)
            qapp.removeEventFilter(counting)
            assert 0 < counting.count <= 3 * len(qapp.allWidgets())
    finally:
        apply_theme(qapp, "light")
    window.session.mark_saved(window.session.order, Path("done.tain"))
