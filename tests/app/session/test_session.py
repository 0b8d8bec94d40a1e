"""The session: history, plans that never go stale, clean ends."""

import threading
from dataclasses import replace
from types import SimpleNamespace

import pytest

from app.session.background import close_all
from app.session.session import Session
from core.artwork.drawing import ArtworkSource
from core.errors import JobError
from core.job.decisions import with_turn
from core.job.job import new_job

JOB = new_job(ArtworkSource(name="a.svg", data=b"<svg/>"))


def plan_of(job, *, complete=True):
    """A stand-in with what the session looks at."""
    return SimpleNamespace(job=job, complete=complete, drawing=SimpleNamespace(shapes=()), findings=())


@pytest.fixture
def session_with():
    sessions = []

    def make(derive):
        session = Session(derive=derive)
        sessions.append(session)
        return session

    yield make
    for session in sessions:
        close_all(session)


def test_plan_of_an_older_job_never_replaces_a_newer_one(qtbot, session_with):
    started, go_on = threading.Event(), threading.Event()

    def derive(job, progress):
        if job.turn == "sideways":
            started.set()
            go_on.wait(10)
        yield plan_of(job)

    session = session_with(derive)
    session.begin(JOB)
    assert started.wait(10)
    shown = []
    session.plan_changed.connect(lambda: shown.append(session.plan))
    newer = with_turn(JOB, "endways")
    session.commit(newer, "Turn endways")
    go_on.set()
    qtbot.waitUntil(lambda: session.complete)
    assert session.plan.job is newer
    assert all(plan is None or plan.job is newer for plan in shown)


def test_older_work_is_cancelled_at_its_next_progress_call(qtbot, session_with):
    started, cancelled = threading.Event(), threading.Event()

    def derive(job, progress):
        if job.turn == "sideways":
            started.set()
            try:
                while True:
                    progress(0.5, "turning")
            finally:
                cancelled.set()
        yield plan_of(job)

    session = session_with(derive)
    session.begin(JOB)
    assert started.wait(10)
    session.commit(with_turn(JOB, "endways"), "Turn endways")
    qtbot.waitUntil(lambda: session.complete)
    assert cancelled.is_set()


def test_first_plan_comes_before_the_complete_one(qtbot, session_with):
    def derive(job, progress):
        yield plan_of(job, complete=False)
        yield plan_of(job, complete=True)

    session = session_with(derive)
    seen = []
    session.plan_changed.connect(lambda: session.plan and seen.append(session.plan.complete))
    session.begin(JOB)
    qtbot.waitUntil(lambda: session.complete)
    assert seen == [False, True]


def test_an_error_for_the_maker_is_kept_and_the_plan_goes(qtbot, session_with):
    def derive(job, progress):
        raise JobError("Nothing here.", hint="Open something.")
        yield

    session = session_with(derive)
    session.begin(JOB)
    qtbot.waitUntil(lambda: session.error is not None)
    assert session.error.message == "Nothing here."
    assert session.plan is None and not session.busy


def test_a_fault_is_told_as_one(qtbot, session_with):
    def derive(job, progress):
        raise ZeroDivisionError("1/0")
        yield

    session = session_with(derive)
    with qtbot.capture_exceptions() as raised:
        session.begin(JOB)
        qtbot.waitUntil(lambda: bool(raised))
    assert raised[0][0] is ZeroDivisionError
    assert not session.busy


def test_stopping_leaves_the_job_to_be_worked_out_again(qtbot, session_with):
    def derive(job, progress):
        while job.turn == "sideways" and not finish.is_set():
            progress(0.1, "waiting")
        yield plan_of(job)

    finish = threading.Event()
    session = session_with(derive)
    session.begin(JOB)
    session.stop()
    assert session.stopped and not session.busy
    finish.set()
    session.work_out()
    qtbot.waitUntil(lambda: session.complete)
    assert not session.stopped


def test_undo_and_redo_carry_labels(session_with):
    session = session_with(lambda job, progress: iter(()))
    session.begin(JOB)
    assert session.undo_label is None
    session.commit(with_turn(JOB, "endways"), "Turn endways")
    assert session.undo_label == "Turn endways"
    session.undo()
    assert session.job == JOB and session.redo_label == "Turn endways"
    session.redo()
    assert session.job.turn == "endways"


def test_a_run_with_one_merge_key_is_one_step(session_with):
    session = session_with(lambda job, progress: iter(()))
    session.begin(JOB)
    for width_mm in (310.0, 320.0, 330.0):
        wider = replace(session.job, sheet=replace(session.job.sheet, width_mm=width_mm))
        session.commit(wider, "Width", merge_key="width")
    session.undo()
    assert session.job.sheet.width_mm == 300.0


def test_modified_follows_undo_and_saving(session_with, tmp_path):
    session = session_with(lambda job, progress: iter(()))
    assert not session.modified
    session.begin(JOB, path=tmp_path / "a.tain")
    assert not session.modified
    session.commit(with_turn(JOB, "endways"), "Turn endways")
    assert session.modified
    session.undo()
    assert not session.modified
    session.redo()
    session.mark_saved(session.order, tmp_path / "a.tain")
    assert not session.modified


def test_what_waits_for_the_plan_acts_on_the_present_jobs_plan(qtbot, session_with):
    session = session_with(lambda job, progress: iter((plan_of(job),)))
    session.begin(JOB)
    newer = with_turn(JOB, "endways")
    session.commit(newer, "Turn endways")
    acted = []
    session.when_current(lambda plan: acted.append(plan.job))
    qtbot.waitUntil(lambda: bool(acted))
    assert acted == [newer]


def test_what_waits_is_dropped_when_no_plan_comes(qtbot, session_with):
    def derive(job, progress):
        raise JobError("No.")
        yield

    session = session_with(derive)
    session.begin(JOB)
    acted = []
    session.when_current(acted.append)
    qtbot.waitUntil(lambda: session.error is not None)
    session.when_current(acted.append)
    assert acted == []


def test_progress_is_told_on_the_gui_thread(qtbot, session_with):
    def derive(job, progress):
        progress(0.25, "Reading")
        yield plan_of(job)

    session = session_with(derive)
    heard = []
    session.progressed.connect(lambda share, doing: heard.append((share, doing, threading.current_thread())))
    session.begin(JOB)
    qtbot.waitUntil(lambda: session.complete)
    assert heard == [(0.25, "Reading", threading.main_thread())]


def test_closing_ends_work_that_still_runs(session_with):
    running, ended = threading.Event(), threading.Event()

    def derive(job, progress):
        try:
            while True:
                running.set()
                progress(0.0, "for ever")
        finally:
            ended.set()
        yield

    session = session_with(derive)
    session.begin(JOB)
    assert running.wait(10)
    close_all(session)
    assert ended.is_set()
