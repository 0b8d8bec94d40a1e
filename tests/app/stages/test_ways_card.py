"""The datum and the two ways to paint, chosen in the real window."""

import pytest
from PySide6.QtWidgets import QLineEdit, QPushButton, QToolButton

from app.stages.paint.ways import WaysCard
from app.stages.stage import Stage
from app.widgets.fields import ChoiceField
from app.widgets.figure_fields import SwitchField
from tests.app.window.test_accessibility import nameless
from tests.core.finishing.layouts import svg_of

pytestmark = pytest.mark.usefixtures("shared_window")

LAYOUT = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 30.0, 30.0, 8.0), (3, 45.0, 40.0, 9.0, 9.0)]
TIMEOUT_MS = 120_000


@pytest.fixture
def wait(qtbot, settle):
    def until_painted(window):
        settle(window)
        page = window.paint_page

        def done():
            known = page.painting.painted
            return known is not None and known.plan.job == window.session.job and not page.painting.busy

        qtbot.waitUntil(done, timeout=TIMEOUT_MS)
        settle(window)
        return page.painting.painted

    return until_painted


def named(window, kind, name):
    (found,) = [one for one in window.paint_page.findChildren(kind) if one.accessibleName() == name]
    return found


def choose(window, name, index):
    choice = named(window, ChoiceField, name)
    choice.setCurrentIndex(index)
    choice.activated.emit(index)


def test_datum_ways_previews_and_files(window, settle, wait, dialogs, qtbot, tmp_path):
    art = tmp_path / "layout.svg"
    art.write_bytes(svg_of(LAYOUT))
    window.files.open(art)
    settle(window)
    window.go_to(Stage.PAINT)
    wait(window)
    choose(window, "Datum of all files", 2)
    assert wait(window).plan.job.datum.kind == "pins"
    order = window.paint_page.painting.painted.painting.order
    choose(window, f"How {order[1]} is painted", 1)
    painted = wait(window)
    assert painted.plan.job.finishing.burned_later(order[1]) and len(painted.burning.burns) == 2
    # what is burned through has to be known
    assert any(one.code == "burn-refused" for one in window.session.paint_findings)
    choose(window, "Binder of the chosen paint", 1)
    wait(window)
    named(window, SwitchField, "Safety data sheet read of the chosen paint").click()
    wait(window)
    (maker,) = [one for one in window.paint_page.findChildren(QLineEdit) if one.accessibleName() == "Maker"]
    maker.setText("Harbour Paints")
    maker.editingFinished.emit()
    wait(window)
    assert not [one.message for one in window.session.paint_findings if one.code == "burn-refused"]
    # burn, flood, cure: after the first burn the coat of the second stands and no paint is there; then there is
    steps = [one for one in window.paint_page.findChildren(QToolButton) if one.property("role") == "step"]
    by_name = {one.text().split("\n")[0]: one for one in steps if one.isVisible()}
    assert list(by_name)[:2] == ["burn", "mask"] or list(by_name) == ["burn", "flood", "cure"]
    by_name["burn"].click()
    settle(window)
    assert [look.pattern for look in window.faces.state.looks] == ["plain"]
    next(one for name, one in by_name.items() if name in ("flood", "colour")).click()
    settle(window)
    assert len([look for look in window.faces.state.looks if look.pattern == "plain"]) == 2
    folder = tmp_path / "burns"
    dialogs.expect("save", folder)
    save = named(window, QPushButton, "Save burn files…")
    assert save.isEnabled()
    save.click()
    written = ("*.svg", "*.dxf")
    qtbot.waitUntil(lambda: [len(list(folder.glob(one))) for one in written] == [3, 3], timeout=30_000)
    assert {path.stem.split("-")[0] for path in folder.glob("*.svg")} == {"burn", "cut"}
    assert nameless(window.paint_page) == []
    window.session.undo()
    wait(window)


def test_both_ways_are_compared_on_demand(window, settle, wait, qtbot, tmp_path):
    art = tmp_path / "layout.svg"
    art.write_bytes(svg_of(LAYOUT))
    window.files.open(art)
    settle(window)
    window.go_to(Stage.PAINT)
    wait(window)
    named(window, QPushButton, "Compare both ways").click()
    card = window.paint_page.findChild(WaysCard)
    qtbot.waitUntil(lambda: "better" in card.offers_text, timeout=60_000)
    assert card.offers_text.count("\n") == 2 and "must not be burned later" in card.offers_text
