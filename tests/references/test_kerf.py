"""Offsets against Steiner's formula and an independent offsetter.

Jakob Steiner, Über parallele Flächen, 1840: a convex outline moved out by r has area A + P r + π r² and length
P + 2 π r. Holes and hollow corners against Clipper (A. Johnson's library through pyclipper), which shares no code with
the geometry engine used here.
"""

import math

import pyclipper
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.sheet.kerf import as_cut, fit_pair, kerf_cut, offset, opening_cut

_SCALE = 1e6
WITH_HOLE = shapely.box(0, 0, 60, 40).difference(shapely.Point(20, 20).buffer(8, quad_segs=64))
L_SHAPE = shapely.Polygon([(0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30)])


def by_clipper(region, distance):
    offsetter = pyclipper.PyclipperOffset(2.0, 0.0005 * _SCALE)
    for part in shapely.get_parts(shapely.orient_polygons(region)):
        for ring in (part.exterior, *part.interiors):
            points = [(round(x * _SCALE), round(y * _SCALE)) for x, y in ring.coords[:-1]]
            offsetter.AddPath(points, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    return abs(sum(pyclipper.Area(path) for path in offsetter.Execute(distance * _SCALE))) / _SCALE**2


def test_a_rectangle_obeys_steiner():
    grown = offset(shapely.box(0, 0, 40, 30), 5.0)
    assert grown.area == pytest.approx(1200 + 140 * 5 + 25 * math.pi, rel=2e-5)  # 1978.54
    assert grown.length == pytest.approx(140 + 10 * math.pi, rel=2e-4)


@given(st.lists(st.tuples(st.integers(0, 80), st.integers(0, 80)), min_size=3, max_size=12), st.floats(0.05, 3))
@settings(max_examples=40)
def test_convex_outlines_obey_steiner(points, radius):
    hull = shapely.MultiPoint(points).convex_hull
    if hull.geom_type != "Polygon":
        return
    expected = hull.area + hull.length * radius + math.pi * radius**2
    assert offset(hull, radius).area == pytest.approx(expected, abs=0.01 * radius * math.tau)


@pytest.mark.parametrize("region", [WITH_HOLE, L_SHAPE], ids=["with a hole", "L"])
@pytest.mark.parametrize("distance", [0.075, 0.5, 2.0, -0.075, -1.0])
def test_offsets_agree_with_clipper(region, distance):
    expected = by_clipper(region, distance)
    assert offset(region, distance).area == pytest.approx(expected, abs=2e-3 * abs(distance) * region.length)


def test_a_disc_of_50_with_a_kerf_of_015():
    """Finished 50 mm outside: the beam runs at 50.15; a hole of 50 mm: at 49.85 (geometry: the kerf, half a side)."""
    disc = shapely.Point(0, 0).buffer(25, quad_segs=512)
    x0, _, x1, _ = kerf_cut(disc, 0.15).along.bounds
    assert x1 - x0 == pytest.approx(50.15, abs=2e-3)
    x0, _, x1, _ = opening_cut(disc, 0.15).along.bounds
    assert x1 - x0 == pytest.approx(49.85, abs=2e-3)


def test_what_is_cut_is_what_was_drawn():
    cut = kerf_cut(WITH_HOLE, 0.2)
    assert shapely.symmetric_difference(as_cut(cut, 0.2), WITH_HOLE).area < 0.01
    assert cut.lost_holes == cut.joined_parts == 0
    assert len(cut.along.interiors) == 1 and cut.along.interiors[0].length < WITH_HOLE.interiors[0].length


def test_what_is_thinner_than_the_kerf_is_told():
    slit = shapely.box(0, 0, 20, 20).difference(shapely.box(5, 5, 15, 5.1))
    assert kerf_cut(slit, 0.15).lost_holes == 1
    near = shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(10.1, 0, 20, 10)])
    assert kerf_cut(near, 0.15).joined_parts == 1


@pytest.mark.parametrize("clearance", [0.1, 0.0, -0.05])
def test_a_pair_fits_at_the_clearance_asked_for(clearance):
    pair = fit_pair(L_SHAPE, clearance_mm=clearance, kerf_mm=0.15, opening_kerf_mm=0.2)
    insert, opening = as_cut(pair.insert_cut, 0.15), offset(pair.opening_cut.along, 0.1)
    x0, y0, x1, y1 = insert.bounds
    u0, v0, u1, v1 = opening.bounds
    for gap in (x0 - u0, y0 - v0, u1 - x1, v1 - y1):
        assert gap == pytest.approx(clearance, abs=2e-3)


def test_a_kerf_that_is_none_is_refused():
    with pytest.raises(UnreadableError):
        kerf_cut(L_SHAPE, -0.1)
    with pytest.raises(UnreadableError):
        fit_pair(L_SHAPE, clearance_mm=-30.0, kerf_mm=0.1, opening_kerf_mm=0.1)
