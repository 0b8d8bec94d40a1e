"""The Artwork page: size, reversed artwork, repairs before and after."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.dialogs import repair_preview
from app.dialogs.repair_preview import RepairPreview, changed_shapes, view_of
from app.errands.mending import finding_place, offer_mending
from app.stages.artwork import ArtworkPage
from app.stages.stage import Stage
from core.artwork.drawing import Finding
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

MEND_ALL = "Mend all that can be mended"
FAULTY = Path(__file__).parents[3] / "sample_jobs" / "faulty-door-sign.svg"


def test_a_width_can_be_asked_for(with_plate, settle):
    window = with_plate
    page = window.pages[Stage.ARTWORK]
    part(page, "Width of the page").setValue(120)
    settle(window)
    assert window.session.plan.drawing.width_mm == pytest.approx(120)
    assert window.session.job.reading.scale == pytest.approx(2)
    part(page, "Scale").setValue(50)
    settle(window)
    assert window.session.plan.drawing.width_mm == pytest.approx(30)


def test_artwork_that_arrives_reversed_is_turned_once(with_plate, settle):
    window = with_plate

    def left_mm():
        shape = next(one for one in window.session.plan.drawing.shapes if one.label == "left")
        return float(shape.path.start_points[:, 0].min())

    before_mm = left_mm()
    part(window.pages[Stage.ARTWORK], "It is drawn as seen from the back").click()
    settle(window)
    assert left_mm() == pytest.approx(60 - before_mm - 8)
    window.session.undo()
    settle(window)
    assert left_mm() == pytest.approx(before_mm)


@pytest.fixture
def one_mends(monkeypatch):
    """A repair that drops the drawing's last shape, whatever it is called."""

    def repair(drawing, code):
        return replace(drawing, shapes=drawing.shapes[:-1])

    monkeypatch.setattr(repair_preview, "repair", repair)


def test_a_repair_is_shown_before_and_after_and_taken_only_when_wanted(with_plate, one_mends, dialogs, qtbot, settle):
    window = with_plate
    counts = []

    def look(accept):
        def answer(dialog):
            qtbot.waitUntil(dialog.mend.isEnabled)
            counts.append(dialog.told.text())
            dialog.show()
            dialog.grab()
            return accept

        return answer

    dialogs.expect("run", look(False))
    offer_mending(window, window.session, ("doubled-lines",))
    assert window.session.job.repairs == ()
    dialogs.expect("run", look(True))
    offer_mending(window, window.session, ("doubled-lines", "open-ends"))
    assert window.session.job.repairs == ("doubled-lines", "open-ends")
    assert "1 shape before, 0 shapes after" in counts[0]
    assert window.session.undo_label == "Mend the artwork"
    settle(window)


def test_an_accepted_repair_can_be_taken_back(with_plate, settle):
    window = with_plate
    window.session.commit(replace(window.session.job, repairs=("join-ends",)), "Mend the artwork")
    settle(window)
    page = window.pages[Stage.ARTWORK]
    back = part(page, "Take back: ends joined that nearly meet")
    back.click()
    assert window.session.job.repairs == ()
    settle(window)


def test_a_repair_that_changes_nothing_is_not_offered(with_plate, monkeypatch, dialogs, qtbot):
    monkeypatch.setattr(repair_preview, "repair", lambda drawing, code: drawing)
    texts = []

    def answer(dialog):
        qtbot.waitUntil(lambda: "changes nothing" in dialog.told.text())
        texts.append(dialog.mend.isEnabled())
        return False

    dialogs.expect("run", answer)
    offer_mending(with_plate, with_plate.session, ("open-ends",))
    assert texts == [False]


def test_what_a_repair_changed_is_what_only_one_drawing_holds(with_plate):
    drawing = with_plate.session.plan.drawing
    moved = replace(drawing.shapes[0], label="moved")
    after = replace(drawing, shapes=(moved, *drawing.shapes[1:]))
    assert changed_shapes(drawing, after) == ((drawing.shapes[0],), (moved,))
    x0, _, x1, _ = view_of((moved,), drawing)
    assert x0 < 1 and x1 > 59


