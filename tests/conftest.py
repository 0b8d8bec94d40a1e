"""What all tests share: no screen, and window tests only where Qt's own system libraries are installed."""

import os
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ["PYTEST_QT_API"] = "pyside6"

try:
    import PySide6.QtGui  # noqa: F401

    QT_MISSING = ""
except ImportError as error:
    QT_MISSING = str(error)

if not QT_MISSING:
    pytest_plugins = ["pytestqt.plugin"]


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Leave the window's tests out on a machine without the libraries that Qt needs even off screen."""
    needs_qt = collection_path.parent.name == "app" and collection_path.parent.parent.name == "tests"
    return True if QT_MISSING and needs_qt and collection_path.name not in _WITHOUT_QT else None


_WITHOUT_QT = ("test_command_line.py", "__init__.py")


def pytest_report_header() -> str:
    """Say so when the window is not tested."""
    return f"window tests left out: Qt can't load here ({QT_MISSING})" if QT_MISSING else "window tests: offscreen"
