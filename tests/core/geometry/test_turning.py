"""The one turn from face to face: which axis is mirrored, and that twice is none."""

import pytest

from core.geometry.affine import apply, compose
from core.geometry.turning import turned_over


@pytest.mark.parametrize(("turn", "corner"), (("sideways", (290, 20)), ("endways", (10, 180))))
def test_a_sheet_is_turned_about_its_middle(turn, corner):
    matrix = turned_over(turn, 300, 200)
    assert apply(matrix, [(10, 20), (150, 100)]).tolist() == [list(corner), [150, 100]]
    assert compose(matrix, matrix) == pytest.approx((1, 0, 0, 1, 0, 0))
