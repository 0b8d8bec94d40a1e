"""Waits as they were ticked off."""

import pytest

from core.errors import UnreadableError
from core.finishing.ticking import StepTick, coat_label, ticked_coats, ticked_waits_min
from core.job.as_data import from_data, to_data
from core.job.job import new_job
from core.job.painting.decisions import with_step_ticked


def tick(coat: int, clock: str, piece: int = 1) -> StepTick:
    return StepTick(label=coat_label("white", coat), piece=piece, at=f"2026-12-01T{clock}:00")


TICKS = (tick(1, "09:03"), tick(2, "09:16"), tick(3, "09:59"), tick(1, "09:06", 2), tick(3, "11:00", 2))


def test_waits_run_from_the_end_of_a_coat_to_the_beginning_of_the_next_on_the_same_piece():
    assert ticked_waits_min(TICKS, "white", coat_min=3) == (10, 40)
    assert [len(row) for row in ticked_coats(TICKS, "white")] == [3, 1]  # what follows a gap tells no wait
    assert ticked_waits_min(TICKS, "navy", coat_min=3) == ()
    assert ticked_waits_min((tick(1, "09:03"), tick(2, "09:03")), "white", coat_min=3) == (0,)


def test_a_tick_is_kept_with_the_job_and_can_be_taken_back():
    job = with_step_ticked(new_job(), "white: coat 1", 1, "2026-12-01T09:03")
    assert from_data(type(job), to_data(job), what="x").finishing.ticks == job.finishing.ticks
    assert with_step_ticked(job, "white: coat 1", 1, None) == new_job()
    assert "ticks" not in to_data(new_job())["finishing"]


def test_what_is_no_time_is_refused():
    with pytest.raises(UnreadableError):
        with_step_ticked(new_job(), "white: coat 1", 1, "after lunch")
    damaged = to_data(with_step_ticked(new_job(), "white: coat 1", 1, "2026-12-01T09:03"))
    damaged["finishing"]["ticks"][0]["at"] = "after lunch"
    with pytest.raises(UnreadableError):
        from_data(type(new_job()), damaged, what="x")
