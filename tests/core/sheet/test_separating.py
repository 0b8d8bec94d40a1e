"""Shapes let overlap are moved until none does, within a limit that leaves room; where none is left it says so."""

import itertools

import numpy as np
import pytest
import shapely

from core.geometry.affine import apply_to_region, translation
from core.progress import silent
from core.sheet.descending import Contacts, descended
from core.sheet.half_planes import HalfPlanes
from core.sheet.meetings import Meetings, fields_of
from core.sheet.separating import Separating

SQUARE, BAR = shapely.box(0, 0, 10, 10), shapely.box(0, 0, 20, 5)
ELL = shapely.Polygon([(0, 0), (12, 0), (12, 4), (4, 4), (4, 12), (0, 12)])
ROOM = shapely.box(0, 0, 42, 22)


def separating(*turned, room=ROOM, going=lambda: True):
    meetings = Meetings(fields_of(room, turned, 0.5, silent), 0.0)
    return meetings, Separating(room, meetings, going=going)


def shapes(meetings, spots):
    return [apply_to_region(translation(x, y), meetings.fields[field].outline) for field, x, y in spots]


def assert_apart(found, room=ROOM):
    assert all(room.buffer(1e-6).contains(one) for one in found)
    assert max(one.intersection(two).area for one, two in itertools.combinations(found, 2)) < 1e-6


@pytest.mark.parametrize(("axis", "limit_mm"), [(0, 34.0), (1, 22.0)])
@pytest.mark.parametrize("shape", [SQUARE, ELL], ids=["square", "ell"])
def test_all_that_lay_on_one_heap_lie_apart_within_the_limit(shape, axis, limit_mm):
    meetings, some = separating((0, shape, 0.0))
    found, whole = some.within([(0, 0.0, 0.0)] * 3, axis=axis, limit_mm=limit_mm)
    laid = shapes(meetings, found)
    assert whole and max(one.bounds[2 + axis] for one in laid) <= limit_mm + 1e-6
    assert_apart(laid)


def test_they_keep_off_a_hole_of_the_room():
    holed = ROOM.difference(shapely.box(14, 6, 28, 16))
    meetings, some = separating((0, SQUARE, 0.0), room=holed)
    found, whole = some.within([(0, 12.0, 4.0), (0, 20.0, 8.0)], axis=0, limit_mm=42.0)
    assert whole
    assert_apart(shapes(meetings, found), holed)


def test_where_there_is_no_room_or_no_time_it_says_so():
    _, some = separating((0, SQUARE, 0.0))
    assert not some.within([(0, 0.0, 0.0)] * 4, axis=0, limit_mm=19.0)[1]  # 19 x 22 mm hold two
    assert not some.within([(0, 0.0, 0.0)], axis=0, limit_mm=9.0)[1]
    _, late = separating((0, SQUARE, 0.0), going=lambda: False)
    assert not late.within([(0, 0.0, 0.0)] * 4, axis=0, limit_mm=21.0)[1]


def test_one_more_finds_its_place_or_none():
    meetings, some = separating((0, SQUARE, 0.0), (1, BAR, 0.0), (1, BAR, 90.0))
    laid = [(0, 0.0, 0.0), (0, 11.0, 0.0), (0, 22.0, 0.0)]
    found, whole = some.with_another(laid, 1)
    assert whole and [meetings.fields[field].wanted for field, _, _ in found] == [0, 0, 0, 1]
    assert_apart(shapes(meetings, found))
    assert some.with_another(laid, 2) == (laid, False)  # none of that kind fits on the room at all


def contacts(places):
    planes = HalfPlanes([[shapely.get_coordinates(SQUARE.exterior)[:-1]]], cell_mm=1.0)
    pairs = itertools.combinations(range(len(places)), 2)
    return Contacts.of([(planes.between(0, 0), one, other) for one, other in pairs])


def test_the_slope_is_that_of_the_squared_depths():
    """Against differences of their sum, where no two sides are as near."""
    at = np.array([[0.0, 0.0], [6.3, 2.1], [3.9, 8.2]])
    found, weights = contacts(at), np.array([1.0, 2.5, 0.7])
    assert found.depths_mm(at) == pytest.approx([10 - 6.3, 10 - 8.2, 10 - 6.1])
    value, slope = found.slope(at, weights, 0.0)
    assert value == pytest.approx(weights @ np.square([3.7, 1.8, 3.9]))
    for shape, axis in np.ndindex(slope.shape):
        step = np.zeros_like(at)
        step[shape, axis] = 1e-5
        ahead, behind = (found.slope(there, weights, 0.0)[0] for there in (at + step, at - step))
        assert slope[shape, axis] == pytest.approx((ahead - behind) / 2e-5, abs=1e-4)


def test_the_way_down_ends_apart_and_within_its_bounds():
    at = np.array([[0.0, 0.0], [6.3, 2.1], [3.9, 8.2]])
    found = contacts(at)
    low, high = np.full((3, 2), -1.0), np.full((3, 2), 14.0)
    there = descended(found, np.ones(3), at, low, high, 1e-3)
    assert found.depths_mm(there).max() <= 0 and (there >= low).all() and (there <= high).all()
    narrow = descended(found, np.ones(3), at, low, np.full((3, 2), 5.0), 1e-3)
    assert (narrow <= 5.0).all() and found.depths_mm(narrow).max() > 0


def test_a_heap_of_triangles_comes_apart_in_little_more_than_they_fill():
    """Each at one of four angles, where it has to be turned and put elsewhere; by rounds, not by time."""
    random = np.random.default_rng(7)
    triangles = [shapely.Polygon(random.uniform(0, 40, (3, 2))) for _ in range(8)]
    area_mm2 = sum(one.area for one in triangles)
    room = shapely.box(0, 0, area_mm2 / 60 / 0.6, 60)
    turned = [(of, shape, angle) for of, shape in enumerate(triangles) for angle in (0.0, 90.0, 180.0, 270.0)]
    meetings, some = separating(*turned, room=room)
    heap = [(field.number, *(room.bounds[:2] - meetings.bounds[field.number, :2]).tolist())
            for field in meetings.fields if field.angle_deg == 0.0]  # fmt: skip
    found, whole = some.within(heap, axis=0, limit_mm=room.bounds[2])
    assert whole and sorted(meetings.fields[field].wanted for field, _, _ in found) == list(range(8))
    assert_apart(shapes(meetings, found), room)
