"""Where a second start of the program finds the first. No Qt here: a first start looks before it loads anything."""

import hashlib
import os
import sys
import tempfile
from pathlib import Path

LONGEST_SOCKET_NAME = 96
"""Unix allows 108 bytes for all of it, some systems less."""


def meeting_place(folder: Path) -> str:
    """A socket in the data folder, or a name where that does not do."""
    beside = str((folder / "window.socket").absolute())
    if sys.platform != "win32" and len(os.fsencode(beside)) <= LONGEST_SOCKET_NAME:
        return beside
    import getpass

    name = f"tain-{hashlib.sha256(f'{getpass.getuser()}:{folder.absolute()}'.encode()).hexdigest()[:16]}"
    return name if sys.platform == "win32" else str(Path(tempfile.gettempdir()) / name)


def somebody_may_be_there(folder: Path) -> bool:
    """Whether it is worth asking."""
    return sys.platform == "win32" or Path(meeting_place(folder)).exists()
