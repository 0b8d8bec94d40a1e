"""Another theme: every widget of before looks as one made after, hidden ones take their colours up a few at a time."""

from collections.abc import Iterator
from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QFrame,
    QLabel,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QSlider,
    QSpinBox,
    QStackedWidget,
    QTableWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.theme.in_force import apply_theme
from app.theme.polishing import A_TURN, all_took_it_up
from app.theme.roles import CARRIERS
from app.theme.theme import CONTRAST, DARK, LIGHT, Theme
from tests.windows import wait_until

THEMES = {"dark": DARK, "contrast": CONTRAST, "light": LIGHT}
BUTTONS = ("", "main", "door", "danger", "plain", "segment", "tile", "step")


@pytest.fixture(autouse=True)
def light_again(qapp: QApplication) -> Iterator[None]:
    yield
    apply_theme(qapp, "light")
    wait_until(all_took_it_up)


def one_of_each() -> QWidget:
    """What the window is made of, as it is, chosen and disabled."""
    whole = QFrame()
    whole.setProperty("role", "page")
    layout = QVBoxLayout(whole)
    for role in ("", "title", "heading", "quiet", "figure", "refusal", "problem", "warning", "done"):
        layout.addWidget(with_role(QLabel(f"Words of {role}"), role))
    for role in ("foot", "rail", "bar", "strip", "plate", "card", "banner"):
        layout.addWidget(with_role(QFrame(minimumHeight=12), role))
    for enabled in (True, False):
        buttons = [with_role(QPushButton("Press"), role) for role in BUTTONS]
        buttons += [with_role(QToolButton(text="Press"), role) for role in BUTTONS]
        for button in buttons:
            button.setCheckable(True)
            button.setChecked(len(button.property("role")) % 2 == 0)
        fields = [
            QLineEdit("14 mm"),
            QSpinBox(),
            QComboBox(),
            QPlainTextEdit("Words"),
            QSlider(Qt.Orientation.Horizontal),
        ]
        fields[1].setRange(-5, 5)
        fields[2].addItem("One of these")
        ticks = [QCheckBox("a", checked=True), QCheckBox("b", tristate=True), QRadioButton("c", checked=True)]
        ticks[1].setCheckState(Qt.CheckState.PartiallyChecked)
        rows, table, bar, scrolled = QListWidget(), QTableWidget(2, 2), QProgressBar(value=40), QScrollArea()
        rows.addItems(["one", "other"])
        rows.setCurrentRow(1)
        scrolled.setWidget(QLabel("long " * 200))
        for widget in (*buttons, *fields, *ticks, rows, table, bar, scrolled):
            widget.setEnabled(enabled)
            widget.setMaximumHeight(70)
            layout.addWidget(widget)
    whole.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
    return whole


def with_role(widget: QWidget, role: str) -> QWidget:
    widget.setProperty("role", role)
    return widget


def picture(widget: QWidget) -> QImage:
    return widget.grab().toImage()


def test_what_was_made_before_looks_as_what_is_made_after(qapp: QApplication) -> None:
    seen, hidden = one_of_each(), one_of_each()
    seen.show()
    hidden.show()
    hidden.hide()
    looks = []
    for mode in ("dark", "contrast", "light", "dark"):
        apply_theme(qapp, mode)
        made_after = one_of_each()
        made_after.show()
        wait_until(all_took_it_up)
        assert picture(seen) == picture(made_after), mode
        assert picture(hidden) == picture(made_after), mode
        looks.append(picture(seen))
    assert looks[0] == looks[3] != looks[1] != looks[2] != looks[0]


@pytest.mark.parametrize("mode", THEMES)
def test_each_colour_reaches_the_style_sheet(qapp: QApplication, mode: str) -> None:
    """A name that style sheets do not know, or a role of two colours, would show here."""
    apply_theme(qapp, mode)
    carried = {}
    for name, carrier in CARRIERS.items():
        patch = QFrame()
        patch.setStyleSheet(f"QFrame {{ background: palette({carrier.css}); border: 0; }}")
        patch.resize(8, 8)
        carried[name] = picture(patch).pixelColor(4, 4).name()
    assert carried == {name: getattr(THEMES[mode].palette, name) for name in CARRIERS}
    assert len({carrier.role for carrier in CARRIERS.values()}) == len(CARRIERS)


def test_words_have_the_colour_of_their_role(qapp: QApplication) -> None:
    labels = {role: with_role(QLabel("MMMM"), role) for role in ("quiet", "problem", "warning", "done")}
    for label in labels.values():
        label.show()
    for mode, one in THEMES.items():
        apply_theme(qapp, mode)
        for role, label in labels.items():
            assert label.palette().color(label.foregroundRole()).name() == getattr(one.palette, role), (mode, role)


class Stacked:
    """A page that is seen, and one of many labels that is not."""

    def __init__(self) -> None:
        self.stack, self.page = QStackedWidget(), QWidget()
        layout = QVBoxLayout(self.page)
        self.labels = [with_role(QLabel(str(k)), "quiet") for k in range(3 * A_TURN)]
        for label in self.labels:
            layout.addWidget(label)
        self.stack.addWidget(QLabel("seen"))
        self.stack.addWidget(self.page)
        self.stack.show()
        self.stack.setCurrentIndex(1)
        self.stack.setCurrentIndex(0)
        wait_until(all_took_it_up)

    def in_colours_of(self, one: Theme) -> int:
        return sum(label.palette().color(label.foregroundRole()).name() == one.palette.quiet for label in self.labels)


def test_hidden_widgets_take_their_colours_up_a_few_at_a_time(qapp: QApplication) -> None:
    stacked = Stacked()
    apply_theme(qapp, "dark")
    steps = [stacked.in_colours_of(DARK)]
    assert steps == [0] and not all_took_it_up()
    while not all_took_it_up():
        qapp.processEvents()
        steps.append(stacked.in_colours_of(DARK))
    assert steps[-1] == len(stacked.labels)
    assert max(after - before for before, after in pairwise(steps)) <= A_TURN


def test_a_page_shown_meanwhile_has_its_colours_in_the_next_turn(qapp: QApplication) -> None:
    stacked = Stacked()
    apply_theme(qapp, "dark")
    stacked.stack.setCurrentIndex(1)
    wait_until(lambda: stacked.in_colours_of(DARK) > 0)
    assert stacked.in_colours_of(DARK) == len(stacked.labels)


def test_what_goes_meanwhile_and_themes_that_follow_each_other(qapp: QApplication) -> None:
    stacked = Stacked()
    for mode in ("dark", "contrast", "light", "dark"):
        apply_theme(qapp, mode)
        stacked.labels.pop().setParent(None)
        qapp.processEvents()
    wait_until(all_took_it_up)
    assert stacked.in_colours_of(DARK) == len(stacked.labels)
