"""Copies laid out, taken and taken back; cut lines that keep the drawn size: in the real window."""

import itertools

import pytest
from PySide6.QtWidgets import QCheckBox

from app.dialogs.copies import CopiesDialog
from app.dialogs.designs import DesignsDialog
from app.stages.stage import Stage, stage_of
from core.artwork.drawing import Finding
from core.geometry.affine import apply_to_region
from core.job.decisions import placed_bounds_mm, with_stock
from core.job.fitting import job_footprint
from core.job.job_file import load_job, save_job
from core.job.prepare import plan_steps
from tests.app.window.test_accessibility import nameless

pytestmark = pytest.mark.usefixtures("shared_window")

TAG = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<circle cx="20" cy="15" r="14" fill="none" stroke="#c00" stroke-width="0.1"/><rect x="14" y="10" width="8" height="9"/>
</svg>"""


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
        dialog.search.stop.click()
        assert dialog.layout_found is not None and not dialog.search.bar.isVisibleTo(dialog)
        return True

    lay(ready, dialogs, settle, steps)
    assert len(ready.session.job.repeats) > 0
    ready.sheet_page.once.click()
    settle(ready)
    assert ready.session.job.repeats == () and not ready.sheet_page.once.isVisible()


def test_several_designs_lie_on_one_sheet_and_are_saved(ready, dialogs, settle, qtbot, tmp_path, plate):
    other, folder = tmp_path / "tag.svg", tmp_path / "jobs"
    other.write_text(TAG, "utf-8")

    def steps(dialog):
        assert isinstance(dialog, DesignsDialog) and nameless(dialog) == []
        dialog.lay.click()
        assert "Add a design first" in dialog.told.text()
        dialogs.answers[:0] = [("open", other), ("open", other)]
        dialog.add.click()
        dialog.add.click()
        dialog.lay.click()
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        assert dialog.told.text() == "3 designs lie on this sheet."
        dialogs.answers.insert(0, ("save", folder))
        dialog.save.click()
        assert "3 job files" in dialog.told.text()
        return True

    dialogs.expect("run", steps)
    ready.sheet_page.designs.click()
    settle(ready)
    assert ready.session.undo_label == "Beside other designs"
    regions = []
    for name in ("plate", "tag", "tag 2"):
        plan = next(plan_steps(load_job(folder / f"{name}.tain")))
        assert plan.job.sheet == ready.session.job.sheet
        regions.append(apply_to_region(plan.drawing_to_front, job_footprint(plan).burned))
    for one, another in itertools.combinations(regions, 2):
        assert one.distance(another) >= 1.99


def test_a_design_of_another_stock_is_told(ready, dialogs, settle, qtbot, tmp_path):
    stock = next(one for one in ready.shop.stocks if one.name == "mirrored acrylic 5 mm")
    save_job(with_stock(ready.session.job, stock), tmp_path / "thick.tain")

    def steps(dialog):
        dialogs.answers.insert(0, ("open", tmp_path / "thick.tain"))
        dialog.add.click()
        dialog.lay.click()
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        assert "thick.tain is for mirrored acrylic 5 mm" in dialog.told.text() and not dialog.take.isEnabled()
        dialog.list.setCurrentRow(1)
        dialog.drop.click()
        assert dialog.list.count() == 1
        return False

    dialogs.expect("run", steps)
    ready.sheet_page.designs.click()


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
