"""Whatever is opened, the artwork is large: every sample takes nine tenths of a face's limiting side."""

import pytest
from PySide6.QtCore import QRectF

from app.session.samples import sample_files


@pytest.mark.parametrize("size", [(1280, 800), (820, 620)], ids=["1280", "820"])
def test_every_sample_fills_nine_tenths_after_opening(window, dialogs, settle, size):
    window.resize(*size)
    dialogs.run = lambda dialog: True  # a size that a file does not say is taken as offered
    shares = {}
    for path in sample_files():
        window.files.open(path)
        settle(window)
        scene, face = window.faces.state.scene, window.faces.state.faces[0]
        assert scene is not None and scene.bounds_mm is not None
        drawn, area = face.rect_px(*scene.bounds_mm), QRectF(face.area)
        shares[path.name] = round(max(drawn.width() / area.width(), drawn.height() / area.height()), 3)
        assert area.contains(drawn)
    assert len(shares) >= 8
    assert min(shares.values()) >= 0.9, shares
