"""How long a page is, what stands behind its doors, and the run sheet at hand-over."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.dialogs.run_sheet_preview import RunSheetPreview
from app.stages.paint.figures import PaintCard
from app.stages.stage import Stage
from tests.windows import wait_until_settled

pytestmark = pytest.mark.usefixtures("shared_window")

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
SIZE_PX = (1280, 800)
MOST_SCREENS = 1.5


@pytest.mark.parametrize("sample", ["crest.svg", "house-number.svg"])
def test_no_page_is_longer_than_one_and_a_half_screens(window, settle, qtbot, sample):
    window.resize(*SIZE_PX)
    window.files.open(SAMPLES / sample)
    settle(window)
    screens = {}
    for stage in Stage:
        window.go_to(stage)
        settle(window)
        work = (window.burn_page.advising, window.paint_page.painting, window.shop)
        qtbot.waitUntil(lambda work=work: not any(one.busy for one in work), timeout=60_000)
        qtbot.wait(1)
        page = window.pages[stage]
        screen = page.front.viewport().height() * SIZE_PX[1] / window.height()  # the tests' screen may be smaller
        screens[stage.title] = round(page.front.content.height() / screen, 2)
    assert {title: length for title, length in screens.items() if length > MOST_SCREENS} == {}


def test_a_room_opens_by_its_door_and_escape_leads_back_to_it(with_plate, qtbot):
    window = with_plate
    window.activateWindow()
    window.go_to(Stage.BURN)
    page = window.burn_page
    (door,) = [one for one in page.findChildren(QPushButton) if one.accessibleName() == page.figures_room.title]
    door.click()
    assert page.seen_part is page.figures_room
    QTest.keyClick(page.figures_room.back, Qt.Key.Key_Escape)
    assert page.seen_part is page.front
    assert QApplication.focusWidget() is door


def test_a_room_opened_at_once_is_furnished(make_window, plate):
    """What lies behind doors is made after the front, one door after the other; who is quicker does not see it bare."""
    window = make_window()
    window.files.open(plate)
    wait_until_settled(window)
    window.go_to(Stage.PAINT)
    page = window.paint_page
    assert not page.furnished
    page.open_room(page.figures_room)
    assert page.furnished and page.figures_room.isAncestorOf(page.findChild(PaintCard))


def test_the_run_sheet_is_shown_at_hand_over_too(with_plate, dialogs, settle, qtbot):
    window = with_plate
    window.go_to(Stage.HAND_OVER)
    settle(window)
    shown = []
    dialogs.expect("run", lambda dialog: shown.append(type(dialog)) or False)
    (button,) = [
        one
        for one in window.hand_over_page.findChildren(QPushButton)
        if one.accessibleName() == "Run sheet of this job"
    ]
    button.click()
    qtbot.waitUntil(lambda: shown == [RunSheetPreview], timeout=60_000)


def test_the_run_sheet_is_made_with_progress_and_can_be_stopped(with_plate, settle, qtbot):
    window = with_plate
    making, told = window.paint_page.painting.making, []
    making.progressed.connect(lambda share, doing: told.append(doing))
    stop = window.menus.actions["stop"]
    making.progressed.connect(lambda *_: stop.trigger())
    window.go_to(Stage.HAND_OVER)
    settle(window)
    window.paint_page.ask_run_sheet()
    qtbot.waitUntil(lambda: bool(told) and not making.busy, timeout=60_000)
    settle(window)  # no preview comes: that would be a dialog that nobody expects
