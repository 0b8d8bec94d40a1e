"""High pages are not left empty: rooms lie open below the front, plot and lists are larger, the page is wider."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.stages.stage import Stage

pytestmark = pytest.mark.usefixtures("shared_window")

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
SMALL, WIDE, WIDEST = (1280, 800), (1920, 1080), (2560, 1440)
LEAST_USED = 0.55
"""Of a page's height on the widest screen, with a small job open."""


def shown_at(window, size, stage, settle, qtbot):
    window.resize(*size)
    window.go_to(stage)
    settle(window)
    work = (window.burn_page.advising, window.paint_page.painting, window.shop)
    qtbot.waitUntil(lambda: not any(one.busy for one in work), timeout=60_000)
    qtbot.wait(1)
    return window.pages[stage]


@pytest.fixture
def with_crest(window, settle):
    window.files.open(SAMPLES / "crest.svg")
    settle(window)
    return window


def used_px(page):
    """Down to where the last of what is seen ends."""
    parts = (page.front, *page.open_rooms)
    ends = [one.mapTo(page, one.rect().bottomLeft()).y() for part in parts for one in leaves(part.content)]
    return max(ends)


def leaves(content):
    return [one for one in content.children() if one.isWidgetType() and one.isVisible()]


@pytest.mark.parametrize("stage", [Stage.BURN, Stage.COVERAGE, Stage.HAND_OVER, Stage.PAINT, Stage.SHEET])
def test_rooms_lie_open_where_the_page_is_high(with_crest, settle, qtbot, stage):
    page = shown_at(with_crest, SMALL, stage, settle, qtbot)
    assert page.open_rooms == ()
    page = shown_at(with_crest, WIDEST, stage, settle, qtbot)
    assert page.open_rooms
    for room in page.open_rooms:
        assert room.isVisible() and not room.back.isVisible()
        doors = [one for one in page.findChildren(QPushButton) if one.property("role") == "door" and one.isVisible()]
        assert room.title not in [one.accessibleName() for one in doors]
    assert used_px(page) >= LEAST_USED * page.height()
    front = page.front
    assert front.verticalScrollBar().maximum() == 0, "nothing of the front is given away for it"
    assert not front.verticalScrollBar().isVisible()
    page = shown_at(with_crest, SMALL, stage, settle, qtbot)
    assert page.open_rooms == ()


def test_the_keys_go_through_open_rooms_too(with_crest, settle, qtbot):
    window = with_crest
    window.activateWindow()
    page = shown_at(window, WIDEST, Stage.SHEET, settle, qtbot)
    room = page.open_rooms[0]
    page.open_room(room)
    focused = QApplication.focusWidget()
    assert room.isAncestorOf(focused) and focused in page.tab_stops()
    QTest.keyClick(focused, Qt.Key.Key_Escape)
    assert page.seen_part is page.front and room.isVisible(), "Escape leads out of rooms that are alone only"


def test_plot_and_page_are_larger_on_a_wide_screen(with_crest, settle, qtbot):
    window = with_crest
    page = shown_at(window, SMALL, Stage.BURN, settle, qtbot)
    (card,) = page.advice_cards.values()
    small = card.plot.size()
    page = shown_at(window, WIDEST, Stage.BURN, settle, qtbot)
    assert card.plot.width() >= 1.4 * small.width() and card.plot.height() >= 1.4 * small.height()


def test_the_maker_has_the_page_as_wide_as_drawn(with_crest, settle, qtbot):
    window = with_crest
    window.settings.set("page_width", 500)
    page = shown_at(window, WIDE, Stage.BURN, settle, qtbot)
    assert page.width() == 500
    page = shown_at(window, WIDEST, Stage.BURN, settle, qtbot)
    assert page.width() == 500
    window.settings.set("page_width", 0)


def test_the_account_lies_open_on_a_high_page_until_the_maker_folds_it(with_crest, settle, qtbot):
    page = shown_at(with_crest, SMALL, Stage.ARTWORK, settle, qtbot)
    (turn,) = [one for one in page.findChildren(QPushButton) if "of shapes with its reason" in one.accessibleName()]
    assert turn.text() == "Show each group"
    shown_at(with_crest, WIDE, Stage.ARTWORK, settle, qtbot)
    assert turn.text() == "Hide the groups"
    turn.click()
    shown_at(with_crest, SMALL, Stage.ARTWORK, settle, qtbot)
    shown_at(with_crest, WIDE, Stage.ARTWORK, settle, qtbot)
    assert turn.text() == "Show each group"
