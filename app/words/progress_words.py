"""How far long work of a command is, on the error stream, where somebody looks at it."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from core.progress import Progress

SILENT_S = 2.0
"""Work that ends sooner is not told."""
_EVERY_S = 0.2


@contextmanager
def told_progress(stream: TextIO | None = None, *, silent_s: float = SILENT_S) -> Iterator[Progress]:
    """A callback that keeps one line of a terminal up to date, and takes it away at the end; elsewhere it is silent."""
    stream = sys.stderr if stream is None else stream
    begun_s, told_s, told = time.monotonic(), 0.0, ""

    def progress(share: float, doing: str) -> None:
        nonlocal told_s, told
        now_s = time.monotonic()
        if not stream.isatty() or now_s - begun_s < silent_s or now_s - told_s < _EVERY_S:
            return
        told_s, before = now_s, len(told)
        told = f"{100 * share:3.0f} % {doing}…"
        stream.write(f"\r{told.ljust(before)}")
        stream.flush()

    try:
        yield progress
    finally:
        if told:
            stream.write(f"\r{' ' * len(told)}\r")
            stream.flush()
