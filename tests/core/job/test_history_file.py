"""Steps of undo as a file: what is written is read back, what is damaged is refused."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.drawing import ArtworkSource
from core.errors import UnreadableError
from core.job.decisions import with_turn
from core.job.history import History, new_history
from core.job.history_file import history_bytes, history_from_bytes
from core.job.job import new_job

FIRST = new_job(ArtworkSource(name="a.svg", data=b"<svg/>"))
OTHER = ArtworkSource(name="b.svg", data=b"<svg><g/></svg>")


def grown(changes: list[str]) -> History:
    history = new_history(FIRST)
    for number, change in enumerate(changes):
        job = history.job
        if change == "turn":
            job = with_turn(job, "endways" if job.turn == "sideways" else "sideways")
        elif change == "artwork":
            job = replace(job, source=OTHER if job.source != OTHER else FIRST.source)
        else:
            job = replace(job, overrides=((change, f"fill {number}"),))
        history = history.committed(job, f"Step {number}", merge_key=change)
    return history


@given(st.lists(st.sampled_from(["turn", "artwork", "x", "y"]), max_size=12))
def test_what_is_written_is_read_back(changes: list[str]) -> None:
    history = grown(changes)
    assert history_from_bytes(history_bytes(history), history.job) == history


def test_jobs_remembered_as_data_change_nothing() -> None:
    known: dict = {}
    first = grown(["turn", "x"])
    history_bytes(first, known=known)
    then = first.committed(replace(first.job, overrides=(("z", "cut"),)), "More")
    assert history_bytes(then, known=known) == history_bytes(then)


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip at all", history_bytes(grown(["turn"]))[:-30]])
def test_damaged_steps_are_refused(data: bytes) -> None:
    with pytest.raises(UnreadableError):
        history_from_bytes(data, FIRST)


def test_steps_of_another_job_are_refused() -> None:
    with pytest.raises(UnreadableError, match="another job"):
        history_from_bytes(history_bytes(grown(["turn"])), replace(FIRST, overrides=(("q", "cut"),)))


def test_a_job_that_is_a_step_behind_keeps_its_steps() -> None:
    """A window killed between the two files."""
    history = grown(["turn", "x", "y"])
    behind = history.undone()
    found = history_from_bytes(history_bytes(history), behind.job)
    assert found.job == behind.job and [one.job for one in found.steps] == [one.job for one in history.steps[:-1]]
