"""Dialogs in a language in which all words stand in marks: known words that stand there without went past the door."""

import itertools
import re

import pytest
from PySide6.QtCore import QEvent, Qt, QTranslator
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableView,
    QWidget,
)

from app.qt.captions import CONTEXT, CORE_CONTEXT, GAP, taken_apart
from app.stages.stage import Stage
from app.widgets import messages
from tests.captions import captions
from tests.core_sentences import core_sentences

LEADS_TO_FILES = ("open", "save", "export", "put other", "import", "bring a book")
LEAST_FIXED = 12
"""So many letters of a sentence are fixed, or half of what is seen would be taken for it."""


class BothMarked(QTranslator):
    """Every caption and every sentence of core stands in marks."""

    def isEmpty(self) -> bool:
        return False

    def translate(self, context, source, disambiguation=None, n=-1):
        return f"«{source}»" if context in (CONTEXT, CORE_CONTEXT) else ""


@pytest.fixture
def both_marked(qapp):
    language = BothMarked()
    QApplication.installTranslator(language)
    yield
    QApplication.removeTranslator(language)


class Walker(messages.Dialogs):
    """Reads every dialog and message, presses what leads on in those of the window, and leaves them."""

    def __init__(self, settle) -> None:
        self.read: dict[str, str] = {}
        self.titles: set[str] = set()
        self._settle, self._depth = settle, 0

    def tell(self, parent, title, text, hint):
        self._read(messages.told_box(parent, title, text, hint))

    def ask(self, parent, title, text, hint, answers):
        self._read(messages.asked_box(parent, title, text, hint, answers)[0])
        return next((answer.key for answer in answers if answer.role == "cancel"), answers[0].key)

    def open_file(self, parent, title, folder, filters):
        return ""

    def save_file(self, parent, title, path, filters):
        return ""

    def choose_colour(self, parent, title, colour):
        return ""

    def run(self, dialog: QDialog) -> bool:
        dialog.show()
        self._settle()
        self._read(dialog)
        self._depth += 1
        if self._depth < 2:
            self.press_all(dialog)
        self._depth -= 1
        dialog.done(0)
        return False

    def press_all(self, widget) -> None:
        for button in widget.findChildren(QPushButton):
            text = plain(button.text())
            if text.endswith("…") and button.isVisible() and button.isEnabled() and leads_on(text):
                button.click()
                self._settle()

    def _read(self, widget) -> None:
        self.titles.add(widget.windowTitle())
        for text in texts_in(widget):
            self.read.setdefault(text, widget.windowTitle())


def plain(text: str) -> str:
    return text.replace("&", "").strip("«»")


def leads_on(text: str) -> bool:
    return not text.lower().startswith(LEADS_TO_FILES)


def texts_in(whole: QWidget):
    for one in (whole, *whole.findChildren(QWidget)):
        yield from (one.accessibleName(), one.toolTip(), one.windowTitle() if one.isWindow() else "")
        if isinstance(one, QLabel | QAbstractButton):
            yield one.text()
        elif isinstance(one, QLineEdit):
            yield one.placeholderText()
        elif isinstance(one, QComboBox):
            yield from (one.itemText(place) for place in range(one.count()))
        elif isinstance(one, QAbstractItemView) and (model := one.model()) is not None:
            columns = range(model.columnCount()) if isinstance(one, QTableView) else (0,)
            for row, column in itertools.product(range(min(model.rowCount(), 100)), columns):
                yield str(model.index(row, column).data() or "")
            if isinstance(one, QTableView):
                yield from (str(model.headerData(column, Qt.Orientation.Horizontal) or "") for column in columns)


def patterns(sentences):
    """Sentences with gaps: the longest fixed part of each, and what matches it with any words in it, bare names too."""
    gapped = [re.sub(r"\{[^}]*\}", GAP, one) for one in sentences if "{" in one]
    fixed = [one for one in gapped if sum(map(str.isalpha, one.replace(GAP, ""))) >= LEAST_FIXED]
    return [(max(one.split(GAP), key=len), re.compile("(.+?)".join(map(re.escape, one.split(GAP))))) for one in fixed]


def test_words_in_dialogs_come_through_the_door(both_marked, make_window, plate, settle):
    window = make_window()
    window.files.open(plate)
    settle(window)

    def settled():
        settle(window)
        QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)

    walker = Walker(settled)
    before = messages.use(walker)
    try:
        for stage in Stage:
            window.go_to(stage)
            settled()
            walker.press_all(window.pages[stage])
        for key, action in window.menus.actions.items():
            text = plain(action.text())
            if (text.endswith("…") or key in ("keys", "cautions", "about")) and action.isEnabled() and leads_on(text):
                action.trigger()
                settled()
    finally:
        messages.use(before)
    assert len(walker.titles) >= 18, sorted(walker.titles)
    names = {window.session.job.stock.name, window.session.job.machine.name, "CO2 desktop 40 W"}
    known, core = set(captions()), {one for one in core_sentences() if " " in one}
    with_names = patterns((*known, *core))

    def known_sentence(part):
        return taken_apart(part)[0] in core or any(fixed in part and one.fullmatch(part) for fixed, one in with_names)

    past = []
    for text, title in walker.read.items():
        if "«" in text or text in names:
            continue
        parts = re.split(r"(?<=[.?!])\s+", text.replace("\u00a0", " "))
        if text in known or any(map(known_sentence, parts)):
            past.append(f"{title}: {text}")
    assert past == []
