"""Small pictures of files: those shipped of the samples, and those kept of recent files in the data folder."""

import hashlib
import os
from contextlib import suppress
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QImage

from app.session.samples import sample_files
from app.session.settings import MAX_RECENTS
from core.atomic import write_atomically
from core.errors import TainError


class FilePictures:
    """The picture of each file that was opened, one small PNG a file."""

    def __init__(self, data_folder: Path) -> None:
        self._folder = data_folder / "pictures"

    def keep(self, path: Path, picture: QImage) -> None:
        """Remember this picture for the file. A picture that can't be written is no loss worth a word."""
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        picture.save(buffer, "PNG")  # type: ignore[call-overload]  # the stubs know file names only
        with suppress(TainError, OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            write_atomically(self._file_of(path), bytes(buffer.data().data()), overwrite=True)
            self._forget_old()

    def picture(self, path: Path) -> QImage | None:
        """The file's picture; None where there is none."""
        shipped = sample_picture(path) if path in sample_files() else None
        image = QImage(str(shipped or self._file_of(path)))
        return None if image.isNull() else image

    def _file_of(self, path: Path) -> Path:
        return self._folder / f"{hashlib.sha256(os.fsencode(path)).hexdigest()[:24]}.png"

    def _forget_old(self) -> None:
        newest_first = sorted(self._folder.glob("*.png"), key=lambda file: file.stat().st_mtime, reverse=True)
        for file in newest_first[2 * MAX_RECENTS :]:
            file.unlink(missing_ok=True)


def sample_picture(sample: Path) -> Path | None:
    """The shipped picture of a sample."""
    file = Path(str(resources.files("app"))) / "help" / "samples" / f"{sample.stem}.png"
    return file if file.is_file() else None
