"""Files: the units question, drops, recent files, saving, closing, and input that is no good."""

import threading
import time
from dataclasses import replace

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QRadioButton

from app.session.samples import sample_files
from app.stages.stage import Stage
from core.artwork.drawing import ArtworkSource
from core.artwork.picture_decisions import PictureOptions
from core.job.job import new_job
from core.job.job_file import load_job
from core.output import export as export_module
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

UNSIZED = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 48"><path d="M8 8H40V40H8Z"/></svg>'


def drop(window, path):
    """Drop a file on the window as the desktop does."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    event = QDropEvent(
        QPointF(50, 50), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    window.dropEvent(event)


# --- how large is it? ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "width_mm"), [("px", 25.4), ("mm", 96.0), ("in", 96 * 25.4), ("pt", 96 * 25.4 / 72)])
def test_a_file_that_does_not_say_its_size_is_asked_about(window, tmp_path, dialogs, settle, unit, width_mm):
    art = tmp_path / "unsized.svg"
    art.write_text(UNSIZED, "utf-8")

    def answer(question):
        question.choose(unit)
        return True

    dialogs.expect("run", answer)
    window.files.open(art)
    settle(window)
    assert window.session.plan.drawing.width_mm == pytest.approx(width_mm)
    assert window.session.job.reading.units == unit


def test_the_question_shows_the_size_each_unit_gives(window, tmp_path, dialogs, settle):
    art = tmp_path / "unsized.svg"
    art.write_text(UNSIZED, "utf-8")
    texts = []

    def answer(question):
        texts.extend(one.accessibleName() for one in question.findChildren(QRadioButton))
        return True

    dialogs.expect("run", answer)
    window.files.open(art)
    settle(window)
    assert "Millimetres: 96.0 × 48.0 mm" in texts and "Pixels, 96 an inch: 25.4 × 12.7 mm" in texts


def test_giving_up_the_question_leaves_the_old_job_alone(with_plate, tmp_path, dialogs, settle):
    window = with_plate
    art = tmp_path / "unsized.svg"
    art.write_text(UNSIZED, "utf-8")
    before = window.session.job
    dialogs.expect("run", False)
    window.files.open(art)
    settle(window)
    assert window.session.job is before


def test_a_file_that_says_its_size_is_not_asked_about(with_plate):
    assert with_plate.session.plan.drawing.width_mm == pytest.approx(60)


def test_the_unit_can_be_changed_later(window, tmp_path, dialogs, settle):
    art = tmp_path / "unsized.svg"
    art.write_text(UNSIZED, "utf-8")
    dialogs.expect("run", True)
    window.files.open(art)
    settle(window)
    part(window.pages[Stage.ARTWORK], "One unit of the file is").chosen.emit("mm")
    settle(window)
    assert window.session.plan.drawing.width_mm == pytest.approx(96)
    window.session.undo()
    settle(window)
    assert window.session.plan.drawing.width_mm == pytest.approx(25.4)


# --- drops and recent files ------------------------------------------------------------------------------------------


def test_a_dropped_file_opens(window, plate, settle):
    drop(window, plate)
    settle(window)
    assert window.session.job.source.name == "plate.svg" and window.session.complete


def test_opened_files_are_recent_and_open_again_from_the_menu(with_plate, plate, tmp_path, dialogs, settle):
    window = with_plate
    other = tmp_path / "other.svg"
    other.write_text(plate.read_text("utf-8"), "utf-8")
    window.files.open(other)
    settle(window)
    menu = window.menus.submenus["Open recent"]
    menu.aboutToShow.emit()
    assert [action.text() for action in menu.actions()] == ["other.svg", "plate.svg"]
    menu.actions()[1].trigger()
    settle(window)
    assert window.session.job.source.name == "plate.svg"


def test_recent_files_that_are_gone_are_not_offered(with_plate, plate):
    plate.unlink()
    menu = with_plate.menus.submenus["Open recent"]
    menu.aboutToShow.emit()
    assert [action.text() for action in menu.actions()] == ["No files yet"]


# --- saving ----------------------------------------------------------------------------------------------------------


def test_a_saved_job_opens_as_it_was(with_plate, make_window, tmp_path, dialogs, settle):
    window = with_plate
    window.session.select({window.session.plan.drawing.shapes[0].id})
    window.menus.actions["put guide"].trigger()
    settle(window)
    target = tmp_path / "plate.tain"
    dialogs.expect("save", target)
    window.menus.actions["save"].trigger()
    settle(window)
    assert not window.session.modified and not window.isWindowModified()
    assert window.windowTitle() == "plate.tain[*] – Tain"
    second = make_window()
    second.files.open(target)
    settle(second)
    assert second.session.job == window.session.job and not second.session.modified


def test_saving_again_asks_nothing(with_plate, tmp_path, dialogs, settle):
    window = with_plate
    target = tmp_path / "plate.tain"
    dialogs.expect("save", target)
    window.menus.actions["save"].trigger()
    settle(window)
    window.menus.actions["turn"].trigger()
    settle(window)
    assert window.session.modified
    window.menus.actions["save"].trigger()
    settle(window)
    assert load_job(target) == window.session.job


def test_the_right_ending_is_added(with_plate, tmp_path, dialogs, settle):
    dialogs.expect("save", tmp_path / "plate")
    with_plate.menus.actions["save"].trigger()
    settle(with_plate)
    assert (tmp_path / "plate.tain").is_file()


def test_a_folder_that_can_not_be_written_is_told_and_nothing_is_lost(with_plate, tmp_path, dialogs, settle):
    window = with_plate
    window.menus.actions["turn"].trigger()
    dialogs.expect("save", tmp_path / "no such folder" / "plate.tain")
    dialogs.expect("tell")
    window.menus.actions["save"].trigger()
    settle(window)
    assert "There is no folder" in dialogs.told[0][0] and window.session.modified and window.session.path is None


# --- closing ---------------------------------------------------------------------------------------------------------


def test_closing_asks_about_unsaved_changes(own_plate, tmp_path, dialogs, settle, qtbot):
    window = own_plate
    window.menus.actions["turn"].trigger()
    dialogs.expect("ask", "cancel")
    assert not window.close() and window.isVisible()
    target = tmp_path / "plate.tain"
    dialogs.expect("ask", "save")
    dialogs.expect("save", target)
    window.close()
    qtbot.waitUntil(lambda: not window.isVisible())
    assert load_job(target).source.name == "plate.svg"


def test_closing_without_changes_asks_nothing(own_plate):
    assert own_plate.close()


def test_opening_another_file_asks_about_unsaved_changes_first(with_plate, plate, dialogs, settle):
    window = with_plate
    window.menus.actions["turn"].trigger()
    before = window.session.job
    dialogs.expect("ask", "cancel")
    window.files.open(plate)
    settle(window)
    assert window.session.job is before


# --- input that is no good -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.svg", b""),
        ("cut-short.svg", b'<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm"><path d="M0'),
        ("picture.png", b"\x89PNG\r\n\x1a\n" + bytes(100)),
        ("letter.txt", b"Dear sign maker, please find attached"),
        ("garbage.dxf", bytes(range(256)) * 20),
        ("broken.pdf", b"%PDF-1.7\nnothing that follows makes sense"),
        ("broken.tain", b"PK\x03\x04 not a zip at all"),
        ("unitless-nothing.svg", b"<svg/>"),
    ],
)
def test_bad_files_are_told_in_a_sentence_and_the_job_stays(with_plate, tmp_path, dialogs, settle, name, data):
    window = with_plate
    bad = tmp_path / name
    bad.write_bytes(data)
    before, plan = window.session.job, window.session.plan
    dialogs.expect("tell")
    drop(window, bad)
    settle(window)
    text, _ = dialogs.told[0]
    assert name in text and text.endswith((".", "?")) and "Traceback" not in text
    assert window.session.job is before and window.session.plan is plan


def test_a_missing_file_is_told(window, tmp_path, dialogs, settle):
    dialogs.expect("tell")
    window.files.open(tmp_path / "gone.svg")
    settle(window)
    assert "gone.svg" in dialogs.told[0][0]


def test_other_artwork_in_the_same_job_keeps_sheet_and_recipes(with_plate, tmp_path, plate, dialogs, settle):
    window = with_plate
    window.menus.actions["turn"].trigger()
    other = tmp_path / "revised.svg"
    other.write_text(plate.read_text("utf-8").replace('id="dot"', 'id="eye"'), "utf-8")
    dialogs.expect("open", other)
    window.menus.actions["replace artwork"].trigger()
    settle(window)
    assert window.session.job.source.name == "revised.svg" and window.session.job.turn == "endways"
    window.session.undo()
    settle(window)
    assert window.session.job.source.name == "plate.svg"


def test_escape_stops_the_work_and_f5_takes_it_up_again(with_plate, qtbot, settle):
    window = with_plate
    window.session.commit(window.session.job, "nothing")
    window.menus.actions["turn"].trigger()
    assert window.session.busy
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert window.session.stopped and part(window.status, "Work the job out").isVisible()
    QTest.keyClick(window, Qt.Key.Key_F5)
    settle(window)
    assert window.session.complete


@pytest.fixture
def with_photograph(window, settle):
    """Some 90,000 spans."""
    job = new_job(
        ArtworkSource(name="bay.jpg", data=(sample_files()[0].parents[0] / "pictures" / "bay.jpg").read_bytes())
    )
    picture = PictureOptions(way="screen", bared_is="dark", width_mm=40.0)
    window.session.begin(replace(job, reading=replace(job.reading, picture=picture)))
    settle(window)
    return window


def test_stop_ends_a_big_export_leaves_no_file_and_the_next_one_goes_through(
    with_photograph, tmp_path, dialogs, settle, qtbot
):
    """Stop is pressed while the outlines are written, to either kind of file."""
    window = with_photograph
    for suffix in (".dxf", ".svg"):
        stopped(window, suffix, tmp_path, dialogs, settle, qtbot)
        if not window.session.complete:  # Stop ends all work at hand
            QTest.keyClick(window, Qt.Key.Key_F5)
            settle(window)
    target = tmp_path / "bay.svg"
    dialogs.expect("save", str(target))
    window.files.ask_export(".svg")
    settle(window)
    assert target.stat().st_size > 2e6 and window.session.handed_over


def stopped(window, suffix, tmp_path, dialogs, settle, qtbot):
    target, before = tmp_path / f"bay{suffix}", window.session.job
    assert window.session.complete
    dialogs.expect("save", str(target))
    told = []
    window.files.progressed.connect(lambda share, doing: told.append(doing))
    window.files.ask_export(suffix)
    stop = part(window.status, "Stop working out")
    qtbot.waitUntil(lambda: any("outlines" in one for one in told) and stop.isVisible())
    pressed = time.process_time()
    QTest.mouseClick(stop, Qt.MouseButton.LeftButton)
    settle(window)
    assert time.process_time() - pressed < 10.0  # it waits for the step at hand, on whatever machine
    assert list(tmp_path.glob("bay*")) == [] and not dialogs.unexpected
    assert window.session.job is before and not window.session.handed_over


def test_what_is_being_written_is_not_given_up_for_what_is_asked_next(
    with_plate, plate, settle, dialogs, tmp_path, monkeypatch
):
    """Opening a file while an export was written ended it without a word and without a file."""
    window, gate, write = with_plate, threading.Event(), export_module.export

    def slow(*args, progress, **options):
        gate.wait(20)
        progress(0.5, "outlines")
        return write(*args, progress=progress, **options)

    monkeypatch.setattr(export_module, "export", slow)
    done = []
    window.files.exported.connect(lambda path: done.append(path.name))
    window.files.saved.connect(lambda path: done.append(path.name))
    for name in ("one.svg", "kept.tain"):
        dialogs.expect("save", tmp_path / name)
    window.files.ask_export(".svg")
    window.files.save()
    window.files.open(plate)
    assert window.files.doing == "Exporting one.svg"
    gate.set()
    settle(window)
    assert done == ["one.svg", "kept.tain"] and (tmp_path / "one.svg").exists() and (tmp_path / "kept.tain").exists()
    assert window.session.path is None and window.session.complete  # and the plate is open
