"""When a line counts as closed: by its flag, or because its ends meet and it is more than a speck or a stretch."""

import pytest

from core.geometry.ends import closed_subpaths
from core.geometry.path import ellipse, joined, polyline

SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10)]


@pytest.mark.parametrize(
    ("points", "closes"),
    (
        ([*SQUARE, (0, 0)], True),
        ([*SQUARE, (0.006, 0.006)], True),  # within 0.01 mm of each other
        ([*SQUARE, (0.02, 0)], False),
        ([(0, 0), (10, 0)], False),
        ([(0, 0), (0.005, 0)], False),  # ends that meet because there is nothing between them
        ([(0, 0), (0.01, 0), (0.01, 0.01), (0, 0)], False),  # shorter than four times what ends may lie apart
    ),
)
def test_ends_that_meet_close_an_outline(points, closes):
    assert closed_subpaths(polyline(points)).tolist() == [closes]


def test_the_flag_closes_whatever_the_ends_do_and_each_subpath_is_judged_alone():
    path = joined([polyline(SQUARE, closed=True), polyline(SQUARE), ellipse((0, 0), 5, 5)])
    assert closed_subpaths(path).tolist() == [True, False, True]
