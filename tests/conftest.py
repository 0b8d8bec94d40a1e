"""What all tests share: no screen, and window tests only where Qt's own system libraries are installed."""

import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import platformdirs

if sys.dont_write_bytecode:  # nothing beside the source: then elsewhere, or every process compiles all of it anew
    sys.dont_write_bytecode = False
    sys.pycache_prefix = os.environ.setdefault(
        "PYTHONPYCACHEPREFIX", str(platformdirs.user_cache_path("tain") / "compiled")
    )
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core each: several only wait for each other; read by numpy

import pytest
from hypothesis import settings

from core.burning import line_order
from core.job import remembering
from core.sheet import copies

# how long one example takes depends on what else the machine does: time is measured in tests/benchmarks
# everybody judges by the same examples every time; TAIN_EXPLORE=1 looks for new ones
settings.register_profile(
    "tain", deadline=None, max_examples=60, derandomize=not os.environ.get("TAIN_EXPLORE"), database=None
)
settings.load_profile("tain")

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("TAIN_STRICT", "1")  # a fault of the program is no strange element of a file
os.environ["PYTEST_QT_API"] = "pyside6"

try:
    import PySide6.QtGui  # noqa: F401

    QT_MISSING = ""
except ImportError as error:
    QT_MISSING = str(error)

if not QT_MISSING:
    pytest_plugins = ["pytestqt.plugin"]


@pytest.fixture(scope="session", autouse=True)
def lines_ordered_without_kicks() -> Iterator[None]:
    """Half a minute of processor time: how short the way between lines gets is tested in test_line_order alone."""
    before, line_order.MOST_KICKS = line_order.MOST_KICKS, 0
    yield
    line_order.MOST_KICKS = before


@pytest.fixture(scope="session", autouse=True)
def nesting_ends_early() -> Iterator[None]:
    """It spends all the time it may, for each layout anew: how tight it gets is tested in test_copies and test_nesting
    alone, which say how long they give it."""
    before, (copies.ONE_DESIGN_S, copies.SEVERAL_S) = (copies.ONE_DESIGN_S, copies.SEVERAL_S), (0.25, 0.5)
    yield
    copies.ONE_DESIGN_S, copies.SEVERAL_S = before


@pytest.fixture(scope="session", autouse=True)
def jobs_remembered_for_longer() -> Iterator[None]:
    """The same samples are prepared in hundreds of tests: what depends on the same values is worked out once."""
    before, remembering.REMEMBERED = remembering.REMEMBERED, 300
    yield
    remembering.REMEMBERED = before


LONG_FILES = (
    "test_paint_stage.py",
    "test_pdf_against_pdfium.py",
    "test_svg_conformance.py",
    "test_svg_against_resvg.py",
    "test_scratched_offcut.py",
    "test_screened_fills.py",
    "test_burn_advice.py",
    "test_dose_commands.py",
    "test_clipped_captions.py",
    "test_files.py",
    "test_burning.py",
    "test_copying.py",
    "test_screened_tones.py",
    "test_paint_commands.py",
    "test_filled_fields.py",
    "test_run_sheet.py",
    "test_captions.py",
    "test_attack.py",
    "test_learning_is_calibrated.py",
    "test_added_setting.py",
    "test_traced_against_vectors.py",
    "test_next_coupon.py",
)
"""Begun first, the longest first of all: one process would be left alone with them at the end."""


def pytest_configure(config: pytest.Config) -> None:
    """Files are handed out in the order below, not by how many tests they hold (pytest-xdist)."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The long files before all others."""
    place = {name: number for number, name in enumerate(LONG_FILES)}
    items.sort(key=lambda item: place.get(item.path.name, len(place)))


def pytest_collection_finish() -> None:
    """What stands for the whole run (modules, thousands of tests) is not looked through again for rubbish."""
    gc.freeze()


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Leave the window's tests out on a machine without the libraries that Qt needs even off screen."""
    window = Path(__file__).parent / "app"
    if QT_MISSING and collection_path.is_relative_to(window) and collection_path.name not in _WITHOUT_QT:
        return True
    return None


_WITHOUT_QT = ("app", "test_command_line.py")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say so when the window was not tested."""
    if QT_MISSING:
        terminalreporter.write_line(f"The window's tests were left out: Qt can't load here ({QT_MISSING}).")
