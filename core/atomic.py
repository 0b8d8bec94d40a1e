"""Files that are written wholly or not at all."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from core.errors import WriteError


def write_atomically(path: Path, data: bytes, *, overwrite: bool) -> None:
    """Write beside the target, flush to disk, then rename, so that a crash never costs what was there before.

    Raises WriteError when the file exists and must not be overwritten, or when it can't be written.
    """
    if path.is_dir():
        raise WriteError(f"{path} is a folder.", hint="Name a file.")
    if path.exists() and not overwrite:
        raise WriteError(
            f"{path} exists already and was left as it is.", hint="Choose another name, or allow overwriting."
        )
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _permissions(path))
        if overwrite:
            os.replace(temporary, path)
        else:
            _rename_new(temporary, path)
    except FileExistsError:
        raise WriteError(f"{path} exists already and was left as it is.", hint="Choose another name.") from None
    except OSError as error:
        raise WriteError(
            f"{path} can't be written: {error.strerror or error}.", hint="What was there before is unchanged."
        ) from None
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)


def _rename_new(temporary: str, path: Path) -> None:
    """Give the temporary file its name unless another file took the name meanwhile."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        os.rename(temporary, path)


def _permissions(path: Path) -> int:
    """The old file's mode, or what a new file would get."""
    with suppress(OSError):
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
