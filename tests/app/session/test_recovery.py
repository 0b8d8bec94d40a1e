"""Autosave and recovery: a window that dies costs nothing."""

import os
import time
from dataclasses import replace

import pytest

from app.session.recovery import leftovers
from core.job.job_file import load_job, save_job
from tests.app.session.dying_window import died

LOST_AT_MOST_S = 5.0


@pytest.fixture
def autosaved(qtbot):
    """Waits until the window's copy is on disk."""

    def wait(window):
        window.autosave.write_now()
        qtbot.waitUntil(lambda: not window.autosave.busy and window.autosave.file.exists())

    return wait


def test_every_change_is_copied_after_a_moment(with_plate, qtbot, settle):
    window = with_plate
    window.menus.actions["turn"].trigger()
    assert window.autosave.busy
    settle(window)
    qtbot.waitUntil(lambda: not window.autosave.busy, timeout=10_000)
    assert load_job(window.autosave.file) == window.session.job


def test_a_saved_job_leaves_no_copy(with_plate, tmp_path, dialogs, settle, autosaved, qtbot):
    window = with_plate
    autosaved(window)
    dialogs.expect("save", tmp_path / "plate.tain")
    window.menus.actions["save"].trigger()
    settle(window)
    qtbot.waitUntil(lambda: not window.autosave.busy)
    assert not window.autosave.file.exists()


def test_a_living_windows_copy_is_not_offered_to_another(with_plate, autosaved, home):
    autosaved(with_plate)
    assert leftovers(home / "recovery") == []


def test_closing_properly_leaves_nothing(with_plate, autosaved, home):
    autosaved(with_plate)
    with_plate.leaving.give_up_changes()
    with_plate.close()
    assert list((home / "recovery").iterdir()) == []


def test_a_killed_windows_job_is_offered_and_comes_back(make_window, plate, home, dialogs, settle, qtbot):
    home.mkdir(exist_ok=True)
    assert died("turn", plate)
    window = make_window()
    found = leftovers(home / "recovery")
    assert [one.name for one in found] == ["plate.svg"]
    dialogs.expect("ask", "back")
    window.leaving.offer_recovery(found)
    settle(window)
    assert "plate.svg" in dialogs.asked[0]
    assert window.session.job.turn == "endways" and window.session.modified and window.session.complete
    qtbot.waitUntil(lambda: not window.autosave.busy)
    assert leftovers(home / "recovery") == [] and load_job(window.autosave.file) == window.session.job


@pytest.fixture
def left_behind(home, with_plate):
    """A copy that nobody holds."""
    folder = home / "recovery"
    save_job(with_plate.session.job, folder / "abandoned.tain")
    return folder / "abandoned.tain"


@pytest.mark.parametrize(("answer", "stays"), [("later", True), ("drop", False)])
def test_what_is_not_brought_back_stays_or_goes_as_told(with_plate, left_behind, dialogs, answer, stays):
    dialogs.expect("ask", answer)
    with_plate.leaving.offer_recovery([one for one in leftovers(left_behind.parent) if one.file == left_behind])
    assert left_behind.exists() == stays


def test_a_damaged_copy_is_told_and_kept(window, home, dialogs, settle):
    damaged = home / "recovery" / "abandoned.tain"
    damaged.write_bytes(b"not a job")
    dialogs.expect("ask", "back")
    dialogs.expect("tell")
    window.leaving.offer_recovery(leftovers(home / "recovery"))
    settle(window)
    assert damaged.exists() and window.session.job.source is None


def test_a_copy_that_can_not_be_written_is_said(with_plate, qtbot, home):
    window = with_plate
    (home / "recovery").rename(home / "elsewhere")
    (home / "recovery").write_text("a file where the folder was", "utf-8")
    window.autosave.write_now()
    qtbot.waitUntil(lambda: window.banner.isVisible())
    assert "safety copy" in window.banner.text.text()
    (home / "recovery").unlink()
    (home / "elsewhere").rename(home / "recovery")


def test_edits_that_never_pause_do_not_put_the_copy_off(with_plate, qtbot):
    """Changes faster than one a second, for as long as a copy may be late."""
    window = with_plate
    turns, spent_s, written = 0, 0.0, False
    while spent_s < LOST_AT_MOST_S and not written:
        began = time.monotonic()
        turns += 1
        placement = replace(window.session.job.placement, centred=False, x_mm=float(turns))
        window.session.commit(replace(window.session.job, placement=placement), "Moved")
        qtbot.wait(100)
        spent_s += min(time.monotonic() - began, 0.2)  # a machine that stood still meanwhile gave no chance to write
        written = window.autosave.file.exists()
    assert turns > 2 and written  # how many there is time for is the machine's


def test_what_can_be_undone_comes_back_too(with_plate, settle, dialogs, qtbot, home, make_window):
    window = with_plate
    for _ in range(3):
        window.menus.actions["turn"].trigger()
        settle(window)
    labels = [step.label for step in window.session.history.steps]
    window.autosave.write_now()
    qtbot.waitUntil(lambda: not window.autosave.busy)
    copies = {path.suffix: path.read_bytes() for path in (home / "recovery").iterdir() if path.suffix != ".lock"}
    for suffix, data in copies.items():
        (home / "recovery" / f"abandoned{suffix}").write_bytes(data)
    other = make_window()
    dialogs.expect("ask", "back")
    other.leaving.offer_recovery([one for one in leftovers(home / "recovery") if one.file.stem == "abandoned"])
    settle(other)
    assert [step.label for step in other.session.history.steps] == labels
    assert other.session.job == window.session.job
    other.session.undo()
    assert other.session.job.turn != window.session.job.turn


def test_a_copy_is_not_taken_away_before_the_new_one_stands(with_plate, left_behind, home, qtbot):
    window = with_plate
    os.mkdir(window.autosave.file)  # so that writing it fails
    window.autosave.take_over(left_behind)
    qtbot.waitUntil(lambda: not window.autosave.busy)
    assert left_behind.exists()
    os.rmdir(window.autosave.file)
