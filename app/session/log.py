"""The log: versions and the last steps in a file in the data folder, for when something went wrong.

It holds names of files and layers as the window shows them; the home folder's name is left out. A crash of a library
below Python leaves where it happened in ``crash.log`` beside it.
"""

import faulthandler
import logging
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import pairwise
from pathlib import Path

from app.session.versions import ground_versions
from app.words.private import without_home

MOST_BYTES = 512 * 1024
KEPT_FILES = 3
LAST_STEPS = 40

steps = logging.getLogger("tain.steps")
"""What the maker did, in the words that the window has for it."""


def log_file(folder: Path) -> Path:
    """Where the log of the window on this data folder is."""
    return folder / "tain.log"


class _LogFile(logging.FileHandler):
    """A file of ``MOST_BYTES``, and older ones beside it with .1, .2 ... at their end.

    ``logging.handlers`` has one too, with sockets and mail, which takes a fiftieth of the program's start.
    """

    def emit(self, record: logging.LogRecord) -> None:
        """logging calls it with each line."""
        stream = self.stream
        if stream is not None and stream.tell() + len(self.format(record).encode()) >= MOST_BYTES:
            self._put_away()
        super().emit(record)

    def _put_away(self) -> None:
        self.close()  # opened again with the next line
        names = [self.baseFilename, *(f"{self.baseFilename}.{number}" for number in range(1, KEPT_FILES + 1))]
        for newer, older in reversed(list(pairwise(names))):
            with suppress(OSError):  # not there yet, or held by a second window: the log goes on
                Path(newer).replace(older)


class _LastSteps(logging.Handler):
    """The newest lines, kept for a fault's report."""

    def __init__(self) -> None:
        super().__init__(logging.INFO)
        self.lines: deque[str] = deque(maxlen=LAST_STEPS)

    def emit(self, record: logging.LogRecord) -> None:
        """logging calls it with each line."""
        self.lines.append(self.format(record))


class _Private(logging.Formatter):
    """Lines without the home folder's name."""

    def format(self, record: logging.LogRecord) -> str:
        """logging calls it with each line."""
        return without_home(super().format(record))


_last = _LastSteps()
_last.setFormatter(_Private("%(asctime)s %(message)s"))


def last_steps() -> list[str]:
    """The newest lines of the log, the last one last."""
    return list(_last.lines)


@contextmanager
def logging_to(folder: Path) -> Iterator[None]:
    """Write the log meanwhile. A folder that can't be written to costs the log and nothing else."""
    root, handlers = logging.getLogger(), [_last]
    before = root.level
    crash = None
    with suppress(OSError):
        file = _LogFile(log_file(folder), encoding="utf-8")
        file.setFormatter(_Private("%(asctime)s %(process)d %(name)s %(levelname)s %(message)s"))
        handlers.append(file)  # type: ignore[arg-type]
        crash = (folder / "crash.log").open("a", encoding="utf-8")
        faulthandler.enable(crash)
    for handler in handlers:
        root.addHandler(handler)
    root.setLevel(logging.INFO)
    steps.info("Tain begins. %s", "; ".join(ground_versions()))
    try:
        yield
    finally:
        steps.info("Tain ends.")
        root.setLevel(before)
        for handler in handlers:
            root.removeHandler(handler)
            if handler is not _last:
                handler.close()
        if crash is not None:
            faulthandler.disable()
            crash.close()