@pytest.fixture
def page_alone(with_plate, qtbot):
    """An Artwork page on the window's session that nothing listens to."""
    page = ArtworkPage(with_plate.session, with_plate.settings, parent=None)
    qtbot.addWidget(page)
    page.show()
    return page


def test_mend_buttons_follow_the_findings(with_plate, page_alone):
    window, page = with_plate, page_alone
    plan = window.session.plan
    findings = (
        Finding(code="open-ends", message="Two ends nearly meet.", repair="open-ends", x_mm=5, y_mm=5),
        Finding(code="specks", message="A speck.", repair="specks"),
        Finding(code="image", message="A picture was left out."),
    )
    window.session.plan = replace(plan, findings=findings)
    window.session.plan_changed.emit()
    assert part(page, MEND_ALL).isVisible() and not part(page, "Mend what is selected").isEnabled()
    part(page, "Findings about the artwork").pick(0)
    assert part(page, "Mend what is selected").isEnabled()
    part(page, "Findings about the artwork").pick(2)
    assert not part(page, "Mend what is selected").isEnabled()
    heard = []
    page.mend_wanted.connect(lambda codes, finding: heard.append((codes, finding)))
    part(page, MEND_ALL).click()
    assert heard == [(("open-ends", "specks"), None)]


def test_the_preview_ends_its_thread_when_it_is_left_at_once(with_plate, one_mends, qtbot):
    preview = RepairPreview(None, with_plate.session.plan.drawing, ("x",), ("A finding.",))
    qtbot.addWidget(preview)
    preview.reject()


def test_the_faulty_sample_is_mended_at_one_stroke_and_one_undo_brings_it_back(window, dialogs, qtbot, settle):
    window.files.open(FAULTY)
    settle(window)
    page = window.pages[Stage.ARTWORK]

    def mendable():
        return [finding.code for finding in window.session.plan.findings if finding.repair]

    before = mendable()
    assert len(before) >= 3

    def answer(dialog):
        qtbot.waitUntil(dialog.mend.isEnabled)
        return True

    dialogs.expect("run", answer)
    part(page, MEND_ALL).click()
    settle(window)
    assert mendable() == []
    window.session.undo()
    settle(window)
    assert mendable() == before


def test_mending_one_finding_looks_at_its_place_from_near_by(window, dialogs, qtbot, settle):
    window.files.open(FAULTY)
    settle(window)
    page = window.pages[Stage.ARTWORK]
    row = next(
        i for i, finding in enumerate(part(page, "Findings about the artwork").findings) if finding.code == "open-ends"
    )
    finding = part(page, "Findings about the artwork").findings[row]
    views = []

    def answer(dialog):
        qtbot.waitUntil(dialog.mend.isEnabled)
        views.append(dialog.after.view)
        return False

    part(page, "Findings about the artwork").pick(row)
    dialogs.expect("run", answer)
    part(page, "Mend what is selected").click()
    x0, y0, x1, y1 = views[0]
    place = finding_place(window.session.plan, finding)
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx(place)
    assert x1 - x0 < 10


def test_findings_of_a_scale_are_a_question_of_their_own(with_plate, page_alone):
    window = with_plate
    scale = Finding(code="scale-looks-wrong", message="Perhaps inches.", repair="scale-inch-as-mm")
    ends = Finding(code="open-ends", message="Two ends nearly meet.", repair="join-ends")
    window.session.plan = replace(window.session.plan, findings=(scale, ends))
    window.session.plan_changed.emit()
    page, heard = page_alone, []
    page.mend_wanted.connect(lambda codes, finding: heard.append(codes))
    part(page, MEND_ALL).click()
    assert heard == [("join-ends",)]
