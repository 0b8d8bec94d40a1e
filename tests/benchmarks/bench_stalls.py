"""The longest burst of processor time of the window's thread for every action, on the largest sample and large files.

While a burst lasts the window answers nothing. The bound is a tenth of a second; it is the reference of each line.
"""

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from core.collecting import collector_at_rest
from tests.benchmarks import Line
from tests.benchmarks.sheets import SHEETS

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication

from app.theme.in_force import apply_theme
from app.window.coming import load_what_comes
from tests.windows import Watchdog, a_window, every_action

LONGEST_S = 0.1
CREST = Path(__file__).parents[2] / "sample_jobs" / "crest.svg"


def run() -> Iterable[Line]:
    """One line for each file and action over half the bound, and one for the longest of the others."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    apply_theme(app, "light")
    load_what_comes().join()
    with tempfile.TemporaryDirectory() as folder, collector_at_rest():  # all three as the program has it
        os.environ["TAIN_HOME"] = folder
        files = {"crest.svg": CREST}
        for name, drawn in SHEETS.items():
            files[name] = Path(folder) / f"{name}.svg"
            files[name].write_bytes(drawn())
        for name, file in files.items():
            yield from _of_file(name, file, Path(folder) / f"home {name}")


def _of_file(name: str, file: Path, home: Path) -> Iterable[Line]:
    dog = Watchdog()
    with a_window(home) as window:
        for words, action in every_action(window, file):
            dog.do(window, words, action)
        window.session.mark_saved(window.session.order, Path("done.tain"))
    dog.off()
    slowest = sorted(dog.longest_s.items(), key=lambda item: -item[1])
    told = [item for item in slowest if item[1] > LONGEST_S / 2] or slowest[:1]
    for words, seconds in told:
        yield Line(
            name=f"longest burst, {name}: {words}",
            time_s=seconds,
            reference="the bound",
            reference_s=LONGEST_S,
            at_least=1.0,
        )
