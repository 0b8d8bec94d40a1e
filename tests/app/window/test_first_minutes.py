"""An empty window: samples and recent files as pictures, a place to drop a file, and where the keys are."""

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QImage
from PySide6.QtWidgets import QApplication

from app.session.samples import sample_files
from app.window.welcome import Tile, Welcome

pytestmark = pytest.mark.usefixtures("shared_window")


def tile_named(welcome: Welcome, name: str) -> Tile:
    tile = welcome.findChild(Tile, f"tile {name}")
    assert tile is not None
    return tile


def is_a_picture(tile: Tile) -> bool:
    """Whether the tile shows more than one colour."""
    image = tile.icon().pixmap(tile.iconSize()).toImage().convertToFormat(QImage.Format.Format_RGB32)
    colours = {image.pixel(x, y) for x in range(0, image.width(), 3) for y in range(0, image.height(), 3)}
    return len(colours) > 3


def test_every_sample_is_a_tile_with_its_picture_that_opens_it(window, qtbot, settle):
    welcome = window.welcome
    qtbot.waitUntil(lambda: all(is_a_picture(tile) for tile in welcome.samples.tiles))
    assert [tile.path for tile in welcome.samples.tiles] == list(sample_files())
    assert not welcome.recents.isVisible()
    tile_named(welcome, "crest.svg").click()
    settle(window)
    assert window.session.job.source.name == "crest.svg"
    assert not welcome.isVisible()
    assert window.faces.hasFocus()


def test_a_file_that_was_opened_is_a_picture_in_the_next_empty_window(make_window, plate, qtbot, settle):
    window = make_window()
    window.files.open(plate)
    settle(window)
    window.close()
    again = make_window().welcome
    tile = tile_named(again, "plate.svg")
    qtbot.waitUntil(lambda: is_a_picture(tile))
    tile.click()
    window = again.window()
    settle(window)
    assert window.session.job.source.name == "plate.svg"


def test_a_file_held_over_the_window_is_taken_and_the_keys_go_to_the_faces(window, plate, settle):
    held = QMimeData()
    held.setUrls([QUrl.fromLocalFile(str(plate))])
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    action = Qt.DropAction.CopyAction
    assert window.welcome.open_button.hasFocus()
    before = window.welcome.zone.grab().toImage()
    QApplication.sendEvent(window, QDragEnterEvent(QPoint(300, 300), action, held, buttons, keys))
    assert window.welcome.zone.grab().toImage() != before
    QApplication.sendEvent(window, QDropEvent(QPointF(300, 300), action, held, buttons, keys))
    settle(window)
    assert window.session.complete
    assert window.faces.hasFocus()


def test_the_tiles_keep_within_the_window_at_its_least_size(window, qtbot):
    window.resize(window.minimumSize())
    welcome = window.welcome

    def within() -> bool:
        rights = [tile.mapTo(welcome, QPoint(tile.width(), 0)).x() for tile in welcome.samples.tiles]
        return window.width() == window.minimumWidth() and max(rights) <= welcome.width()

    qtbot.waitUntil(within)


def test_pictures_of_samples_are_shipped():
    for sample in sample_files():
        shipped = Path(__file__).parents[3] / "app" / "help" / "samples" / f"{sample.stem}.png"
        assert not QImage(str(shipped)).isNull(), shipped
