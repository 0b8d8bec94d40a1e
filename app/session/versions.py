"""Versions of all that Tain stands on."""

import platform
from importlib.metadata import PackageNotFoundError, version

from PySide6.QtCore import qVersion

from core.version import VERSION

REPORTED_PACKAGES = ("PySide6_Essentials", "numpy", "shapely", "ezdxf", "lxml", "svgelements", "pypdfium2", "uharfbuzz")


def versions_text() -> str:
    """Versions of Tain, Python, Qt, the system and the libraries, one a line."""
    lines = [
        f"Tain {VERSION}",
        f"Python {platform.python_version()}",
        f"Qt {qVersion()}",
        f"{platform.system()} {platform.release()} {platform.machine()}",
    ]
    for package in REPORTED_PACKAGES:
        try:
            lines.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            continue
    return "\n".join(lines)
