"""The first job: steps that point at the real controls, done by doing, left at any time."""

import pytest

from app.stages.stage import Stage
from core.job.cautions import cautions_for
from core.job.decisions import with_tick

pytestmark = pytest.mark.usefixtures("shared_window")


def begin(window, qtbot):
    window.welcome.first_job.click()
    assert window.first_job.isVisible()


def points_at(window, widget, qtbot):
    """Whether the ring lies round this control."""

    def around():
        box = window.first_job.ring_box()
        middle = widget.mapTo(window, widget.rect().center())
        return box is not None and box.contains(middle) and box.width() <= widget.width() + 12

    qtbot.waitUntil(around)
    return True


def test_it_leads_from_the_empty_window_to_exported_files(window, plate, dialogs, settle, qtbot, tmp_path):
    tour = window.first_job
    begin(window, qtbot)
    assert points_at(window, window.welcome.samples, qtbot)
    window.files.open(plate)
    settle(window)
    qtbot.waitUntil(lambda: tour.step.title.startswith("One sheet"))
    assert points_at(window, window.faces, qtbot)
    tour.next.click()
    tour.next.click()
    for stage in (Stage.ARTWORK, Stage.LAYERS, Stage.SHEET, Stage.BURN, Stage.COVERAGE, Stage.PAINT):
        assert window.stage is stage
        assert points_at(window, window.pages[stage].main_action, qtbot)
        before = tour.step
        window.pages[stage].main_action.click()
        qtbot.waitUntil(lambda before=before: tour.step is not before)
    for caution in cautions_for(window.session.job):
        window.session.commit(with_tick(window.session.job, caution.code, True), "Tick")
    settle(window)
    qtbot.waitUntil(lambda: tour.step is not None and tour.step.title == "Hand it over")
    assert points_at(window, window.pages[Stage.HAND_OVER].main_action, qtbot)
    dialogs.expect("save", tmp_path / "out.svg")
    window.pages[Stage.HAND_OVER].main_action.click()
    settle(window)
    qtbot.waitUntil(lambda: not tour.isVisible())
    assert (tmp_path / "out.svg").exists() and tour.ring_box() is None


def test_it_is_left_at_any_step_and_nothing_of_it_stays(window, qtbot):
    begin(window, qtbot)
    window.first_job.leave.click()
    assert not window.first_job.isVisible()
    assert window.first_job.ring_box() is None and window.first_job.step is None


def test_a_step_can_be_skipped_and_with_a_job_open_the_first_is_past(with_plate, qtbot):
    window = with_plate
    window.menus.actions["first job"].trigger()
    assert window.first_job.step.title.startswith("One sheet")
    titles = set()
    while window.first_job.step is not None:
        titles.add(window.first_job.step.title)
        window.first_job.next.click()
    assert len(titles) >= 9 and not window.first_job.isVisible()


def test_the_plate_never_lies_over_what_it_points_at_on_the_page(with_plate, qtbot):
    window = with_plate
    window.resize(1280, 800)
    window.menus.actions["first job"].trigger()
    plate = window.first_job
    right = plate.mapTo(window, plate.rect().topRight()).x()
    page = window.pages[Stage.ARTWORK]
    assert right <= page.mapTo(window, page.rect().topLeft()).x()
