"""Windows opened and closed by the hundred and edits by the thousand: memory stays level, no thread is left.

``python -m tests.stress.cycles --windows 500 --edits 2000``. Memory is compared between the end of the first fifth,
when all that is remembered is remembered, and the end.
"""

import argparse
import ctypes
import gc
import os
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication

from app.session.samples import sample_files
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from tests.windows import a_window, wait_until_settled

GROWS_AT_MOST_MB = 40.0
"""What Qt and the allocator keep for themselves of a few hundred windows."""
LOOKS = 5


def held_mb() -> float:
    """Memory that is held: garbage is collected and free pages go back first, where the C library can do that."""
    gc.collect()
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)
    return resident_mb()


def resident_mb() -> float:
    """Memory in use now."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def level(count: int, act: Callable[[int], None], what: str) -> list[str]:
    """Do it so often; complaints where memory grew."""
    began = time.monotonic()
    held = []
    for number in range(count):
        act(number)
        if (number + 1) % max(1, count // LOOKS) == 0:
            held.append(held_mb())
            print(f"{number + 1} {what}: {held[-1]:.0f} MB, {(time.monotonic() - began) / 60:.1f} minutes", flush=True)
    grown = held[-1] - held[0] if held else 0.0
    return [f"{what}: memory grew by {grown:.0f} MB"] if grown > GROWS_AT_MOST_MB else []


def main(words: list[str]) -> int:
    """Open, close, edit, measure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--windows", type=int, default=500)
    parser.add_argument("--edits", type=int, default=2000)
    options = parser.parse_args(words)
    app = QApplication([])
    apply_theme(app, "light")
    gc.disable()  # as in the program: on this thread only
    sample = next(path for path in sample_files() if path.stem == "name-plate")
    with tempfile.TemporaryDirectory(prefix="cycles-") as folder:
        home = Path(folder)
        os.environ["TAIN_HOME"] = folder

        def open_and_close(number: int) -> None:
            with a_window(home, sample) as window:
                window.go_to(list(Stage)[number % len(Stage)])

        found = level(options.windows, open_and_close, "windows")
        with a_window(home, sample) as window:

            def edit(number: int) -> None:
                job = window.session.job
                window.go_to(list(Stage)[number % len(Stage)])
                placement = replace(job.placement, centred=False, x_mm=10.0 + number % 50, y_mm=10.0 + number % 7)
                window.session.commit(replace(job, placement=placement), f"Edit {number}")
                if number % 10 == 9:
                    wait_until_settled(window)
                    gc.collect(1)

            found += level(options.edits, edit, "edits")
    if threading.active_count() > 1:
        found.append(f"threads are left: {[one.name for one in threading.enumerate()]}")
    for line in found:
        print(line)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
