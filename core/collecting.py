"""The garbage collector at rest, for as long as anybody wants it to be.

While a large file is read a great many objects are made, none of which is garbage; looking through all of them again
and again takes a fifth of the time. A window keeps it at rest altogether and collects on its own thread.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_lock = Lock()
_resting = 0
_was_on = True


def lay_to_rest() -> None:
    """No collection from now on until all that wanted it so have called ``wake``."""
    global _resting, _was_on
    with _lock:
        if not _resting:
            _was_on = gc.isenabled()
            gc.disable()
        _resting += 1


def wake() -> None:
    """One fewer wants it at rest; after the last it is as before the first."""
    global _resting
    with _lock:
        _resting -= 1
        if not _resting and _was_on:
            gc.enable()


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """No collection within."""
    lay_to_rest()
    try:
        yield
    finally:
        wake()
