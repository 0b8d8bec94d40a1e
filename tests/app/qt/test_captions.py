"""All captions go through one door: lupdate collects them, and a translation that is installed is what is seen."""

import ast
import itertools
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import QTranslator
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QApplication, QLabel, QTableView, QWidget

from app.qt.captions import CONTEXT, CORE_CONTEXT, caption, filled, taken_apart, told
from app.stages.stage import Stage
from app.window.menus import MENUS, commands_of
from tests.captions import APP, NO_CAPTIONS, called, captions, lupdate, write_catalogue
from tests.core_sentences import core_sentences

SAMPLES = Path(__file__).parents[3] / "sample_jobs"


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
    own, core = (
        {source.text for source in found.iter("source")}
        for name in (CONTEXT, CORE_CONTEXT)
        for found in root.iter("context")
        if found.findtext("name") == name
    )
    sources = own
    assert own == set(captions()) and len(own) > 500
    assert core == set(core_sentences()) and len(core) > 1500
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


def test_what_is_put_together_is_translated_before_it_is_filled(marked):
    assert filled("{count} of {all} shapes", count=3, all=7) == "«3 of 7 shapes»"
    assert filled("{share:.0f} % of {name}", share=12.4, name="{braces}") == "«12 % of {braces}»"


SHOWN_BY = {
    "setText", "setToolTip", "setWindowTitle", "setAccessibleName", "setAccessibleDescription", "setPlaceholderText",
    "setTitle", "setInformativeText", "QPushButton", "QCheckBox", "QRadioButton", "QLabel", "QAction", "addButton",
}  # fmt: skip
"""Calls of Qt's that put words on the screen or into a screen reader's mouth."""
HANDED_ON_BY = {
    "words", "plain_label", "plain_tip", "small_button", "step_button", "Card", "row", "say", "tell", "ask", "Answer",
    "EmptyNote", "ChoiceField", "NumberField", "LengthField", "addItem", "QListWidgetItem", "show_main_action",
}  # fmt: skip
"""Calls of ours that pass what they are given through the door; sentences with figures are filled in before."""


def test_no_caption_goes_past_the_door():
    """The source is walked for fixed words handed straight to Qt, or put together before they are looked up."""
    past = [
        f"{path.relative_to(APP)}:{call.lineno} {ast.unparse(value)}"
        for path in sorted(APP.rglob("*.py"))
        if path.relative_to(APP).parts[0] != "commands"
        for call in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(call, ast.Call) and called(call) in SHOWN_BY | HANDED_ON_BY
        for value in shown_values(call)
        if (isinstance(value, ast.JoinedStr) and worded(fixed_of(value)))
        or (called(call) in SHOWN_BY and isinstance(value, ast.Constant) and worded(value.value))
    ]
    assert past == []


def shown_values(call: ast.Call) -> list[ast.expr]:
    """The arguments that are words for people, each branch of a choice for itself."""
    given = [
        *call.args,
        *(one.value for one in call.keywords if one.arg not in NO_CAPTIONS | {"unit", "folder", "filters"}),
    ]
    found: list[ast.expr] = []
    while given:
        value = given.pop()
        if isinstance(value, ast.IfExp):
            given += [value.body, value.orelse]
        elif isinstance(value, ast.BoolOp):
            given += value.values
        else:
            found.append(value)
    return found


def fixed_of(text: ast.JoinedStr) -> str:
    """What of it does not come from figures and names."""
    return " ".join(part.value for part in text.values if isinstance(part, ast.Constant))


def worded(text: object) -> bool:
    """Whether there is a word in it, not only units and signs."""
    return isinstance(text, str) and re.search(r"[A-Za-z]{3,}", text) is not None


# --- words of core ---------------------------------------------------------------------------------------------------


class CoreMarked(Marked):
    """A language in which the sentences of core stand in marks, those of the window as they are."""

    def translate(self, context, source, disambiguation=None, n=-1):
        return f"«{source}»" if context == CORE_CONTEXT else ""


@pytest.fixture
def core_marked(qapp):
    language = CoreMarked()
    QApplication.installTranslator(language)
    yield language
    QApplication.removeTranslator(language)


def test_figures_and_names_are_taken_out_of_a_sentence_and_put_back(qapp):
    class Turned(QTranslator):
        def isEmpty(self):
            return False

        def translate(self, context, source, disambiguation=None, n=-1):
            return {"Layer {} has {} shapes.": "{}: {} Formen.", "Lost {}": "Weg"}.get(source, "")

    language = Turned()
    QApplication.installTranslator(language)
    try:
        assert told("Layer “Tür 3” has 1,200 shapes.") == "“Tür 3”: 1,200 Formen."
        assert told("Unknown. Layer “a” has -0.5 shapes.") == "Unknown. “a”: -0.5 Formen."
        assert told("Lost 5") == "Lost 5", "a translation that loses a figure is none"
        assert told("7.5 mm") == "7.5 mm" and told("") == "" and told("{}") == "{}"
    finally:
        QApplication.removeTranslator(language)


def test_what_a_sentence_is_made_of_is_told_from_what_stands_in_it():
    assert taken_apart("Power: 12.5 to 30 % is clean, now 7\u00a0%.") == (
        "Power: {} to {} % is clean, now {} %.",
        ["12.5", "30", "7"],
    )
    assert taken_apart("CO2 at X5") == ("CO2 at X5", []), "a figure in a name is part of it"


def test_words_of_core_come_through_the_door_on_every_page(core_marked, make_window, settle, qtbot):
    """Whatever of them is seen on a page of faulty artwork is in marks."""
    window = make_window()
    window.files.open(SAMPLES / "faulty-door-sign.svg")
    settle(window)
    sentences = {one for one in core_sentences() if " " in one}
    marked, past = 0, []
    for stage in Stage:
        window.go_to(stage)
        settle(window)
        page = window.pages[stage]
        for text in words_seen(page):
            marked += "«" in text
            pattern = taken_apart(text)[0]
            if "«" not in text and any(part in sentences for part in re.split(r"(?<=[.?!])\s+", pattern)):
                past.append(f"{stage.title}: {text}")
    assert not past, "\n".join(dict.fromkeys(past))
    assert marked > 60


def words_seen(page):
    """All that stands on labels, buttons, in lists and tables of a page and its rooms."""
    for one in page.findChildren(QWidget):
        if isinstance(one, QLabel | QAbstractButton):
            yield one.text()
        elif isinstance(one, QAbstractItemView) and (model := one.model()) is not None:
            columns = range(model.columnCount()) if isinstance(one, QTableView) else (0,)
            for row, column in itertools.product(range(model.rowCount()), columns):
                yield str(model.index(row, column).data() or "")
