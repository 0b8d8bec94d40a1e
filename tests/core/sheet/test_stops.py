"""Stops and pins, against geometry that can be worked out by hand."""

import math

import numpy as np
import pytest
import shapely

from core.errors import JobError, UnreadableError
from core.geometry.affine import apply_to_region
from core.sheet.faces import turn_matrix, turned_corner
from core.sheet.placement import Sheet
from core.sheet.stops import PinHoles, corner_stop, nest, pin_holes

BLANK = shapely.Polygon([(0, 0), (60, 0), (60, 20), (25, 20), (25, 40), (0, 40)])


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_a_corner_stop_holds_the_corner_on_the_bed(turn):
    for corner in ("top left", "top right", "bottom left", "bottom right"):
        drawn = corner_stop(corner, arm_mm=50.0, width_mm=10.0, relief_mm=2.0)
        sheet = Sheet(width_mm=drawn.width_mm, height_mm=drawn.height_mm, thickness_mm=3.0)
        vertical, horizontal = turned_corner(corner, turn).split()
        left, top = horizontal == "left", vertical == "top"
        x, y = 10.0 if left else 40.0, 10.0 if top else 40.0
        held = shapely.box(x, y, 60 if left else -10, 60 if top else -10)
        on_bed = apply_to_region(turn_matrix(turn, sheet), drawn.kept)
        assert shapely.intersection(on_bed, held).area < 1e-9  # the sheet's corner goes in
        assert on_bed.distance(held) < 1e-9  # and touches both arms
        assert on_bed.distance(shapely.Point(x, y)) > 0.9  # but not with its very corner
    assert drawn.kept.area == pytest.approx(50**2 - 40**2 - 0.75 * math.pi, abs=0.01)


def test_a_nest_holds_the_blank_turned():
    drawn = nest(BLANK, clearance_mm=0.2, frame_mm=12.0, finger_mm=0.0)
    sheet = Sheet(width_mm=drawn.width_mm, height_mm=drawn.height_mm, thickness_mm=3.0)
    turned = apply_to_region(turn_matrix("sideways", sheet), drawn.kept)
    front_down = shapely.affinity.scale(BLANK, -1, 1, origin=(30, 20))  # the blank, turned over sideways
    x0, y0, _, _ = shapely.Polygon(turned.interiors[0]).bounds
    lying = shapely.affinity.translate(front_down, x0 + 0.2, y0 + 0.2)
    opening = shapely.Polygon(turned.interiors[0])
    assert opening.contains(lying) and lying.exterior.distance(opening.exterior) == pytest.approx(0.2, abs=2e-3)
    assert not opening.contains(shapely.affinity.translate(BLANK, x0 + 0.2, y0 + 0.2))  # not the right way up


def test_a_nest_for_several_with_room_for_a_finger():
    drawn = nest(BLANK, count=3, finger_mm=14.0)
    assert len(drawn.kept.interiors) == 3
    assert shapely.Polygon(drawn.kept.interiors[0]).area > nest_area() + 50
    assert drawn.width_mm == pytest.approx(15 + 3 * (60.4 + 15))


def nest_area():
    return shapely.Polygon(nest(BLANK, finger_mm=0.0).kept.interiors[0]).area


def test_pins_lie_in_the_waste_and_hold_one_way_only():
    sheet, burned = shapely.box(0, 0, 300, 200), shapely.box(40, 30, 260, 170)
    pins = pin_holes(sheet, burned, pin_mm=3.0, clearance_mm=0.1, web_mm=4.0)
    for hole in pins.holes:
        disc = shapely.Point(hole.x_mm, hole.y_mm).buffer(hole.diameter_mm / 2)
        assert sheet.contains(disc) and disc.distance(burned) >= 4.0 and disc.distance(sheet.exterior) >= 4.0 - 1e-3
    (ax, ay), (bx, by), third = pins.places
    assert math.hypot(bx - ax, by - ay) > 300
    twin = (ax + bx - third[0], ay + by - third[1])  # where its hole is after half a turn
    assert math.dist(twin, third) > pins.key_hole_mm
    assert [hole.diameter_mm for hole in pins.holes] == pytest.approx([3.1, 3.1, 4.0])
    board = pins.board(300, 200, press_mm=0.02)
    assert {hole.diameter_mm for hole in board.holes} == {2.98}


def test_the_play_is_never_more_than_stated():
    """Against every way two holes can lie about their pins, tried by chance: rigid motions that keep both in play."""
    pins = PinHoles(places=((20.0, 20.0), (220.0, 120.0), (20.0, 120.0)), pin_mm=3.0, hole_mm=3.2, key_hole_mm=4.0)
    play, random = 0.1, np.random.default_rng(1)
    worst = dict.fromkeys(((0.0, 0.0), (240.0, 0.0), (120.0, 70.0), (0.0, 140.0), (60.0, 200.0)), 0.0)
    first, second = (np.array(place) for place in pins.places[:2])
    middle, apart = (first + second) / 2, math.dist(first, second)
    for turn in np.linspace(-2 * play / apart, 2 * play / apart, 41):
        spin = np.array([[0.0, -turn], [turn, 0.0]])
        for shift in random.uniform(-play, play, (400, 2)):
            if max(np.hypot(*(shift + spin @ (pin - middle))) for pin in (first, second)) > play:
                continue
            for point in worst:
                worst[point] = max(worst[point], float(np.hypot(*(shift + spin @ (np.array(point) - middle)))))
    for point, found in worst.items():
        (stated,) = pins.play.off_mm(np.array([point]))
        assert found <= stated + 1e-4
        assert found >= 0.85 * stated  # and the statement is no empty one
    assert pins.play.farthest_mm(shapely.box(0, 0, 240, 140)) == pytest.approx(max(worst.values()), rel=0.15)


def test_senseless_jigs_are_refused():
    with pytest.raises(JobError, match="no room"):
        pin_holes(shapely.box(0, 0, 100, 60), shapely.box(2, 2, 98, 58), pin_mm=3.0)
    with pytest.raises(JobError, match="three pins"):
        pin_holes(shapely.box(0, 0, 100, 60), shapely.box(11, -5, 105, 65), pin_mm=3.0)
    for wrong in (lambda: corner_stop("top left", arm_mm=10, width_mm=20),
                  lambda: pin_holes(shapely.box(0, 0, 100, 60), shapely.box(30, 20, 70, 40), pin_mm=3, clearance_mm=5),
                  lambda: nest(BLANK, clearance_mm=-1),
                  lambda: nest(shapely.MultiPolygon([BLANK, shapely.box(90, 0, 99, 9)]))):  # fmt: skip
        with pytest.raises(UnreadableError):
            wrong()
