"""The pictures of the pages of help: the window at each stage, in few colours so that they stay small."""

from pathlib import Path

from PIL import Image
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QPixmap

from app.help.page_texts import page_of_stage
from app.stages.stage import Stage
from app.window.main_window import MainWindow
from tests.screenshots.readme import open_sample
from tests.windows import wait_until, wait_until_settled

SIZE_PX = (1180, 740)
COLOURS = 96


def take(window: MainWindow, folder: Path) -> None:
    """One picture a page."""
    folder.mkdir(parents=True, exist_ok=True)
    window.resize(*SIZE_PX)
    wait_until_settled(window)
    wait_until(lambda: window.welcome.pictures_shown)
    _keep(window.grab(), folder / "start.png")
    open_sample(window, "crest.svg")
    window.go_to(Stage.SHEET)
    window.go_to(Stage.ARTWORK)
    for stage in Stage:
        window.go_to(stage)
        wait_until_settled(window)
        work = (window.burn_page.advising, window.paint_page.painting, window.shop)
        wait_until(lambda work=work: not any(one.busy for one in work))
        wait_until_settled(window)
        _keep(window.grab(), folder / f"{page_of_stage(stage.value)}.png")
    window.go_to(Stage.LAYERS)
    wait_until_settled(window)
    _keep(window.centralWidget().findChild(type(window.faces)).grab(), folder / "faces.png")


def _keep(picture: QPixmap, file: Path) -> None:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    picture.save(buffer, "PNG")  # type: ignore[call-overload]
    file.with_suffix(".tmp").write_bytes(buffer.data().data())
    with Image.open(file.with_suffix(".tmp")) as whole:
        few = whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(file, optimize=True)
    file.with_suffix(".tmp").unlink()
    print(file)
