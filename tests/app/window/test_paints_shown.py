"""The paints on the faces and the words about them, in whatever order pages are seen and workers end."""

import threading
import time
from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel

from app.canvas import paint_looks
from app.session import painting, session
from app.stages.stage import Stage
from app.widgets.fields import ChoiceField
from core.finishing.paints import BARE
from core.job.job import with_overrides
from core.job.painting.colouring import filled_shapes
from tests.windows import part, wait_until, wait_until_settled

CREST = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"


@pytest.mark.usefixtures("shared_window")
class TestOnTheFaces:
    """What the faces are given."""

    def test_they_are_there_with_the_page_folded_away(self, window, settle):
        if window.page_side.stack.isVisible():
            window.page_side.toggle()
        window.files.open(CREST)
        settle(window)
        window.go_to(Stage.PAINT)
        settle(window)
        assert not window.page_side.stack.isVisible()
        colours = {look.colour for look in window.faces.state.looks}
        assert len(colours) >= 3
        window.go_to(Stage.HAND_OVER)
        settle(window)
        assert {look.colour for look in window.faces.state.looks} == colours

    def test_they_go_with_the_artwork(self, window, plate, settle):
        window.files.open(CREST)
        settle(window)
        window.go_to(Stage.PAINT)
        settle(window)
        window.paint_page.show_at(2)
        assert window.paint_page.shown_at == 2
        window.files.open(plate)
        wait_until(lambda: window.session.job.source is not None and window.session.job.source.name == plate.name)
        assert window.faces.state.looks == ()
        settle(window)
        assert window.faces.state.looks
        assert window.paint_page.shown_at is None

    def test_those_that_nobody_decided_follow_what_is_changed_on_other_pages(self, window, plate, settle):
        window.files.open(plate)
        settle(window)
        window.go_to(Stage.PAINT)
        settle(window)
        window.go_to(Stage.SHEET)
        painted = sum(look.region.area for look in window.faces.state.looks)
        dot = next(shape.id for shape in window.session.plan.drawing.shapes if shape.source_id == "dot")
        window.session.commit(with_overrides(window.session.job, [dot], "guide"), "Guide")
        settle(window)
        assert window.session.complete
        bared = sum(layer.region.area for layer in window.session.plan.layers if layer.layer.purpose == "fill")
        assert sum(look.region.area for look in window.faces.state.looks) == pytest.approx(bared, rel=0.01)
        assert bared < 0.9 * painted

    def test_decided_paints_show_where_the_paint_page_was_never_opened(self, window, plate, settle):
        window.files.open(plate)
        settle(window)
        window.go_to(Stage.PAINT)
        settle(window)
        window.paint_page.on_main_action()
        settle(window)
        decided = window.session.job
        assert decided.finishing.paints
        window.session.begin(session.new_job())
        window.go_to(Stage.HAND_OVER)
        settle(window)
        assert window.faces.state.looks == ()
        window.session.begin(decided)
        settle(window)
        assert window.faces.state.looks


def test_paints_of_before_are_never_those_of_what_was_opened(make_window, plate, monkeypatch):
    """The complete plan comes while the paint of the first one is worked out: nothing is known of either yet."""
    window = make_window()
    window.files.open(CREST)
    wait_until_settled(window)
    window.go_to(Stage.PAINT)
    wait_until_settled(window)
    work_out, may_end = painting.work_out, threading.Event()

    def held_up(plan, progress):
        may_end.wait(60)
        return work_out(plan, progress)

    monkeypatch.setattr(painting, "work_out", held_up)
    window.files.open(plate)
    wait_until(lambda: window.session.complete and window.session.job.source.name == plate.name)
    try:
        assert window.paint_ahead.painted is None and window.faces.state.looks == ()
    finally:
        may_end.set()
    wait_until_settled(window)
    assert window.paint_ahead.painted.plan is window.session.plan
    assert {look.colour for look in window.faces.state.looks} == {"#000000", "#0000cc"}


