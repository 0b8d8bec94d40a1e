"""Steps of undo as a file: what is written is read back, what is damaged is refused."""

import io
import json
import zipfile
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.drawing import ArtworkSource
from core.errors import UnreadableError
from core.job.decisions import with_turn
from core.job.job import new_job
from core.order.fields import Field
from core.order.history import History, new_history
from core.order.history_file import history_bytes, history_from_bytes
from core.order.list_reading import read_list
from core.order.order import LaidSheet, Order, PartPlace, with_design

LIST = read_list("Name\nAnna Bérg\n".encode(), name="club.csv")
FIRST = new_job(ArtworkSource(name="a.svg", data=b"<svg/>"))
OTHER = ArtworkSource(name="b.svg", data=b"<svg><g/></svg>")


def grown(changes: list[str]) -> History:
    history = new_history(Order(design=FIRST))
    for number, change in enumerate(changes):
        job, order = history.job, history.order
        if change == "list":
            order = replace(order, names=LIST if order.names is None else None, fields=(Field(name=f"f{number}"),))
        elif change == "laid":
            laid = LaidSheet(sheet=job.sheet, places=(PartPlace(part=1, x_mm=number, y_mm=2.0),))
            order = replace(order, sheets=(laid,), rows_off=(number + 2,))
        elif change == "turn":
            job = with_turn(job, "endways" if job.turn == "sideways" else "sideways")
        elif change == "artwork":
            job = replace(job, source=OTHER if job.source != OTHER else FIRST.source)
        else:
            job = replace(job, overrides=((change, f"fill {number}"),))
        history = history.committed(with_design(order, job), f"Step {number}", merge_key=change)
    return history


@given(st.lists(st.sampled_from(["turn", "artwork", "x", "y", "list", "laid"]), max_size=12))
def test_what_is_written_is_read_back(changes: list[str]) -> None:
    history = grown(changes)
    assert history_from_bytes(history_bytes(history), history.order) == history


def test_jobs_remembered_as_data_change_nothing() -> None:
    known: dict = {}
    first = grown(["turn", "x"])
    history_bytes(first, known=known)
    then = first.committed(Order(design=replace(first.job, overrides=(("z", "cut"),))), "More")
    assert history_bytes(then, known=known) == history_bytes(then)


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip at all", history_bytes(grown(["turn"]))[:-30]])
def test_damaged_steps_are_refused(data: bytes) -> None:
    with pytest.raises(UnreadableError):
        history_from_bytes(data, Order(design=FIRST))


def test_steps_of_another_job_are_refused() -> None:
    with pytest.raises(UnreadableError, match="another job"):
        history_from_bytes(history_bytes(grown(["turn"])), Order(design=replace(FIRST, overrides=(("q", "cut"),))))


def test_a_job_that_is_a_step_behind_keeps_its_steps() -> None:
    """A window killed between the two files."""
    history = grown(["turn", "x", "y"])
    behind = history.undone()
    found = history_from_bytes(history_bytes(history), behind.order)
    assert found.job == behind.job and [one.job for one in found.steps] == [one.job for one in history.steps[:-1]]


def test_steps_of_the_version_before_are_read() -> None:
    history = grown(["turn", "x"])
    with zipfile.ZipFile(io.BytesIO(history_bytes(history))) as archive:
        content = json.loads(archive.read("history.json"))
    content["tain_history"] = 1
    del content["lists"]
    old = io.BytesIO()
    with zipfile.ZipFile(old, "w") as archive:
        archive.writestr("history.json", json.dumps(content))
    assert history_from_bytes(old.getvalue(), history.order) == history


def test_a_list_is_kept_once_for_all_steps() -> None:
    names = read_list("\n".join(["Name", *(f"Person {n}" for n in range(1000))]).encode(), name="club.csv")
    history = new_history(Order(design=FIRST, names=names))
    for number in range(50):
        history = history.committed(replace(history.order, rows_off=(number + 2,)), "Row off")
    assert history_from_bytes(history_bytes(history), history.order) == history
    with zipfile.ZipFile(io.BytesIO(history_bytes(history))) as archive:
        assert archive.read("history.json").count(b"Person 500") == 1
