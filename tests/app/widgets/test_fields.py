"""Fields: what can be typed, what comes out, what is turned down and how that is said."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, SpeedField


def typed(field, text):
    """Type a text in place of what stands there and press Enter."""
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


@pytest.fixture
def length(qtbot):
    field = LengthField("Width", low=0.1, high=5000)
    qtbot.addWidget(field)
    field.show()
    field.setFocus()
    return field


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12", 12.0),
        ("12.5 mm", 12.5),
        ("12,5", 12.5),
        ("1/8 in", 3.175),
        ("1 1/2 in", 38.1),
        ('0.5"', 12.7),
        ("2 cm", 20),
    ],
)
def test_lengths_as_people_type_them(length, text, mm):
    heard = []
    length.entered.connect(heard.append)
    typed(length, text)
    assert heard == [pytest.approx(mm)]


def test_a_bare_number_counts_as_inches_once_inches_are_shown(length):
    length.show_inches(True)
    typed(length, "2")
    assert length.value() == pytest.approx(50.8)
    assert length.text() == "2.0 in"


def test_a_speed_follows_mm_and_inches(qtbot):
    field = SpeedField("Speed", low=0.01, high=100_000)
    qtbot.addWidget(field)
    field.show_value(800)
    assert field.text() == "800.0 mm/s"
    field.show_inches(True)
    assert field.text() == "31.4961 in/s"
    field.show()
    field.setFocus()
    typed(field, "10 in/s")
    assert field.value() == pytest.approx(254)
    typed(field, "500 mm/s")
    assert field.value() == pytest.approx(500)
    typed(field, "20")
    assert field.value() == pytest.approx(508)


def test_switching_units_keeps_the_length_exactly(length):
    length.show_value(123.456789)
    length.show_inches(True)
    length.show_inches(False)
    assert length.value() == pytest.approx(123.456789, abs=1e-9)


@pytest.mark.parametrize("text", ["0", "-5", "9999", "abc", "nan", "inf", "5 furlongs"])
def test_what_makes_no_sense_is_turned_down_and_the_old_value_stands(length, text):
    length.show_value(40.0)
    heard, refused = [], []
    length.entered.connect(heard.append)
    length.refused.connect(refused.append)
    typed(length, text)
    assert heard == [] and length.value() == 40.0
    assert len(refused) >= 1 and "Width" in refused[0] and "0.1 mm" in refused[0]


def test_an_emptied_field_shows_its_value_again(length):
    length.show_value(40.0)
    length.clear()
    QTest.keyClick(length, Qt.Key.Key_Return)
    assert length.value() == 40.0 and length.text() == "40.0 mm"


def test_showing_a_value_tells_nobody(qtbot):
    field = NumberField("Speed", unit="mm/s", low=1, high=1000)
    qtbot.addWidget(field)
    heard = []
    field.entered.connect(heard.append)
    field.show_value(800)
    assert heard == [] and field.text() == "800.0 mm/s"


def test_looking_at_a_field_and_leaving_it_changes_nothing(length):
    length.show_value(33.123456789)
    heard = []
    length.entered.connect(heard.append)
    length.clearFocus()
    length.setFocus()
    QTest.keyClick(length, Qt.Key.Key_Return)
    assert heard == [] and length.value() == 33.123456789


def test_arrows_step(length):
    length.show_value(40)
    QTest.keyClick(length, Qt.Key.Key_Up)
    assert length.value() == 41


def test_the_wheel_scrolls_the_page_not_the_number(qtbot):
    field = NumberField("Speed", low=1, high=1000)
    qtbot.addWidget(field)
    field.show_value(500)
    wheel = QWheelEvent(
        QPointF(5, 5),
        QPointF(5, 5),
        QPoint(),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(field, wheel)
    assert field.value() == 500


def test_a_choice_tells_only_what_the_user_chose(qtbot):
    field = ChoiceField("Air", [("off", 0), ("low", 1), ("high", 2)])
    qtbot.addWidget(field)
    heard = []
    field.chosen.connect(heard.append)
    field.show_value(2)
    assert heard == [] and field.currentText() == "high"
    field.show()
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_Up)
    assert heard == [1]


def test_a_row_gives_its_editor_a_name_a_buddy_and_help(qtbot):
    card = Card("Heading")
    qtbot.addWidget(card)
    field = NumberField("", low=0, high=1)
    label = card.row("&Speed", field, help_text="How fast")
    assert isinstance(label, QLabel) and label.buddy() is field
    assert field.accessibleName() == "Speed" and field.accessibleDescription() == "How fast"


def test_a_long_figure_does_not_widen_its_card(qtbot):
    card = Card()
    qtbot.addWidget(card)
    figure = card.figure("Coat left over")
    figure.setText("12.3 mm²")
    width = card.minimumSizeHint().width()
    figure.setText("under 0.000001 in² (under 0.1 % of all that is to be cleared)")
    assert card.minimumSizeHint().width() < width + 80