def test_a_step_of_fine_artwork_does_not_hold_the_window_up(make_window, plate, monkeypatch):
    """The step chosen last counts, whichever is worked out last."""
    window = make_window()
    window.files.open(plate)
    wait_until_settled(window)
    window.go_to(Stage.PAINT)
    wait_until_settled(window)
    finished, looks_of, threads = window.faces.state.looks, paint_looks.looks_of, []

    def slow(painted, at):
        threads.append(threading.current_thread())
        time.sleep(0.2 if at == 0 else 0.0)
        return looks_of(painted, at)

    monkeypatch.setattr(paint_looks, "looks_of", slow)
    window.paint_page.show_at(0)
    window.paint_page.show_at(1)
    assert window.faces.state.looks is finished
    wait_until_settled(window)
    seen, right = window.faces.state.looks, looks_of(window.paint_page.painted, 1)
    assert [(look.colour, look.region) for look in seen] == [(look.colour, look.region) for look in right] != []
    assert threads and threading.main_thread() not in threads


def later(before_s, after_s):
    """Plans whose complete one comes late, and whose worker tells its end later still."""

    def derive(job, progress):
        for plan in session.derive(job, progress):
            if plan.complete:
                time.sleep(before_s)
            yield plan
            time.sleep(after_s)

    return derive


@pytest.mark.parametrize(("before_s", "after_s"), [(0.3, 0.03), (0.0, 0.3), (0.3, 0.0)])
def test_the_page_says_what_is_so_whichever_worker_ends_last(make_window, plate, before_s, after_s):
    window = make_window(derive=later(before_s, after_s))
    window.files.open(plate)
    window.go_to(Stage.PAINT)
    wait_until_settled(window)
    state = part(window.paint_page, "state")
    assert state.text() == ""
    window.session.select(shape.id for shape in filled_shapes(window.session.plan))
    (paint,) = (one for one in window.paint_page.findChildren(ChoiceField) if "selected areas" in one.accessibleName())
    paint.chosen.emit(BARE)
    wait_until_settled(window)
    assert "every bared area stays bare" in state.text()


def test_stop_gives_up_a_long_paint_plan_and_going_on_works_it_out(make_window, plate, monkeypatch):
    window = make_window()
    window.files.open(plate)
    wait_until_settled(window)
    work_out = painting.work_out

    def long_work(plan, progress):
        while True:
            progress(0.5, "Masks")
            time.sleep(0.01)

    monkeypatch.setattr(painting, "work_out", long_work)
    window.go_to(Stage.PAINT)
    stop, state = window.menus.actions["stop"], part(window.paint_page, "state")
    assert window.paint_ahead.doing and "Working out" in state.text() and stop.isEnabled()
    stop.trigger()
    wait_until_settled(window, within_ms=5_000)
    assert state.text().startswith("Stopped") and not stop.isEnabled()
    window.go_to(Stage.LAYERS)
    window.go_to(Stage.PAINT)
    assert state.text().startswith("Stopped")
    monkeypatch.setattr(painting, "work_out", work_out)
    window.menus.actions["work out"].trigger()
    wait_until_settled(window)
    assert window.paint_ahead.painted is not None and state.text() == ""


def test_pages_say_that_work_was_stopped(make_window, plate):
    def derive(job, progress):
        while True:
            progress(0.5, "Coverage")
            time.sleep(0.01)
            yield from ()

    window = make_window(derive=derive)
    window.files.open(plate)
    wait_until(lambda: window.session.busy)
    window.go_to(Stage.HAND_OVER)
    wait_until(lambda: "still being worked out" in " ".join(text_of(window.hand_over_page)))
    window.menus.actions["stop"].trigger()
    wait_until_settled(window, within_ms=5_000)
    assert "still being worked out" not in " ".join(text_of(window.hand_over_page))


def text_of(page):
    return [label.text() for label in page.findChildren(QLabel) if label.isVisible()]
