from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from core.job.job import new_job
from core.order.history import MAX_STEPS, new_history
from core.order.order import Order
from core.sheet.placement import Placement

NEW = Order(design=new_job())


def placed(x_mm):
    return Order(design=replace(new_job(), placement=Placement(x_mm=x_mm, centred=False)))


@given(st.lists(st.floats(0, 100), max_size=20), st.integers(0, 25))
def test_undo_goes_back_exactly_and_redo_forth(places, back):
    history = new_history(NEW)
    for x_mm in places:
        history = history.committed(placed(x_mm), f"Move to {x_mm}")
    jobs = [step.order for step in history.steps]
    undone = history
    for _ in range(back):
        undone = undone.undone()
    assert undone.order == jobs[max(0, len(jobs) - 1 - back)]
    for _ in range(back):
        undone = undone.redone()
    assert undone.order == history.order


def test_an_unchanged_job_is_no_step():
    history = new_history(NEW)
    assert history.committed(Order(design=new_job()), "Nothing") is history


def test_a_drag_is_one_step():
    history = new_history(NEW)
    for x_mm in (1.0, 2.0, 3.0):
        history = history.committed(placed(x_mm), "Move", merge_key="drag")
    assert len(history.steps) == 2
    assert history.undone().order == NEW


def test_two_drags_are_two_steps():
    history = new_history(NEW).committed(placed(1.0), "Move", merge_key="drag").sealed()
    history = history.committed(placed(2.0), "Move", merge_key="drag")
    assert history.undone().order == placed(1.0)


def test_a_new_change_forgets_what_could_be_redone():
    history = new_history(NEW).committed(placed(1.0), "One").undone().committed(placed(2.0), "Two")
    assert history.redo_label is None
    assert history.undo_label == "Two"


def test_labels_say_what_undo_and_redo_do():
    history = new_history(NEW).committed(placed(1.0), "Move the artwork")
    assert (history.undo_label, history.redo_label) == ("Move the artwork", None)
    assert (history.undone().undo_label, history.undone().redo_label) == (None, "Move the artwork")


def test_the_history_is_bounded():
    history = new_history(NEW)
    for x_mm in range(MAX_STEPS + 10):
        history = history.committed(placed(float(x_mm + 1)), "Move")
    assert len(history.steps) == MAX_STEPS
    assert history.order == placed(float(MAX_STEPS + 10))
