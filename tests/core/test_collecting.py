"""The garbage collector rests while a file is read and is back at work afterwards, whatever became of the file."""

import gc

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg
from core.collecting import collector_at_rest
from core.errors import UnreadableError


def test_it_rests_within_and_is_as_before_afterwards() -> None:
    with collector_at_rest():
        assert not gc.isenabled()
        with collector_at_rest():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()


def test_a_file_that_cannot_be_read_leaves_it_on() -> None:
    seen = []
    with pytest.raises(UnreadableError):
        read_svg(b"<html/>", ReadOptions(), progress=lambda share, what: seen.append(gc.isenabled()))
    assert seen == [False] and gc.isenabled()
