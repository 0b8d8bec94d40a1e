"""What the window remembers between runs: declared options in one ini file in the data folder."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from weakref import WeakSet

import platformdirs
from PySide6.QtCore import QByteArray, QObject, QSettings, Signal
from shiboken6 import isValid

MAX_RECENTS = 12


_open: "WeakSet[Settings]" = WeakSet()
"""Those of all windows of the program; on one file they share its values, and tell each other of changes."""


def data_folder() -> Path:
    """The user's data folder, made if it is missing; ``TAIN_HOME`` moves it."""
    folder = Path(os.environ.get("TAIN_HOME") or platformdirs.user_data_dir("tain", appauthor=False))
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing that is remembered: its key, what it is when never set, what values make sense (None: any).

    everywhere: it is the user's, and followed by all windows at once; the others are a habit of the window, which the
    next window begins with.
    """

    key: str
    default: Any
    choices: tuple[str, ...] | None = None
    everywhere: bool = False


OPTIONS = {
    option.key: option
    for option in (
        Option(key="units", default="mm", choices=("mm", "inch"), everywhere=True),
        Option(key="looks", default="system", choices=("system", "light", "dark", "contrast"), everywhere=True),
        Option(key="faces", default="by width", choices=("by width", "side by side", "stacked")),
        Option(key="recents", default=(), everywhere=True),
        Option(key="folder", default=""),
        Option(key="export_folder", default=""),
        Option(key="window_geometry", default=b""),
        Option(key="page_width", default=0),  # until the maker has it otherwise, by the window's width
        Option(key="page_shown", default=True),
        Option(key="findings_shown", default=False),
        Option(key="read_again", default=False, everywhere=True),
        Option(key="faces_over_findings", default=b""),
    )
}


class Settings(QObject):
    """The options as attributes by key through ``get`` and ``set``; ``changed`` tells which one.

    A value in the file that makes no sense counts as never set, so a damaged file costs a habit, not a start.
    """

    changed = Signal(str)

    def __init__(self, folder: Path) -> None:
        super().__init__()
        _open.add(self)
        self._file = QSettings(str(folder / "window.ini"), QSettings.Format.IniFormat)

    def get(self, key: str) -> Any:
        """The option's value."""
        option = OPTIONS[key]
        value = self._file.value(f"window/{key}")
        if value is None:
            return option.default
        try:
            value = _typed(value, option.default)
        except (TypeError, ValueError):
            return option.default
        if option.choices is not None and value not in option.choices:
            return option.default
        return value

    def set(self, key: str, value: Any) -> None:
        """Remember the value, and tell who listens when it is another one."""
        if self.get(key) == value:
            return
        if isinstance(value, tuple):
            value = list(value)
        self._file.setValue(f"window/{key}", QByteArray(value) if isinstance(value, bytes) else value)
        others = [one for one in _open if one is not self and one._file.fileName() == self._file.fileName()]
        for settings in (self, *(others if OPTIONS[key].everywhere else ())):
            if isValid(settings):
                settings.changed.emit(key)

    def toggle(self, key: str) -> None:
        """Turn a yes into a no, or back."""
        self.set(key, not self.get(key))

    def choices(self, key: str) -> tuple[str, ...]:
        """The values that an option may have; none where any will do."""
        return OPTIONS[key].choices or ()

    def save(self) -> None:
        """Write to disk now."""
        self._file.sync()

    @property
    def inches(self) -> bool:
        """Whether lengths are shown in inches."""
        return bool(self.get("units") == "inch")

    def add_recent(self, path: Path) -> None:
        """Put a file first among the recent ones."""
        kept = [text for text in self.get("recents") if text != str(path)]
        self.set("recents", tuple([str(path), *kept][:MAX_RECENTS]))

    def recents(self) -> Iterator[Path]:
        """The recent files that are still there, newest first."""
        for text in self.get("recents"):
            path = Path(text)
            if path.is_file():
                yield path


def _typed(value: Any, default: Any) -> Any:
    """What QSettings read (often text) as the default's type. Raises ValueError or TypeError."""
    if isinstance(default, bool):
        if str(value).lower() not in ("true", "false"):
            raise ValueError(value)
        return str(value).lower() == "true"
    if isinstance(default, int):
        return int(value)
    if isinstance(default, bytes):
        return bytes(value)
    if isinstance(default, tuple):
        return tuple(str(part) for part in ([value] if isinstance(value, str) else value))
    return str(value)
