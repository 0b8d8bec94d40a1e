"""From the empty window to an exported file in ten actions at most, ticks apart: what a newcomer presses."""

from PySide6.QtWidgets import QCheckBox, QWidget

from app.stages.stage import Stage
from app.window.welcome import Tile
from core.job.cautions import missing_ticks

MOST_ACTIONS = 10


def ticks_of(page: QWidget) -> list[QCheckBox]:
    return [box for box in page.findChildren(QCheckBox) if box.isVisibleTo(page) and not box.isChecked()]


def test_a_newcomer_needs_ten_actions_before_the_ticks(window, dialogs, settle, qtbot, tmp_path):
    """Only what is seen is pressed: a tile, then whatever is the main button of the page."""
    actions: list[str] = []

    def press(button) -> None:
        assert button.isVisible() and button.isEnabled(), button.accessibleName()
        actions.append(button.accessibleName())
        button.click()
        settle(window)
        work = (window.burn_page.advising, window.paint_page.painting, window.shop)
        qtbot.waitUntil(lambda: not any(one.busy for one in work), timeout=60_000)

    press(window.welcome.findChild(Tile, "tile name-plate.svg"))
    while window.stage is not Stage.HAND_OVER:
        assert len(actions) < MOST_ACTIONS, actions
        press(window.pages[window.stage].main_action)
    ticks = 0
    page = window.pages[Stage.HAND_OVER]
    while missing_ticks(window.session.job):
        ticks_of(page)[0].click()
        ticks += 1
        settle(window)
        assert ticks < 40
    dialogs.expect("save", tmp_path / "plate-bed.svg")
    press(page.main_action)
    assert (tmp_path / "plate-bed.svg").is_file()
    assert len(actions) <= MOST_ACTIONS, actions
