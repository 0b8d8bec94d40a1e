"""The words of the chance bar keep clear of its mark."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF

from app.widgets.chance_bar import MARK_GAP_PX, beside_mark

PART = QRectF(100.0, 0.0, 60.0, 18.0)


@given(mark_x=st.floats(0.0, 300.0))
def test_the_room_for_a_word_never_reaches_the_mark(mark_x):
    room = beside_mark(PART, mark_x)
    assert room.left() >= PART.left() - 1e-9 and room.right() <= PART.right() + 1e-9
    assert room.right() <= mark_x - MARK_GAP_PX + 1e-9 or room.left() >= mark_x + MARK_GAP_PX - 1e-9


@pytest.mark.parametrize(("mark_x", "width"), [(20.0, 60.0), (300.0, 60.0), (150.0, 47.0), (110.0, 47.0)])
def test_it_is_the_larger_side(mark_x, width):
    assert beside_mark(PART, mark_x).width() == pytest.approx(width)
