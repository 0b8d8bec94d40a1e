"""Work off the GUI thread: one way to begin, give up, fail and end, and no thread outlives its owner."""

import threading
import weakref
from pathlib import Path

import pytest
from PySide6.QtCore import QObject
from shiboken6 import delete, isValid

from app.session.background import Background, Question, close_all, once
from core.errors import Cancelled, UnreadableError


@pytest.fixture
def owner(qapp):
    one = QObject()
    yield one
    close_all(one)


def test_only_the_newest_question_is_answered(qtbot, owner):
    question, taken, gate = Question(Background("test", owner)), [], threading.Event()

    def slow(progress):
        gate.wait(5)
        progress(0.5, "half")
        return "old"

    question.ask_once(slow, taken.append)
    question.ask_once(lambda progress: "new", taken.append)
    gate.set()
    qtbot.waitUntil(lambda: not question.busy)
    assert taken == ["new"]


def test_an_error_for_the_maker_goes_to_whoever_asked_and_all_else_is_raised(qtbot, owner):
    question, failed = Question(Background("test", owner)), []

    def unreadable(progress):
        raise UnreadableError("No.")

    def fault(progress):
        raise ZeroDivisionError

    question.ask_once(unreadable, pytest.fail, failed.append)
    qtbot.waitUntil(lambda: bool(failed))
    assert failed[0].message == "No." and not question.busy
    with qtbot.capture_exceptions() as raised:
        question.ask_once(fault, pytest.fail, pytest.fail)
        qtbot.waitUntil(lambda: bool(raised))
    assert raised[0][0] is ZeroDivisionError and not question.busy


@pytest.mark.parametrize(
    ("raised", "faults"), [(Cancelled, []), (SystemExit, [RuntimeError]), (MemoryError, [MemoryError])]
)
def test_work_that_ends_by_itself_in_whatever_way_is_over(qtbot, owner, raised, faults):
    background = Background("test", owner)
    question = Question(background)

    def work(progress):
        raise raised

    with qtbot.capture_exceptions() as told:
        question.ask_once(work, pytest.fail, pytest.fail)
        qtbot.waitUntil(lambda: not background.busy)
    assert not question.busy
    assert [one[0] for one in told] == faults


def test_who_hears_that_work_began_may_ask_anew(qtbot, owner):
    background = Background("test", owner)
    question, taken, asked = Question(background), [], []

    def ask(name):
        asked.append(name)
        question.ask_once(lambda progress: name, taken.append)

    question.busy_changed.connect(lambda: len(asked) < 3 and ask(f"number {len(asked)}"))
    ask("first")
    qtbot.waitUntil(lambda: not background.busy)
    assert not question.busy and taken == [asked[-1]]


def test_closing_an_owner_closes_all_within_and_finishes_what_is_written(owner):
    inner, done, gate = QObject(owner), [], threading.Event()
    writing = Background("writing", inner, finishes=True)
    writing.start(once(lambda progress: gate.wait(5)))
    writing.start(once(lambda progress: done.append("written")))
    looking = Background("looking", inner)
    looking.start(once(lambda progress: gate.wait(5)))
    looking.start(once(lambda progress: done.append("looked")))
    gate.set()
    close_all(owner)
    assert "written" in done and "test" not in done
    assert not [thread for thread in threading.enumerate() if thread.name.startswith(("writing", "looking"))]


def test_threads_of_owners_that_are_gone_do_not_keep_another_from_closing(owner):
    gone = QObject()
    orphan = Background("gone", gone)
    delete(gone)
    looking = Background("looking", owner)
    close_all(owner)
    assert looking.closed and looking.start(once(lambda progress: None)).cancelled
    assert not isValid(orphan)


def test_what_was_closed_begins_nothing_and_tells_errors_only(qtbot, owner):
    """A clock or a last delivery may ask something of a window that is gone: no fault, no work, no thread."""

    def unreadable(progress):
        raise UnreadableError("No.")

    gate, told, failed = threading.Event(), [], []
    writing = Background("writing", owner, finishes=True)
    question, later = Question(writing), Question(Background("looking", owner))
    question.ask_once(lambda progress: gate.wait(5), told.append)
    writing.start(once(unreadable), on_value=told.append, on_failed=failed.append)
    gate.set()
    close_all(owner)
    later.ask_once(lambda progress: "late", told.append)
    writing.start(once(lambda progress: "later"), on_value=told.append)
    qtbot.waitUntil(lambda: not writing.busy)
    assert not told and [error.message for error in failed] == ["No."]
    assert not question.busy and not later.busy
    assert not [thread for thread in threading.enumerate() if thread.name.startswith(("writing", "looking"))]


@pytest.mark.parametrize("ends", ("well", "badly", "given up"))
def test_what_work_held_is_let_go_on_the_gui_thread(qtbot, owner, ends):
    """A widget that only the work still holds must not be taken apart by the worker."""

    class Held:
        pass

    background, threads = Background("test", owner), []
    for _ in range(20):
        held = Held()
        weakref.finalize(held, lambda: threads.append(threading.current_thread().name))

        def work(progress, held=held):
            if ends == "badly":
                raise UnreadableError("No.")
            return held is None

        ticket = background.start(
            once(work), on_value=lambda value, held=held: None, on_failed=lambda error, held=held: None
        )
        del held, work
        if ends == "given up":
            ticket.cancel()
        del ticket
    qtbot.waitUntil(lambda: not background.busy)
    qtbot.waitUntil(lambda: len(threads) == 20)
    assert set(threads) == {threading.main_thread().name}


def test_no_other_file_keeps_tickets_by_hand():
    """Who starts work and may want to give it up asks a ``Question``."""
    app = Path(__file__).parents[3] / "app"
    keeping = {path.name for path in app.rglob("*.py") if "Ticket" in path.read_text("utf-8")}
    assert keeping == {"background.py"}
