"""The small pictures of the samples that an empty window shows."""

from pathlib import Path

from app.canvas.thumbnail import thumbnail
from app.session.samples import sample_files
from app.window.main_window import MainWindow
from tests.windows import wait_until_settled


def take(window: MainWindow, folder: Path) -> None:
    """One picture a sample, as it was sent."""
    folder.mkdir(parents=True, exist_ok=True)
    for path in sample_files():
        window.session.mark_saved(window.session.order, Path("shown.tain"))
        window.files.open(path)
        wait_until_settled(window)
        drawn = window.faces.pictures.whole_artwork()
        assert drawn is not None
        thumbnail(drawn).save(str(folder / f"{path.stem}.png"))
        print(folder / f"{path.stem}.png")
