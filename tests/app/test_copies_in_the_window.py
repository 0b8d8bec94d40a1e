"""Copies laid out, taken and taken back; cut lines that keep the drawn size: in the real window."""

import pytest
from PySide6.QtWidgets import QCheckBox

from app.dialogs.copies import CopiesDialog
from app.stages.stage import Stage, stage_of
from core.artwork.drawing import Finding
from core.job.decisions import placed_bounds_mm
from tests.app.test_accessibility import nameless


@pytest.fixture
def ready(with_plate):
    with_plate.go_to(Stage.SHEET)
    return with_plate


def lay(window, dialogs, settle, steps):
    dialogs.expect("run", steps)
    window.sheet_page.copies.click()
    settle(window)


@pytest.mark.parametrize("way", ["nested", "in rows and columns"])
def test_copies_are_laid_out_and_undone_in_one_step(ready, dialogs, settle, qtbot, way):
    window, before = ready, ready.session.job

    def steps(dialog):
        assert isinstance(dialog, CopiesDialog) and nameless(dialog) == []
        assert not dialog.take.isEnabled()
        dialog.way.setCurrentIndex(dialog.way.findText(way))
        dialog.way.activated.emit(dialog.way.currentIndex())
        dialog.count.setValue(4)
        dialog.lay.click()
        qtbot.waitUntil(lambda: not window.sheet_page.placing.busy, timeout=60_000)
        assert dialog.told.text().startswith("4 laid. They take up") and dialog.picture.accessibleDescription()
        return dialog.take.isEnabled()

    lay(window, dialogs, settle, steps)
    assert len(window.session.job.repeats) == 3 and window.session.undo_label == "4 copies"
    assert "4 of it" in window.sheet_page.copies_words.text()
    assert not [finding for finding in window.session.plan.findings if finding.severity == "problem"]
    window.session.undo()
    settle(window)
    assert window.session.job == before


def test_what_finds_no_room_is_told(ready, dialogs, settle, qtbot):
    def steps(dialog):
        dialog.way.setCurrentIndex(1)
        dialog.way.activated.emit(1)
        dialog.spacing.setValue(0.0)
        dialog.count.setValue(60)
        dialog.lay.click()
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        assert "found no room" in dialog.told.text()
        return False

    lay(ready, dialogs, settle, steps)
    assert ready.session.job.repeats == ()


def test_stopping_keeps_the_best_so_far(ready, dialogs, settle, qtbot):
    def steps(dialog):
        dialog.count.setValue(12)
        dialog.lay.click()
        qtbot.waitUntil(lambda: dialog.layout_found is not None, timeout=60_000)
        dialog.stop.click()
        assert dialog.layout_found is not None and not dialog.bar.isVisibleTo(dialog)
        return True

    lay(ready, dialogs, settle, steps)
    assert len(ready.session.job.repeats) > 0
    ready.sheet_page.once.click()
    settle(ready)
    assert ready.session.job.repeats == () and not ready.sheet_page.once.isVisible()


def test_cut_lines_keep_the_drawn_size_by_a_switch(with_plate, settle):
    window = with_plate
    x0, _, x1, _ = placed_bounds_mm(window.session.plan)
    window.go_to(Stage.BURN)
    switch = next(
        one for one in window.pages[Stage.BURN].findChildren(QCheckBox) if "drawn size" in one.accessibleName()
    )
    assert not switch.isChecked()
    switch.click()
    settle(window)
    assert window.session.undo_label == "Cut keeps the drawn size"
    left, _, right, _ = placed_bounds_mm(window.session.plan)
    assert right - left == pytest.approx(x1 - x0 + window.session.job.stock.kerf_mm, abs=1e-6)
    window.session.undo()
    settle(window)
    assert not switch.isChecked()


@pytest.mark.parametrize(
    ("code", "stage"), [("flaw-shows", Stage.SHEET), ("copies-overlap", Stage.SHEET), ("kerf-lost-holes", Stage.BURN)]
)
def test_findings_lead_to_where_they_are_mended(code, stage):
    assert stage_of(Finding(code=code, message="")) is stage
