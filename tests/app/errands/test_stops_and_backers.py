"""What is made to go with a job, through the window: each kind drawn, opened as a job, saved."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QAbstractButton, QLabel, QWidget

from app.dialogs.companions import KINDS, CompanionsDialog
from app.stages.stage import Stage
from core.job.decisions import placed_bounds_mm
from core.job.job_file import load_job
from tests.app.window.test_accessibility import mnemonics, nameless

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def ready(with_plate):
    with_plate.go_to(Stage.SHEET)
    return with_plate


def ask(window, dialogs, settle, steps):
    dialogs.expect("run", steps)
    window.sheet_page.companions.click()
    settle(window)


def choose(dialog, kind, qtbot, window):
    at = [one for _, one in KINDS].index(kind)
    dialog.kind.setCurrentIndex(at)
    dialog.kind.activated.emit(at)
    qtbot.waitUntil(lambda: not window.sheet_page.placing.busy, timeout=60_000)


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("backer", "All of one piece."),
        ("opening", "dropped in"),
        ("corner stop", "meets the stop"),
        ("nest", "Blanks can lie 0.28\u00a0mm off at most"),
        ("pins", "The sheet can lie"),
    ],
)
def test_each_kind_is_drawn_and_told(ready, dialogs, settle, qtbot, kind, says):
    def steps(dialog):
        assert isinstance(dialog, CompanionsDialog)
        choose(dialog, kind, qtbot, ready)
        assert nameless(dialog) == []
        assert says in dialog.told.text(), dialog.told.text()
        assert dialog.found is not None and not dialog.found.kept.is_empty
        assert dialog.open_it.isEnabled() == (kind != "pins")
        dialog.show()
        seen = [one for one in dialog.findChildren(QWidget) if one.isVisible()]
        letters = sorted(mnemonics([one.text() for one in seen if isinstance(one, (QAbstractButton, QLabel))]))
        dialog.hide()
        assert len(letters) == len(set(letters)), letters
        return False

    ask(ready, dialogs, settle, steps)


def test_a_backer_is_opened_as_a_job_of_its_own(ready, dialogs, settle, qtbot):
    ready.session.mark_saved(ready.session.order, Path("x.tain"))

    def steps(dialog):
        choose(dialog, "backer", qtbot, ready)
        dialog.fields["margin_mm"].setValue(8.0)
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        return True

    ask(ready, dialogs, settle, steps)
    settle(ready)
    job = ready.session.job
    assert job.source.name == "backer.svg" and ready.session.modified
    # the plate's 58 x 38 mm, 8 mm out on either side, and half a kerf more
    x0, y0, x1, y1 = placed_bounds_mm(ready.session.plan)
    assert (x1 - x0, y1 - y0) == pytest.approx((58 + 16 + job.stock.kerf_mm, 38 + 16 + job.stock.kerf_mm), abs=0.01)
    assert "backer is open" in ready.banner.text.text()
    assert not [one for one in ready.session.plan.findings if one.severity == "problem"]


def test_pins_are_saved_as_two_jobs_and_nothing_is_overwritten(ready, dialogs, settle, qtbot, tmp_path):
    folder = tmp_path / "jigs"

    def steps(dialog):
        choose(dialog, "pins", qtbot, ready)
        dialogs.answers[:0] = [("save", folder), ("save", folder)]
        dialog.save.click()
        assert "pin holes.tain and pin board.tain" in dialog.told.text()
        dialog.save.click()
        assert "exists already" in dialog.told.text()
        return False

    ask(ready, dialogs, settle, steps)
    assert load_job(folder / "pin holes.tain").sheet.width_mm == ready.session.job.sheet.width_mm
    assert load_job(folder / "pin board.tain").source.name == "pin board.svg"


def test_what_can_not_be_drawn_is_told(ready, dialogs, settle, qtbot):
    def steps(dialog):
        choose(dialog, "backer", qtbot, ready)
        dialog.fields["margin_mm"].setValue(-60.0)
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        assert "Nothing is left of the backer" in dialog.told.text() and not dialog.open_it.isEnabled()
        return False

    ask(ready, dialogs, settle, steps)
