"""Icons that are drawn when they are shown: the theme's colours, sharp on dense screens, unchanged where chosen."""

import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QIcon

from app.theme.in_force import apply_theme
from app.theme.live_icon import live_icon
from app.theme.theme import DARK, LIGHT, theme
from app.widgets.swatch import colour_chip


@pytest.fixture(autouse=True)
def light_again(qapp):
    yield
    apply_theme(qapp, "light")


def test_an_icon_has_the_colours_of_the_theme_of_the_moment(qapp):
    icon = live_icon(QSize(20, 10), lambda painter, room: painter.fillRect(room, QColor(theme().palette.surface)))
    for looks, one in (("light", LIGHT), ("dark", DARK), ("light", LIGHT)):
        apply_theme(qapp, looks)
        assert icon.pixmap(20, 10).toImage().pixelColor(10, 5).name() == one.palette.surface


def test_a_chip_keeps_its_colour_where_it_is_chosen_and_its_rim_follows_the_theme(qapp):
    chip = colour_chip("#204080")
    rims = set()
    for looks in ("light", "dark"):
        apply_theme(qapp, looks)
        normal, chosen = (
            chip.pixmap(QSize(16, 16), mode).toImage() for mode in (QIcon.Mode.Normal, QIcon.Mode.Selected)
        )
        assert normal == chosen and normal.pixelColor(8, 8).name() == "#204080"
        rims.add(normal.pixelColor(8, 1).name())
    assert len(rims) == 2


def test_on_a_dense_screen_it_is_drawn_larger_not_blown_up():
    drawn = []
    icon = live_icon(QSize(20, 10), lambda painter, room: drawn.append((room.width(), painter.transform().m11())))
    icon.pixmap(QSize(20, 10), 2.0)
    assert drawn == [(20.0, 2.0)]
