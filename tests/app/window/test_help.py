"""Help to read without a browser: F1 opens that of the page at hand, searchable, with pictures that are there."""

import re

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QImage, QTextDocument
from PySide6.QtTest import QTest

from app.help.page_texts import FOLDER, help_pages, page_of_stage, search
from app.stages.stage import Stage
from app.window.menus import MENUS, commands_of

pytestmark = pytest.mark.usefixtures("shared_window")


def test_every_stage_has_its_page_and_every_page_its_title():
    keys = [page.key for page in help_pages()]
    assert {page_of_stage(stage.value) for stage in Stage} < set(keys)
    assert len({page.title for page in help_pages()}) == len(keys)
    assert {file.stem for file in FOLDER.glob("*.html")} == set(keys)


def test_links_and_pictures_lead_somewhere_and_nowhere_else():
    for page in help_pages():
        links = re.findall(r'href="([^"]*)"', page.markup)
        pictures = re.findall(r'src="([^"]*)"', page.markup)
        assert all((FOLDER / link).is_file() and link.endswith(".html") for link in links), page.key
        assert all(not QImage(str(FOLDER / picture)).isNull() for picture in pictures), page.key
        assert page.key == "shop" or pictures


def test_the_keys_that_help_names_are_the_commands_keys():
    known = {keys for _, entries in MENUS for one in commands_of(entries) for keys in (one.keys, one.also) if keys}
    known |= {"Ctrl", "Shift", "Space", "Enter", ".tain"}
    for page in help_pages():
        named = re.findall(r"<b>((?:Ctrl|Shift|F\d|[A-Z]\b)[^<]*)</b>", page.markup)
        assert [keys for keys in named if len(keys) < 16 and " " not in keys and keys not in known | TITLES] == []


TITLES = {"Front", "Fill", "Cut", "Score", "Guide", "Stock", "Piece", "Turn", "Place", "Flaws", "Pitch", "Rack"}
TITLES |= {"Recipes", "Coupons", "Copies", "Spill", "Left-over"}


@pytest.mark.parametrize("stage", list(Stage))
def test_f1_opens_the_page_at_hand_and_stays_beside_the_window(with_plate, stage):
    window = with_plate
    window.go_to(stage)
    QTest.keyClick(window, Qt.Key.Key_F1)
    reader = window.guidance.reader
    assert reader.isVisible() and not reader.isModal()
    assert reader.page == page_of_stage(stage.value)
    assert reader.browser.toPlainText().startswith(stage.title)


def test_an_empty_window_is_told_how_to_begin(window):
    window.menus.actions["help"].trigger()
    assert window.guidance.reader.page == "start"


def test_pictures_are_as_wide_as_the_page_at_most_and_other_files_are_not_opened(window):
    window.menus.actions["help"].trigger()
    browser = window.guidance.reader.browser
    kind = QTextDocument.ResourceType.ImageResource.value
    picture = browser.loadResource(kind, QUrl("start.png"))
    assert 200 <= picture.width() / picture.devicePixelRatio() <= browser.viewport().width()
    for strange in ("/etc/hostname", "../pages/start.png", "file:///etc/hostname", "https://example.org/a.png"):
        assert browser.loadResource(kind, QUrl(strange)) is None


def test_the_search_finds_all_the_words_and_shows_the_place(window):
    window.menus.actions["help"].trigger()
    reader = window.guidance.reader
    reader.wanted.setText("scratches flaws")
    listed = [reader.list.item(row).text() for row in range(reader.list.count())]
    assert any(text.startswith("Sheet\n") and "flaws" in text.lower() for text in listed)
    assert reader.browser.textCursor().selectedText().lower() == "scratches"
    reader.wanted.setText("no such words anywhere")
    assert reader.list.count() == 0 and reader.nothing.isVisible()
    reader.wanted.clear()
    assert reader.list.count() == len(help_pages())


def test_a_title_counts_more_than_a_word_in_passing():
    assert search("paint")[0].page.key == "paint"
    assert search("coverage")[0].page.key == "coverage"
    assert search("") and search("")[0].snippet == ""


def test_a_link_leads_to_its_page_though_a_search_hides_it(window):
    window.menus.actions["help"].trigger()
    reader = window.guidance.reader
    reader.wanted.setText("undone")
    reader.browser.anchorClicked.emit(QUrl("faces.html"))
    assert reader.page == "faces" and reader.wanted.text() == ""
