"""Versions of all that Tain stands on."""

import platform

from PySide6.QtCore import qVersion

from core.version import VERSION

REPORTED_PACKAGES = ("PySide6_Essentials", "numpy", "shapely", "ezdxf", "lxml", "svgelements", "pypdfium2", "uharfbuzz")


def ground_versions() -> list[str]:
    """Versions of Tain, Python, Qt and the system."""
    return [
        f"Tain {VERSION}",
        f"Python {platform.python_version()}",
        f"Qt {qVersion()}",
        f"{platform.system()} {platform.release()} {platform.machine()}",
    ]


def versions_text() -> str:
    """The same with the libraries, one a line. Asking for these takes as long as a tenth of a start."""
    from importlib.metadata import PackageNotFoundError, version

    lines = ground_versions()
    for package in REPORTED_PACKAGES:
        try:
            lines.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            continue
    return "\n".join(lines)
