"""Artwork that changes on disk: told, read again on a press or by itself, every decision kept, undone in one step."""

import os
import threading

import pytest
from PySide6.QtCore import QFileSystemWatcher, QTimer

from app.errands import living
from core.artwork.sources import load_source
from core.job.decisions import with_new_layer
from core.job.job import with_overrides
from core.plain_file import plain_file_bytes

pytestmark = pytest.mark.usefixtures("shared_window")

STAR = '<circle id="star" cx="52" cy="30" r="3" fill="#000"/>'


def add_star(path, *, by_renaming=False):
    """Save the file anew, as programs do: in place, or beside and renamed."""
    text = path.read_text("utf-8").replace("</svg>", f"{STAR}</svg>").replace('height="12"', 'height="13"', 1)
    if by_renaming:
        beside = path.with_suffix(".tmp")
        beside.write_text(text, "utf-8")
        os.replace(beside, path)
    else:
        path.write_text(text, "utf-8")


def decide(window, settle):
    """The middle rectangle becomes a guide."""
    plan = window.session.plan
    middle = next(shape.id for shape in plan.drawing.shapes if shape.source_id == "middle")
    window.session.commit(with_overrides(window.session.job, [middle], "guide"), "Guide")
    settle(window)


def purpose_of(window, source_id):
    plan = window.session.plan
    return next(plan.layer_of[shape.id] for shape in plan.drawing.shapes if shape.source_id == source_id)


@pytest.mark.parametrize("by_renaming", [False, True])
def test_a_changed_file_is_told_and_read_again_on_a_press(with_plate, plate, settle, qtbot, by_renaming):
    window = with_plate
    decide(window, settle)
    before = window.session.job
    add_star(plate, by_renaming=by_renaming)
    qtbot.waitUntil(lambda: window.banner.isVisible() and "changed on disk" in window.banner.text.text())
    assert window.session.job is before
    window.banner.action.click()
    qtbot.waitUntil(lambda: window.session.job is not before)
    settle(window)
    assert "1 changed, 1 new" in window.banner.text.text()
    assert (purpose_of(window, "middle"), purpose_of(window, "star")) == ("guide", "fill")
    window.session.undo()
    settle(window)
    assert window.session.job == before


def test_it_is_read_again_by_itself_if_so_set_and_the_next_change_too(with_plate, plate, settle, qtbot):
    window = with_plate
    window.menus.actions["read again itself"].trigger()
    decide(window, settle)
    add_star(plate, by_renaming=True)
    qtbot.waitUntil(lambda: window.session.job.source.data == plate.read_bytes())
    settle(window)
    assert purpose_of(window, "middle") == "guide"
    plate.write_text(plate.read_text("utf-8").replace(STAR, ""), "utf-8")
    qtbot.waitUntil(lambda: window.session.job.source.data == plate.read_bytes())
    settle(window)
    assert "1 gone" in window.banner.text.text()


def test_a_file_that_can_not_be_read_leaves_the_job_as_it_is(with_plate, plate, settle, qtbot):
    window = with_plate
    window.menus.actions["read again itself"].trigger()
    before = window.session.job
    plate.write_text("<svg", "utf-8")
    qtbot.waitUntil(lambda: "can't be read" in window.banner.text.text())
    assert window.session.job is before


def test_a_saved_job_follows_the_artwork_beside_it(with_plate, plate, tmp_path, dialogs, settle, qtbot):
    window = with_plate
    dialogs.expect("save", tmp_path / "plate.tain")
    window.files.save()
    settle(window)
    window.files.open(tmp_path / "plate.tain")
    settle(window)
    assert window.living.path == plate and window.menus.actions["read again"].isEnabled()


def test_without_the_file_there_is_nothing_to_read_again(window, with_plate, plate, tmp_path, dialogs, settle):
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    dialogs.expect("save", folder / "plate.tain")
    with_plate.files.save()
    settle(with_plate)
    with_plate.files.open(folder / "plate.tain")
    settle(with_plate)
    assert with_plate.living.path is None and not with_plate.menus.actions["read again"].isEnabled()


def test_other_artwork_in_the_job_keeps_layers_and_decisions(with_plate, plate, tmp_path, dialogs, settle):
    window = with_plate
    middle = next(shape.id for shape in window.session.plan.drawing.shapes if shape.source_id == "middle")
    window.session.commit(with_new_layer(window.session.job, "score", [middle]), "Score")
    settle(window)
    other = tmp_path / "revised.svg"
    other.write_text(plate.read_text("utf-8"), "utf-8")
    add_star(other)
    dialogs.expect("open", other)
    window.menus.actions["replace artwork"].trigger()
    settle(window)
    assert purpose_of(window, "middle") == "score-2"
    assert "1 changed, 1 new" in window.banner.text.text() and window.living.path == other
    window.session.undo()
    settle(window)
    assert window.session.job.source.name == "plate.svg" and window.living.path != other


def test_a_watcher_that_is_let_go_may_still_speak(with_plate):
    """Another file is opened while the old one's folder is written to."""
    window = with_plate
    watcher = window.findChild(QFileSystemWatcher)
    window.living.watch(None)
    watcher.directoryChanged.emit("somewhere")
    assert not window.living.busy


def test_a_window_that_closes_looks_at_no_file_any_more(own_plate, plate, qtbot):
    """A fault was told after Save had closed it: the file written beside the artwork stirs its folder."""
    add_star(plate)
    qtbot.waitUntil(lambda: own_plate.living.busy)
    with qtbot.capture_exceptions() as raised:
        own_plate.close()
        qtbot.waitUntil(lambda: not own_plate.living.busy)
    assert not raised


def test_reading_again_is_not_given_up_for_a_look(with_plate, plate, settle, qtbot, monkeypatch):
    """The program that draws it may save once more while it is read."""
    window, gate, read = with_plate, threading.Event(), []

    def slow(path):
        gate.wait(10)
        return load_source(path)

    monkeypatch.setattr(living, "load_source", slow)
    window.living.reread.connect(lambda path, words: read.append(words))
    add_star(plate)
    qtbot.waitUntil(lambda: "changed on disk" in window.banner.text.text())
    window.living.read_again()
    plate.touch()
    QTimer.singleShot(2 * living.PAUSE_MS, gate.set)
    settle(window)
    assert len(read) == 1 and window.session.job.source.data == plate.read_bytes()


def test_a_look_at_the_artwork_of_before_tells_nothing(with_plate, plate, settle, qtbot, monkeypatch):
    """It was opened anew while the look was under way."""
    window, begun, gate = with_plate, threading.Event(), threading.Event()

    def slow(path):
        begun.set()
        gate.wait(10)
        return plain_file_bytes(path)

    monkeypatch.setattr(living, "plain_file_bytes", slow)
    add_star(plate)
    qtbot.waitUntil(begun.is_set)
    window.files.open(plate)
    qtbot.waitUntil(lambda: window.session.job.source.data == plate.read_bytes())
    gate.set()
    settle(window)
    qtbot.waitUntil(lambda: not window.living.busy)
    assert not window.banner.isVisible()
