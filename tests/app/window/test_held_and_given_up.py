"""What the monkey found: keys at a button that has not the focus, pictures given up while they are drawn."""

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QImage, QPainter
from PySide6.QtTest import QTest

from app.canvas.gap_map import sweep
from app.stages.stage import Stage
from core.errors import Cancelled


def test_an_arrow_key_goes_on_from_the_button_that_got_it(window):
    window.faces.setFocus()
    QTest.keyClick(window.rail.button(Stage.SHEET), Qt.Key.Key_Down)
    assert window.stage is list(Stage)[list(Stage).index(Stage.SHEET) + 1]


def test_a_picture_that_is_given_up_leaves_its_painter_as_it_was(qapp):
    """Qt warns of a painter that ends with saved states; any such line fails a test."""

    def breath():
        raise Cancelled

    image = QImage(10, 10, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    work = type("Work", (), {"painter": painter, "breath": staticmethod(breath)})()
    with pytest.raises(Cancelled):
        sweep(work, np.array([[1.0, 1.0, 5.0, 5.0]]), QBrush(), 1.0)
    painter.end()
