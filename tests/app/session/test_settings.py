"""What is the user's is followed by all windows at once; a habit of one window stays its own."""

import pytest
from PySide6.QtWidgets import QApplication

from app.window.start import new_window
from tests.windows import be_rid_of


@pytest.fixture
def two_windows(home, qapp):
    pair = [new_window(home), new_window(home)]
    for window in pair:
        window.show()
    QApplication.processEvents()
    yield pair
    for window in pair:
        be_rid_of(window)


def test_units_and_looks_follow_in_every_window(two_windows):
    first, second = two_windows
    first.menus.actions["units inch"].trigger()
    assert second.settings.inches and second.menus.actions["units inch"].isChecked()
    assert second.faces.state.inches and second.loupe.inches
    second.menus.actions["other units"].trigger()
    assert not first.settings.inches and first.menus.actions["units mm"].isChecked() and not first.faces.state.inches
    first.menus.actions["looks dark"].trigger()
    assert second.menus.actions["looks dark"].isChecked()
    first.menus.actions["looks light"].trigger()


def test_how_a_window_is_laid_out_is_its_own(two_windows):
    first, second = two_windows
    first.menus.actions["faces stacked"].trigger()
    first.menus.actions["page"].trigger()
    assert first.menus.actions["faces stacked"].isChecked()
    assert second.menus.actions["faces by width"].isChecked() and second.menus.actions["page"].isChecked()
