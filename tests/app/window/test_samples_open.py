"""Every sample opens, and is large in a wide and in a small window: nine tenths of a face's limiting side."""

import pytest
from PySide6.QtCore import QRectF

from app.session.samples import sample_files
from app.stages.stage import Stage, State, marks

pytestmark = pytest.mark.usefixtures("shared_window")

SIZES = ((1280, 800), (820, 620))


def test_there_are_samples():
    assert len(sample_files()) >= 8


@pytest.mark.parametrize("path", sample_files(), ids=lambda path: path.name)
def test_every_sample_opens_and_fills_nine_tenths(window, dialogs, settle, path):
    for size in SIZES:
        window.resize(*size)
        if path.stem == "room-key-tags":  # the one that does not say its size, which is taken as offered
            dialogs.expect("run", True)
        window.files.open(path)
        settle(window)
        assert window.session.complete
        assert marks(window.session)[Stage.ARTWORK].state in (State.DONE, State.DECIDE)
        scene, face = window.faces.state.scene, window.faces.state.faces[0]
        assert scene is not None and scene.bounds_mm is not None
        drawn, area = face.rect_px(*scene.bounds_mm), QRectF(face.area)
        assert area.contains(drawn), size
        assert round(max(drawn.width() / area.width(), drawn.height() / area.height()), 3) >= 0.9, size
