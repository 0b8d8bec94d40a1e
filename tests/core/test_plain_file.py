"""What is no plain file is refused in one sentence, at once, by whatever reads files."""

import os
import sys
from pathlib import Path

import pytest

from core.artwork.reading import load_source
from core.errors import UnreadableError
from core.job.job_file import load_job
from core.order.list_reading import load_list
from core.order.order_file import load_work
from core.output.opening import open_job, open_order, settings_in
from core.plain_file import plain_file_bytes
from core.shop_book.exchange import import_file
from core.trouble.trials.trial import load_trial

READERS = {
    "artwork": load_source, "a job": load_job, "a list": load_list, "an order": load_work, "any job": open_job,
    "any order": open_order, "settings": settings_in, "a trial": load_trial,
    "a shop book": lambda path: import_file(None, path),
}  # fmt: skip
pytestmark = [pytest.mark.timeout(20), pytest.mark.skipif(sys.platform == "win32", reason="no such files")]


def strange_files(folder):
    """Paths that stand for no plain file, with words that say so."""
    pipe = folder / "pipe.svg"
    os.mkfifo(pipe)
    through = folder / "through.svg"
    through.symlink_to(pipe)
    dangling = folder / "dangling.svg"
    dangling.symlink_to(folder / "gone.svg")
    round_and_round = folder / "round.svg"
    round_and_round.symlink_to(round_and_round)
    return {
        pipe: "is no plain file",
        through: "is no plain file",
        dangling: "is a link to a file that is not there",
        round_and_round: "can't be opened",
        folder: "is a folder",
        folder / "none.svg": "There is no file",
        Path("/dev/zero"): "is no plain file",
        Path("/dev/tty"): "is no plain file",
        Path("a\0b.svg"): "can't be opened",
        Path("x" * 4000): "can't be opened",
    }


@pytest.mark.parametrize("read", READERS.values(), ids=READERS)
def test_every_reader_refuses_what_is_no_plain_file(read, tmp_path):
    for path, words in strange_files(tmp_path).items():
        with pytest.raises(UnreadableError, match=words) as refused:
            read(path)
        assert "\n" not in str(refused.value)


def test_what_the_system_makes_up_is_read_no_further_than_it_says():
    """Such files say that they hold nothing; /proc/kmsg would be waited for until the kernel has something to say."""
    made_up = [path for path in map(Path, ("/proc/kmsg", "/proc/self/status")) if path.exists()]
    for path in made_up:
        with pytest.raises(UnreadableError):
            load_source(path)


def test_a_file_is_never_larger_than_asked_for(tmp_path):
    path = tmp_path / "a.bin"
    path.write_bytes(b"x" * 2048)
    assert plain_file_bytes(path) == b"x" * 2048
    link = tmp_path / "link.bin"
    link.symlink_to(path)
    assert plain_file_bytes(link, most_bytes=2048) == b"x" * 2048
    with pytest.raises(UnreadableError, match="are read"):
        plain_file_bytes(path, most_bytes=2047)
