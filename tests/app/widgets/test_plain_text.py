"""Words from files never become markup: in no label, tooltip, list, table, message, page or calendar."""

import ast
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QAbstractListModel, QModelIndex, Qt
from PySide6.QtGui import Qt as GuiQt
from PySide6.QtWidgets import QAbstractItemView, QApplication, QLabel, QMessageBox

from app.stages.stage import Stage
from app.widgets.plain_text import make_plain, plain_label, plain_tip
from core.finishing.paints import Finishing, starting_paint
from core.sheet.recipes import Origin

EVIL = '<img src="file:///etc/hostname"> <b>bold</b> & <a href="x">y</a>'
APP = Path(__file__).parents[3] / "app"


def shown_as_markup(text: str) -> bool:
    return "<img" in text and GuiQt.mightBeRichText(text)


def rich(widgets):
    """Everything of these widgets that Qt would take for markup."""
    for widget in widgets:
        if shown_as_markup(widget.toolTip()) or shown_as_markup(widget.whatsThis()):
            yield f"tooltip of {widget}"
        plain = not isinstance(widget, QLabel) or widget.textFormat() == Qt.TextFormat.PlainText
        if not plain and shown_as_markup(widget.text()):
            yield f"label {widget.text()}"
        if isinstance(widget, QAbstractItemView) and widget.model() is not None:
            model = widget.model()
            for row in range(model.rowCount(QModelIndex())):
                columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(QModelIndex())
                for column in range(columns):
                    told = model.index(row, column).data(Qt.ItemDataRole.ToolTipRole)
                    if isinstance(told, str) and shown_as_markup(told):
                        yield f"tooltip in {widget}: {told}"


def test_no_widget_takes_a_name_for_markup(with_plate, settle):
    window, job = with_plate, with_plate.session.job
    origin = Origin(kind="measured", note=EVIL)
    layers = tuple(
        replace(layer, name=f"{EVIL} {layer.id}", recipe=replace(layer.recipe, origin=origin)) for layer in job.layers
    )
    paint = replace(starting_paint(f"{EVIL} paint", "#1c1c1c"), note=EVIL, conditions=EVIL)
    window.session.commit(
        replace(
            job,
            source=replace(job.source, name=f"{EVIL}.svg"),
            layers=layers,
            stock=replace(job.stock, name=EVIL, kind=EVIL, coat=EVIL),
            machine=replace(job.machine, name=EVIL),
            finishing=Finishing(paints=(paint,), paint_of_colour=(("#000000", paint.name),)),
        ),
        EVIL,
    )
    settle(window)
    seen = 0
    for stage in Stage:
        window.go_to(stage)
        settle(window)
        QApplication.processEvents()
        widgets = QApplication.allWidgets()
        assert list(rich(widgets)) == []
        seen += sum(EVIL[:20] in getattr(widget, "text", str)() for widget in widgets if isinstance(widget, QLabel))
    assert seen > 10  # the names were there to be looked at


def test_a_message_box_is_plain_in_both_its_texts(qtbot):
    box = QMessageBox(QMessageBox.Icon.Warning, "t", EVIL)
    qtbot.addWidget(box)
    box.setInformativeText(EVIL)
    assert list(rich([box, *box.findChildren(QLabel)]))
    make_plain(box)
    assert list(rich([box, *box.findChildren(QLabel)])) == [] and box.text() == EVIL


def test_the_helpers_show_words_as_they_stand(qtbot):
    label = plain_label(EVIL)
    qtbot.addWidget(label)
    assert label.textFormat() == Qt.TextFormat.PlainText and label.text() == EVIL
    assert plain_tip("600 LPI < 700") == "600 LPI < 700" and "<img" not in plain_tip(EVIL)


def _is_safe(told):
    """Fixed words, a caption of such, one or the other fixed words, or words made plain."""
    if isinstance(told, ast.IfExp):
        return _is_safe(told.body) and _is_safe(told.orelse)
    if isinstance(told, ast.Call) and getattr(told.func, "id", "") == "caption":
        return all(isinstance(words, ast.Constant) for words in told.args)
    return isinstance(told, ast.Constant) or getattr(getattr(told, "func", None), "id", "") == "plain_tip"


def test_labels_and_tooltips_are_made_by_the_helpers_alone():
    found = []
    for path in APP.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            name = getattr(getattr(node, "func", None), "id", getattr(getattr(node, "func", None), "attr", ""))
            if name == "QLabel" and path.name != "plain_text.py":
                found.append(f"QLabel in {path.name}:{node.lineno}")
            if name == "setToolTip":
                found += [] if _is_safe(node.args[0]) else [f"tooltip in {path.name}:{node.lineno}"]
            if name == "QMessageBox" and "make_plain" not in path.read_text("utf-8"):
                found.append(f"QMessageBox in {path.name}:{node.lineno}")
    assert found == []


def test_pages_and_calendar_lines_hold_the_words():
    from datetime import datetime

    from core.finishing.calendar_file import _event
    from core.output.run_sheet.fonts import fonts_for
    from core.output.run_sheet.looks import Style, text

    paragraph = text(EVIL, Style(fonts_for(EVIL)).text)
    assert paragraph.getPlainText() == EVIL
    when = datetime(2026, 1, 1)
    line = _event("a\r\nATTENDEE:x", when, when, when, "b\rc\n\x0bd").to_ical().decode()
    assert "\r\nATTENDEE" not in line and "\x0b" not in line
    assert "SUMMARY:a ATTENDEE:x" in line
