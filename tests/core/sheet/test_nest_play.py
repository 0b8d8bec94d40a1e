"""Play in a nest, against poses tried one by one with GEOS and against regular polygons worked out by hand."""

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from core.sheet.kerf import offset
from core.sheet.nest_play import nest_play
from core.sheet.play import Play, Pose, moved, play_of_two_points, play_shown

L_PLATE = shapely.Polygon([(0, 0), (60, 0), (60, 20), (25, 20), (25, 40), (0, 40)])


def across_flats(sides, width_mm):
    """A regular polygon, a flat side up."""
    radius = width_mm / 2 / math.cos(math.pi / sides)
    angles = math.pi / sides + np.arange(sides) * math.tau / sides
    return shapely.Polygon(np.column_stack([radius * np.cos(angles), radius * np.sin(angles)]))


def tried(blank, clearance_mm, *, turns, shifts, far_rad):
    """The farthest that any corner lies off over a grid of poses that GEOS finds inside the opening."""
    opening = shapely.buffer(blank, clearance_mm + 1e-6, quad_segs=256)
    shapely.prepare(opening)
    corners = shapely.get_coordinates(blank)
    steps = np.linspace(-clearance_mm, clearance_mm, shifts)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 1, 2)
    farthest = 0.0
    for turn in np.linspace(-far_rad, far_rad, turns):
        turned = affinity.rotate(blank, turn, origin="centroid", use_radians=True)
        lying = shapely.get_coordinates(turned)[None] + grid
        goes = shapely.contains(opening, shapely.polygons(lying))
        if goes.any():
            farthest = max(farthest, float(np.hypot(*np.moveaxis(lying[goes] - corners, -1, 0)).max()))
    return farthest


@pytest.mark.parametrize(("sides", "first_order", "told"), [(4, 0.2828, 0.283), (6, 0.4, 0.40), (8, 0.5226, 0.53)])
def test_regular_plates_lie_off_as_far_as_their_turn_lets_them(sides, first_order, told):
    """c / sin(π / n): a corner moves at right angles to its radius, and its edges stand π / n off that."""
    blank = across_flats(sides, 60.0)
    play = nest_play(blank, 0.2)
    assert 0.2 / math.sin(math.pi / sides) == pytest.approx(first_order, abs=1e-4)
    assert play.farthest_mm(blank) == pytest.approx(told, abs=0.005)
    assert not play.turns_freely


@pytest.mark.parametrize(
    ("blank", "far_rad"),
    [(across_flats(4, 60.0), 0.008), (across_flats(6, 60.0), 0.0126), (across_flats(8, 60.0), 0.018), (L_PLATE, 0.015)],
)
def test_no_pose_that_goes_lies_farther_off_and_one_lies_nearly_so_far(blank, far_rad):
    play = nest_play(blank, 0.2)
    there = play.farthest_mm(blank)
    found = tried(blank, 0.2, far_rad=far_rad, turns=41, shifts=17)
    assert found <= there * 1.005
    assert found >= there * 0.93  # the grid is coarse


def test_every_pose_lies_in_the_opening():
    for blank in (across_flats(6, 60.0), L_PLATE):
        play = nest_play(blank, 0.2)
        opening = shapely.buffer(blank, 0.2, quad_segs=256)
        for pose in play.poses:
            lying = moved(blank, play.middle, pose)
            assert shapely.difference(lying, opening).area < 2e-3


def test_a_disc_turns_freely_and_only_its_shift_counts():
    play = nest_play(shapely.Point(0, 0).buffer(30, quad_segs=64), 0.2)
    assert play.turns_freely
    assert play.farthest_mm(shapely.Point(0, 0).buffer(30)) == pytest.approx(0.2, abs=0.005)
    assert not nest_play(L_PLATE, 0.2).turns_freely


def test_no_clearance_leaves_no_play():
    play = nest_play(L_PLATE, 0.0)
    assert play.farthest_mm(L_PLATE) == 0.0 and play_shown(L_PLATE, play).area_mm2 == 0.0


def test_slivers_follow_the_turn_as_well():
    """A ring of small squares far from the middle shows more for the turn than any shift of the clearance does."""
    blank = across_flats(6, 60.0)
    marks = shapely.MultiPolygon(
        [affinity.rotate(shapely.box(24, -2, 28, 2), angle, origin=(0, 0)) for angle in range(0, 360, 60)]
    )
    play = nest_play(blank, 0.2)
    shown = play_shown(marks, play)
    shift_alone = 6 * 4 * 0.2 * math.sqrt(2)  # of any direction, at most
    assert shown.area_mm2 > shift_alone * 1.05
    tried_mm2 = max(
        marks.area - shapely.intersection(marks, moved(marks, play.middle, pose)).area for pose in play.poses
    )
    assert shown.area_mm2 == pytest.approx(tried_mm2, rel=0.02)
    assert isinstance(play, Play) and offset(blank, 0.2).contains(blank)


def test_two_points_met_lie_no_farther_off_than_they_were_met():
    places = ((5.0, 5.0), (105.0, 65.0))
    play = play_of_two_points(*places, 0.05)
    assert play.off_mm(np.array(places)) == pytest.approx([0.05, 0.05], abs=1e-4)
    for pose in play.poses:
        for place in places:
            there = moved(shapely.Point(place), play.middle, pose)
            assert there.distance(shapely.Point(place)) <= 0.05 + 1e-4


def shifted(shift_mm, angles=72):
    """A play of shifts alone, to all sides."""
    round_ = [math.tau * k / angles for k in range(angles)]
    poses = tuple(Pose(dx_mm=shift_mm * math.cos(a), dy_mm=shift_mm * math.sin(a), turn_rad=0.0) for a in round_)
    return Play(middle=(0.0, 0.0), poses=poses, most_turn_deg=0.0)


def test_a_shift_of_a_rectangle_shows_its_height_times_the_shift():
    """1200 - (40 - d cos)(30 - d sin), largest where tan = 40 / 30 (up to d²)."""
    assert play_shown(shapely.box(0, 0, 40, 30), shifted(0.2)).area_mm2 == pytest.approx(0.2 * 50, abs=0.03)


def test_a_shift_of_a_disc_shows_what_the_lens_leaves():
    """Two circles' lens: 2 r² acos(d / 2r) - d/2 √(4r² - d²) (E. W. Weisstein, MathWorld,
    Circle-Circle Intersection)."""
    radius, shift = 20.0, 3.0
    disc = shapely.Point(0, 0).buffer(radius, quad_segs=256)
    lens = 2 * radius**2 * math.acos(shift / 2 / radius) - shift / 2 * math.sqrt(4 * radius**2 - shift**2)
    assert play_shown(disc, shifted(shift)).area_mm2 == pytest.approx(math.pi * radius**2 - lens, rel=1e-4)
