"""Files that are written wholly or not at all."""

import hashlib
import os
import platform
import re
import stat
import sys
import time
import uuid
from contextlib import suppress
from pathlib import Path

from core.errors import WriteError

LEFT_BEHIND_S = 24 * 3600.0
"""How old an unfinished file must be to be taken away where nobody can tell whether its process still lives."""
_UNFINISHED = re.compile(r"\.tain-([0-9a-f]{12})-(\d+)-[0-9a-f]{8}\.part")
_swept: set[Path] = set()


def write_atomically(path: Path, data: bytes, *, overwrite: bool) -> None:
    """Write beside the target, flush to disk, then rename, so that a crash never costs what was there before.

    A symbolic link is followed: what it points to is written. Raises WriteError when the file exists and must not be
    overwritten, when it is no plain file, or when it can't be written.
    """
    try:
        _write(Path(os.path.realpath(path)), path, data, overwrite=overwrite)
    except FileExistsError:
        raise WriteError(f"{path} exists already and was left as it is.", hint="Choose another name.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise WriteError(f"{path} can't be written: {reason}.", hint="What was there before is unchanged.") from None


def check_writable(path: Path, *, overwrite: bool) -> None:
    """Raises WriteError, before any long work, where ``write_atomically`` would for what stands there now."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        if not Path(os.path.realpath(path)).parent.is_dir():
            raise WriteError(f"There is no folder {path.parent}.", hint="Make it first.") from None
        return
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise WriteError(f"{path} can't be written: {reason}.", hint="Choose another name.") from None
    if stat.S_ISDIR(mode):
        raise WriteError(f"{path} is a folder.", hint="Name a file.")
    if not stat.S_ISREG(mode):
        raise WriteError(f"{path} is no plain file and was left as it is.", hint="Choose another name.")
    if not overwrite:
        raise WriteError(
            f"{path} exists already and was left as it is.", hint="Choose another name, or allow overwriting (--force)."
        )


def _write(target: Path, named: Path, data: bytes, *, overwrite: bool) -> None:
    check_writable(named, overwrite=overwrite)
    _sweep(target.parent)
    # a short name of its own: one made of the target's would be too long where that is as long as can be
    unfinished = target.parent / f".tain-{_this_machine()}-{os.getpid()}-{uuid.uuid4().hex[:8]}.part"
    try:
        handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(unfinished, _permissions(target))
        if overwrite:
            os.replace(unfinished, target)
        else:
            _rename_new(unfinished, target)
        _sync_folder(target.parent)
    finally:
        with suppress(OSError):
            unfinished.unlink()


def _rename_new(unfinished: Path, target: Path) -> None:
    """Give the finished file its name unless another file took the name meanwhile."""
    try:
        os.link(unfinished, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links: take the name first, then fill it
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
        os.replace(unfinished, target)


def _sync_folder(folder: Path) -> None:
    """The new name must survive a power cut, too; systems that can't open a folder keep it safe themselves."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Take away what processes that died while writing left in the folder; looked for once by each process."""
    if folder in _swept:
        return
    _swept.add(folder)
    with suppress(OSError):
        for entry in list(os.scandir(folder)):
            match = _UNFINISHED.fullmatch(entry.name)
            if match and _is_left_behind(entry, match.group(1), int(match.group(2))):
                with suppress(OSError):
                    os.unlink(entry.path)


def _is_left_behind(entry: "os.DirEntry[str]", machine: str, process: int) -> bool:
    if machine == _this_machine() and sys.platform != "win32":
        return not _lives(process)
    return time.time() - entry.stat().st_mtime > LEFT_BEHIND_S


def _lives(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _this_machine() -> str:
    """A shared folder is written to from several machines, whose process numbers mean nothing to each other."""
    return hashlib.sha256(platform.node().encode()).hexdigest()[:12]


def _permissions(path: Path) -> int:
    """The old file's mode, or what a new file would get."""
    with suppress(OSError):
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
