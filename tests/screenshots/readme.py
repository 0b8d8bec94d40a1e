"""The README's pictures, each a state of the window that a user can bring about."""

from pathlib import Path

from app.stages.coverage import CoveragePage
from app.stages.stage import Stage
from app.window.main_window import MainWindow
from tests.windows import wait_until_settled

SAMPLES = Path(__file__).parents[2] / "sample_jobs"


def take(window: MainWindow, folder: Path) -> None:
    """All of them."""
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
    window.faces.zooming.fit()
    window.go_to(Stage.HAND_OVER)
    shoot("hand-over-light")


def open_sample(window: MainWindow, name: str) -> None:
    """Open a sample; what stood there before was only for show."""
    window.session.mark_saved(window.session.order, Path("shown.tain"))
    window.files.open(SAMPLES / name)
    wait_until_settled(window)
