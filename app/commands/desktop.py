"""``tain desktop``: the program among the desktop's, with its icon, and job files that open by a double click.

Files go where the desktop looks for the user's own: freedesktop.org's Desktop Entry Specification 1.5, Shared MIME-info
Database 0.21, Icon Theme Specification 0.13, Base Directory Specification 0.8.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
from contextlib import suppress
from importlib import resources
from pathlib import Path

from core.atomic import write_atomically
from core.errors import JobError

SUMMARY = "Tain in the desktop's menu, and job files that open by a double click (Linux)."
EXAMPLES = ("tain desktop add", "tain desktop remove")

MIME_TYPE = "application/x-tain-job"
ALSO_READ = ("image/svg+xml", "image/vnd.dxf", "application/pdf")
"""Offered under "open with" for these; whatever opens them by itself stays."""
UPDATE_WITHIN_S = 30
_SPECIAL = '"`$\\'


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain desktop``."""
    parser.add_argument("what", choices=("add", "remove"), help="put it there, or take it away")
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace) -> int:
    """Write or take away. Returns the exit code; raises TainError for the caller to say."""
    if not sys.platform.startswith("linux"):
        raise JobError("Desktop entries are a matter of Linux.", hint="Elsewhere the installer puts Tain in the menu.")
    home = data_home()
    files = desktop_files(home, command=own_command())
    done = _add(files) if arguments.what == "add" else _remove(files)
    _update(home)
    if arguments.json:
        print(json.dumps({"what": arguments.what, "files": [str(path) for path in done]}, ensure_ascii=False))
        return 0
    for path in done:
        print(f"{'wrote' if arguments.what == 'add' else 'took away'} {path}")
    if not done:
        print("nothing of Tain was there")
    return 0


def data_home() -> Path:
    """Where the user's own entries are."""
    named = os.environ.get("XDG_DATA_HOME", "")
    return Path(named) if named and Path(named).is_absolute() else Path.home() / ".local" / "share"


def own_command() -> tuple[str, ...]:
    """The words that start this program."""
    installed = Path(sys.executable).with_name("tain")
    found = str(installed) if installed.is_file() else shutil.which("tain")
    return (found,) if found else (sys.executable, "-m", "app")


def desktop_files(home: Path, *, command: tuple[str, ...]) -> dict[Path, bytes]:
    """What lies where."""
    icon = resources.files("icons").joinpath("tain.svg").read_bytes()
    icons = home / "icons" / "hicolor" / "scalable"
    return {
        home / "applications" / "tain.desktop": desktop_entry(command).encode(),
        home / "mime" / "packages" / "tain.xml": MIME_PACKAGE.encode(),
        icons / "apps" / "tain.svg": icon,
        icons / "mimetypes" / f"{MIME_TYPE.replace('/', '-')}.svg": icon,
    }


def desktop_entry(command: tuple[str, ...]) -> str:
    """The entry: each word of the command quoted as its section on Exec has it."""
    words = " ".join(_quoted(word) for word in command)
    return "\n".join(
        (
            "[Desktop Entry]",
            "Type=Application",
            "Version=1.5",
            "Name=Tain",
            "GenericName=Workbench for coated sheet",
            "Comment=Engrave coated sheet from its back: both faces, coverage, run time, files for the machine",
            f"Exec={words} %f",
            "Icon=tain",
            "Terminal=false",
            "StartupNotify=true",
            "StartupWMClass=tain",
            f"MimeType={';'.join((MIME_TYPE, *ALSO_READ))};",
            "Categories=Graphics;VectorGraphics;",
            "Keywords=mirror;acrylic;engraving;sign;laser;",
            "",
        )
    )


MIME_PACKAGE = f"""<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{MIME_TYPE}">
    <comment>Tain job</comment>
    <sub-class-of type="application/zip"/>
    <icon name="{MIME_TYPE.replace("/", "-")}"/>
    <glob pattern="*.tain"/>
  </mime-type>
</mime-info>
"""


def _quoted(word: str) -> str:
    """A word of Exec: quoted, what is special in quotes escaped, then as a string value, per cent signs doubled."""
    inner = "".join(f"\\{letter}" if letter in _SPECIAL else letter for letter in word)
    return f'"{inner}"'.replace("\\", "\\\\").replace("%", "%%")


def _add(files: dict[Path, bytes]) -> list[Path]:
    for path, data in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, data, overwrite=True)
    return list(files)


def _remove(files: dict[Path, bytes]) -> list[Path]:
    there = [path for path in files if path.is_file()]
    for path in there:
        path.unlink()
    return there


def _update(home: Path) -> None:
    """Have the desktop's caches follow, where it has any; without these tools it looks by itself."""
    for tool, folder in (("update-mime-database", home / "mime"), ("update-desktop-database", home / "applications")):
        found = shutil.which(tool)
        if found and folder.is_dir():
            with suppress(OSError, subprocess.SubprocessError):
                subprocess.run([found, str(folder)], capture_output=True, timeout=UPDATE_WITHIN_S, check=False)
