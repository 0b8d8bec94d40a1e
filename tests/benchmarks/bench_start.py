"""From the start of the process to the first paint, beside a bare window; ``--version`` and ``--help`` beside nothing.

Processor time of the processes, the least of a few runs. Modules are compiled once, as where the program is installed.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable

from tests.benchmarks import Line

RUNS = 5
_LEAVE = """
import os
from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QApplication, QMainWindow, QWidget

class Watch(QObject):
    def eventFilter(self, seen, event):
        if event.type() == QEvent.Type.Paint and isinstance(seen, QWidget):
            QTimer.singleShot(0, lambda: os._exit(0))
        return False

app = QApplication(["first paint"])
watch = Watch()
app.installEventFilter(watch)
"""
BARE = f"{_LEAVE}\nwindow = QMainWindow()\nwindow.resize(1280, 800)\nwindow.show()\napp.exec()"
TAIN = f"{_LEAVE}\nfrom app.window.start import run_window\nrun_window(None)"


def run() -> Iterable[Line]:
    yield Line(
        name="process start to first paint",
        time_s=_least_s("-c", TAIN),
        reference="a bare PySide6 window",
        reference_s=_least_s("-c", BARE),
        at_least=1 / 4,
    )
    for word in ("--version", "--help"):
        yield Line(
            name=f"tain {word}",
            time_s=_least_s("-m", "app", word),
            reference="python -c pass",
            reference_s=_least_s("-c", "pass"),
            at_least=1 / 2,
        )


def _least_s(*words: str) -> float:
    with tempfile.TemporaryDirectory() as home:
        places = dict.fromkeys(("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "APPDATA"), home)
        compiled = {"PYTHONPYCACHEPREFIX": home, "PYTHONDONTWRITEBYTECODE": ""}
        surroundings = {**os.environ, **places, **compiled, "QT_QPA_PLATFORM": "offscreen"}
        return min(_processor_s([sys.executable, *words], surroundings) for _ in range(RUNS))


def _processor_s(command: list[str], surroundings: dict[str, str]) -> float:
    """User and system time of a process."""
    before = _of_children_s()
    subprocess.run(command, env=surroundings, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return _of_children_s() - before


def _of_children_s() -> float:
    try:
        import resource
    except ImportError:  # Windows
        times = os.times()
        return times.children_user + times.children_system
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
