"""The garbage collector rests while anybody wants it to and is back at work afterwards, whatever became of a file."""

import gc
from collections.abc import Iterator

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg
from core.collecting import collector_at_rest, lay_to_rest, wake
from core.errors import UnreadableError


@pytest.fixture(autouse=True)
def at_work() -> Iterator[None]:
    """Tests of the window have it off."""
    was_on = gc.isenabled()
    gc.enable()
    yield
    if not was_on:
        gc.disable()


def test_it_rests_within_and_is_as_before_afterwards() -> None:
    with collector_at_rest():
        with collector_at_rest():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()


def test_where_it_was_off_it_stays_off() -> None:
    gc.disable()
    with collector_at_rest():
        pass
    assert not gc.isenabled()


def test_a_window_that_opens_while_a_file_is_read_keeps_it_at_rest() -> None:
    with collector_at_rest():
        lay_to_rest()
    assert not gc.isenabled()
    wake()
    assert gc.isenabled()


def test_a_file_that_cannot_be_read_leaves_it_on() -> None:
    seen = []
    with pytest.raises(UnreadableError):
        read_svg(b"<html/>", ReadOptions(), progress=lambda share, what: seen.append(gc.isenabled()))
    assert seen == [False] and gc.isenabled()
