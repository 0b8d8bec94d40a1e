"""The README's pictures, made through the real window without a screen: ``python -m tests.screenshots OUT_DIR``."""

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication

from app.stages.coverage import CoveragePage
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.window.main_window import MainWindow
from tests.windows import a_window, wait_until_settled

SAMPLES = Path(__file__).parents[1] / "sample_jobs"
SIZE_PX = (1280, 800)


def main(folder: Path) -> None:
    """Write every picture."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        apply_theme(app, "light")
        with a_window(Path(home)) as window:
            window.resize(*SIZE_PX)
            take(window, folder)


def take(window: MainWindow, folder: Path) -> None:
    """Each picture is a state of the window that a user can bring about."""

    settings = window.settings

    def shoot(name: str) -> None:
        wait_until_settled(window)
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
    wait_until_settled(window)
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
    wait_until_settled(window)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python -m tests.screenshots OUT_DIR")
    main(Path(sys.argv[1]))
