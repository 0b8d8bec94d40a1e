"""All captions go through one door: lupdate collects them, and a translation that is installed is what is seen."""

from xml.etree import ElementTree

import pytest
from PySide6.QtCore import QTranslator
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel

from app.qt.captions import CONTEXT, caption
from app.stages.stage import Stage
from app.window.menus import MENUS, commands_of
from tests.captions import captions, lupdate, write_catalogue


class Marked(QTranslator):
    """A language in which every caption stands in marks."""

    def isEmpty(self) -> bool:
        return False

    def translate(self, context, source, disambiguation=None, n=-1):
        return f"«{source}»" if context == CONTEXT else ""


@pytest.fixture
def marked(qapp):
    language = Marked()
    QApplication.installTranslator(language)
    yield language
    QApplication.removeTranslator(language)


def test_without_a_translation_words_stand_as_they_are():
    assert caption("Go o&n") == "Go o&n" and caption("") == ""


def test_lupdate_makes_a_catalogue_of_all_of_them(tmp_path):
    if not lupdate().exists():
        pytest.skip("pyside6-lupdate is not installed")
    write_catalogue(tmp_path / "tain.ts")
    root = ElementTree.parse(tmp_path / "tain.ts").getroot()
    assert [name.text for name in root.iter("name")] == [CONTEXT]
    sources = {source.text for source in root.iter("source")}
    assert sources == set(captions()) and len(sources) > 500
    assert {text for text, _ in MENUS} < sources
    assert {one.text for _, entries in MENUS for one in commands_of(entries) if one.keys and one.text} - sources <= {
        stage.title for stage in Stage
    }


def test_a_translation_is_seen_in_menus_stages_and_pages(marked, make_window, plate, settle, qtbot):
    window = make_window()
    window.files.open(plate)
    settle(window)
    assert all(action.text().startswith("«") for action in window.menuBar().actions())
    named = [one for key, one in window.menus.actions.items() if key not in ("undo", "redo")]
    assert [one.text() for one in named if not one.text().startswith("«")] == []
    for stage in Stage:
        assert window.rail.button(stage).text() == f"«{stage.title}»"
        window.go_to(stage)
        settle(window)
        page = window.pages[stage]
        titles = [one.text() for one in page.findChildren(QLabel) if one.property("role") == "title"]
        assert f"«{stage.title}»" in titles
        assert page.main_action.text().startswith("«")


def test_most_of_what_a_page_says_in_fixed_words_comes_through_the_door(marked, with_plate, settle):
    """Figures, file names and sentences put together are no captions; what is left may not grow unseen."""
    window, known = with_plate, set(captions())
    for stage in Stage:
        window.go_to(stage)
        settle(window)
        seen = [one for one in window.pages[stage].findChildren(QLabel) if one.isVisible()]
        buttons = [one for one in window.pages[stage].findChildren(QAbstractButton) if one.isVisible()]
        missed = [one.text() for one in (*seen, *buttons) if one.text() in known]
        assert len(missed) <= 2, (stage.title, missed)
