"""A second start hands its file to the first; each file has a window of its own; windows come and go alone."""

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtNetwork import QLocalSocket
from PySide6.QtWidgets import QApplication

from app.window.main_window import MainWindow
from app.window.meeting_place import LONGEST_SOCKET_NAME, meeting_place, somebody_may_be_there
from app.window.one_instance import Listener, handed_over
from app.window.start import new_window, run_window
from app.window.windows import Windows
from tests.windows import be_rid_of, wait_until


@pytest.fixture
def windows(home, qapp):
    some = Windows(home, new_window, qapp)
    yield some
    while some.all:
        be_rid_of(some.all.pop())
    some.deleteLater()


def second_start(home: Path, file: Path | None) -> subprocess.Popen:
    """Another process that does what a second start does first."""
    wish = f"Path({str(file)!r})" if file else "None"
    code = (
        "import sys; from pathlib import Path; from PySide6.QtCore import QCoreApplication\n"
        "app = QCoreApplication([])\nfrom app.window.one_instance import handed_over\n"
        f"sys.exit(0 if handed_over(Path({str(home)!r}), {wish}) else 3)"
    )
    return subprocess.Popen([sys.executable, "-c", code])


def test_a_second_start_opens_its_file_here_in_a_window_of_its_own(windows, home, plate, tmp_path, settle):
    other = tmp_path / "other.svg"
    other.write_text(plate.read_text("utf-8"), "utf-8")
    first = windows.open_first(plate)
    wait_until(lambda: first.session.complete)
    listener = Listener(home, windows.open, windows)
    assert listener.hears and somebody_may_be_there(home)
    started = second_start(home, other)
    wait_until(lambda: len(windows.all) == 2 and windows.all[1].session.complete)
    assert started.wait(10) == 0
    assert [one.session.job.source.name for one in windows.all] == ["plate.svg", "other.svg"]
    assert windows.all[1].pos() != first.pos()
    listener.close()
    assert second_start(home, other).wait(20) == 3, "nobody hears any more"


def test_a_file_that_is_open_comes_to_the_front_and_an_empty_window_is_used(windows, plate, settle):
    first = windows.open_first(None)
    settle(first)
    assert windows.open(plate) is first
    settle(first)
    assert first.session.complete
    assert windows.open(plate) is first and len(windows.all) == 1
    second = windows.open(None)
    assert second is not first and windows.open(None) is second


def test_a_window_that_is_closed_goes_and_leaves_the_others(windows, plate, settle, qtbot):
    first = windows.open_first(plate)
    wait_until(lambda: first.session.complete)
    second = windows.open(None)
    settle(second)
    second.close()
    qtbot.waitUntil(lambda: windows.all == [first])
    assert first.isVisible() and first.session.complete


def test_nonsense_on_the_line_opens_an_empty_window_at_most(windows, home, settle, qtbot):
    first = windows.open_first(None)
    settle(first)
    listener = Listener(home, windows.open, windows)
    for said in (b"[1, 2]\n", b'{"file": 7}\n', b"\xff\xfe\n", b"x" * 100_000):
        socket = QLocalSocket()
        socket.connectToServer(meeting_place(home))
        assert socket.waitForConnected(1000)
        socket.write(said)
        socket.flush()
        QApplication.processEvents()
        qtbot.wait(10)
        socket.abort()
    assert windows.all == [first] and first.session.job.source is None
    listener.close()


def test_what_a_crash_left_on_the_spot_is_taken_over(windows, home):
    home.mkdir(parents=True, exist_ok=True)
    Path(meeting_place(home)).touch()
    assert not handed_over(home, None)
    listener = Listener(home, windows.open, windows)
    assert listener.hears
    listener.close()


def test_a_data_folder_deep_down_has_a_short_meeting_place(tmp_path):
    deep = tmp_path / ("x" * 60) / ("y" * 60)
    assert len(meeting_place(deep)) <= LONGEST_SOCKET_NAME < len(str(deep))
    assert meeting_place(deep) != meeting_place(deep / "z")


def test_the_whole_program_listens_while_it_runs_and_not_after(home, plate, qtbot):
    seen = []

    def look():
        shown = [one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow) and one.isVisible()]
        if not seen and shown and somebody_may_be_there(home):
            seen.append(second_start(home, plate))
        if any(one.session.complete for one in shown):
            for one in shown:
                one.leaving.give_up_changes()
                one.close()

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(20)
    assert run_window(None) == 0
    timer.stop()
    assert seen and seen[0].wait() == 0
    assert not somebody_may_be_there(home)
