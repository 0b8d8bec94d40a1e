"""The one door for files that are read: plain files of a size that makes sense, and nothing else.

A pipe would be waited for, a device has no end, and what the system itself makes up (``/proc``) may do either.
"""

import os
import stat
from pathlib import Path

from core.errors import UnreadableError

MOST_BYTES = 200 * 1024 * 1024


def plain_file_bytes(path: Path, *, most_bytes: int = MOST_BYTES, wanted: str = "") -> bytes:
    """A plain file's bytes, symbolic links followed. wanted: what to name instead, a hint such as "Name a CSV file."

    Raises UnreadableError, in a sentence, for what is missing, no plain file, too large or can't be opened.
    """
    try:
        _check_kind(path, os.stat(path).st_mode, wanted)
        # never waited for, should a pipe have taken its place just now
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as file:
            found = os.fstat(handle)
            _check_kind(path, found.st_mode, wanted)
            if found.st_size > most_bytes:
                raise UnreadableError(
                    f"{path.name} is {found.st_size / 2**20:,.0f} MB; up to {most_bytes / 2**20:.0f} MB are read.",
                    hint=wanted or "Save it simplified, or in parts.",
                )
            # no more than it says it holds: what the system makes up says 0 and goes on for ever
            return file.read(found.st_size)
    except FileNotFoundError:
        if path.is_symlink():
            raise UnreadableError(f"{path} is a link to a file that is not there.", hint="Name the file.") from None
        raise UnreadableError(f"There is no file {path}.", hint="Check the name and the folder.") from None
    except (OSError, ValueError) as error:
        raise UnreadableError(f"{path} can't be opened: {getattr(error, 'strerror', None) or error}.") from None


def _check_kind(path: Path, mode: int, wanted: str) -> None:
    if stat.S_ISDIR(mode):
        raise UnreadableError(f"{path} is a folder, not a file.", hint=wanted or "Name a file in it.")
    if not stat.S_ISREG(mode):
        raise UnreadableError(f"{path} is no plain file.", hint=wanted or "Name a file.")
