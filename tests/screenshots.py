"""The README's pictures, made through the real window without a screen: ``python -m tests.screenshots OUT_DIR``."""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtWidgets import QApplication

from app.session.faults import Faults
from app.session.session import Session
from app.session.settings import Settings
from app.stages.coverage import CoveragePage
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.window.main_window import MainWindow

SAMPLES = Path(__file__).parents[1] / "sample_jobs"
SIZE_PX = (1280, 800)
DRAWN_WITHIN_MS = 3000
LOOK_EVERY_MS = 20


def main(folder: Path) -> None:
    """Write every picture."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        session = Session()
        faults = Faults(Path(home), lambda: session.job)
        faults.happened.connect(lambda fault: sys.exit(fault.report))
        settings = Settings(Path(home))
        apply_theme(app, "light")
        window = MainWindow(session, settings, faults, Path(home))
        window.resize(*SIZE_PX)
        window.show()
        take(window, settings, folder)
        window.give_up_changes()
        window.close()


def take(window: MainWindow, settings: Settings, folder: Path) -> None:
    """Each picture is a state of the window that a user can bring about."""

    def shoot(name: str) -> None:
        settle(window)
        window.grab().save(str(folder / f"{name}.png"))
        print(folder / f"{name}.png")

    open_sample(window, "crest.svg")
    window.go_to(Stage.LAYERS)
    shoot("layers-light")
    window.go_to(Stage.SHEET)
    shoot("sheet-light")
    open_sample(window, "house-number.svg")
    settings.set("looks", "dark")
    window.go_to(Stage.COVERAGE)
    page = window.pages[Stage.COVERAGE]
    assert isinstance(page, CoveragePage)
    page.take_pitch(next(layer for layer in window.session.job.layers if layer.purpose == "fill"), 300)
    settle(window)
    plan = window.session.plan
    assert plan is not None
    page.show_place(next(one.coverage.places[0] for one in plan.layers if one.coverage is not None))
    shoot("coverage-dark")
    settings.set("looks", "light")
    window.faces.fit()
    window.go_to(Stage.HAND_OVER)
    shoot("hand-over-light")


def open_sample(window: MainWindow, name: str) -> None:
    """Open a sample; what stood there before was only for show."""
    window.session.mark_saved(window.session.job, Path("shown.tain"))
    window.files.open(SAMPLES / name)
    settle(window)


def settle(window: MainWindow) -> None:
    """Wait until everything is worked out, then until the faces are drawn."""
    wait_until(lambda: not window.files.busy and not window.session.busy)
    loop = QEventLoop()
    window.faces.drawn.connect(loop.quit)
    QTimer.singleShot(DRAWN_WITHIN_MS, loop.quit)
    loop.exec()
    window.faces.drawn.disconnect(loop.quit)


def wait_until(done: Callable[[], bool]) -> None:
    """Let the window work until something is so."""
    loop = QEventLoop()
    timer = QTimer()
    timer.timeout.connect(lambda: loop.quit() if done() else None)
    timer.start(LOOK_EVERY_MS)
    loop.exec()
    timer.stop()


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python -m tests.screenshots OUT_DIR")
    main(Path(sys.argv[1]))
