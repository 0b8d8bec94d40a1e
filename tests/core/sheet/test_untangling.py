"""Shapes let overlap are moved until none does, within a limit that leaves room; where none is left it says so."""

import itertools

import pytest
import shapely

from core.geometry.affine import apply_to_region, translation
from core.progress import silent
from core.sheet.meetings import Meetings, fields_of
from core.sheet.untangling import Laid, Untangling

SQUARE, BAR = shapely.box(0, 0, 10, 10), shapely.box(0, 0, 20, 5)
ROOM = shapely.box(0, 0, 42, 22)


def untangling(*turned, going=lambda: True):
    meetings = Meetings(fields_of(ROOM, turned, 0.5, silent), 0.0)
    return meetings, Untangling(meetings, going=going)


def shapes(meetings, laid):
    result = []
    for one in laid:
        field = meetings.fields[one.field]
        x, y = field.grid.x_mm + one.column * field.grid.cell_mm, field.grid.y_mm + one.row * field.grid.cell_mm
        result.append(apply_to_region(translation(x, y), field.outline))
    return result


def assert_apart(found):
    assert all(ROOM.buffer(1e-6).contains(one) for one in found)
    assert max(one.intersection(two).area for one, two in itertools.combinations(found, 2)) < 1e-6


@pytest.mark.parametrize(("axis", "limit_mm"), [(0, 32.0), (1, 22.0)])
def test_all_that_lay_on_one_heap_lie_apart_within_the_limit(axis, limit_mm):
    meetings, some = untangling((0, SQUARE, 0.0))
    heap = [Laid(0, 0, 0) for _ in range(4)]
    found = some.within(heap, axis=axis, limit_mm=limit_mm)
    laid = shapes(meetings, found)
    assert_apart(laid)
    assert max(one.bounds[2 + axis] for one in laid) <= limit_mm + 1e-6
    assert heap == [Laid(0, 0, 0)] * 4  # what was given is left alone


def test_where_there_is_no_room_or_no_time_there_is_no_answer():
    _, some = untangling((0, SQUARE, 0.0))
    assert some.within([Laid(0, 0, 0)] * 4, axis=0, limit_mm=19.0) is None  # 19 x 22 mm hold two
    assert some.within([Laid(0, 0, 0)], axis=0, limit_mm=9.0) is None
    _, late = untangling((0, SQUARE, 0.0), going=lambda: False)
    assert late.within([Laid(0, 0, 0)] * 2, axis=0, limit_mm=42.0) is None


def test_one_more_finds_its_place_or_none():
    meetings, some = untangling((0, SQUARE, 0.0), (1, BAR, 0.0), (1, BAR, 90.0))
    laid = some.within([Laid(0, 0, 0)] * 3, axis=0, limit_mm=42.0)
    found = some.with_another(laid, 1)
    assert len(found) == 4 and meetings.fields[found[-1].field].wanted == 1
    assert_apart(shapes(meetings, found))
    assert some.with_another(laid, 2) is None  # none of that kind fits on the room at all


def test_swapped_ones_lie_about_where_the_others_were():
    meetings, some = untangling((0, SQUARE, 0.0), (1, BAR, 0.0))
    laid = [Laid(0, 0, 0), Laid(1, 44, 20)]
    before, after = (shapes(meetings, one) for one in (laid, some.swapped(laid)))
    assert [one.field for one in some.swapped(laid)] == [0, 1]
    for one, other in ((after[0], before[1]), (after[1], before[0])):
        assert one.bounds[:2] == pytest.approx(other.bounds[:2], abs=0.26)
