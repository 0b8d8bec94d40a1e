"""Offsets against Steiner's formula and an independent offsetter.

Jakob Steiner, Über parallele Flächen, 1840: a convex outline moved out by r has area A + P r + π r² and length
P + 2 π r. Holes and hollow corners against Clipper2 (A. Johnson's library through manifold3d), which shares no
code with GEOS, which is used here.
"""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import CrossSection, FillRule, JoinType

from core.errors import UnreadableError
from core.geometry.flattening import flatten, path_bounds_mm
from core.geometry.path import PathBuilder, ellipse
from core.job.kept_size import moved_outline
from core.sheet.kerf import offset, opening_for

WITH_HOLE = shapely.box(0, 0, 60, 40).difference(shapely.Point(20, 20).buffer(8, quad_segs=64))
L_SHAPE = shapely.Polygon([(0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30)])


def by_clipper(region, distance):
    rings = [ring for part in shapely.get_parts(shapely.orient_polygons(region)) for ring in shapely.get_rings([part])]
    section = CrossSection([shapely.get_coordinates(ring)[:-1] for ring in rings], FillRule.Positive)
    return section.offset(distance, JoinType.Round, 2.0, 720).area()


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


@pytest.mark.parametrize(("inside", "diameter"), [(False, 50.15), (True, 49.85)])
def test_a_disc_of_50_with_a_kerf_of_015(inside, diameter):
    """Finished 50 mm outside, the beam runs at 50.15; a hole of 50 mm, at 49.85 (geometry: half the kerf a side)."""
    (moved,) = moved_outline(ellipse((0.0, 0.0), 25.0, 25.0), -0.075 if inside else 0.075)
    x0, _, x1, _ = path_bounds_mm(moved, 1e-6)
    assert x1 - x0 == pytest.approx(diameter, abs=1e-5)


@pytest.mark.parametrize("distance", [0.075, -0.075, 1.5])
def test_moved_cut_lines_agree_with_clipper(distance):
    """An outline of cubics and arcs: the line that is exported, against Clipper's offset of a far finer polygon."""
    builder = PathBuilder()
    builder.move_to(0, 0)
    builder.cubic_to(20, -15, 40, 15, 60, 0)
    builder.line_to(60, 30)
    builder.arc(45, 30, 15, 0, 0, 15, 0.0, math.pi)
    builder.line_to(0, 30)
    builder.close()
    drawn = builder.build()
    (moved,) = moved_outline(drawn, distance)
    fine = shapely.Polygon(flatten(drawn, 1e-4).points)
    area = shapely.Polygon(flatten(moved, 1e-4).points).area
    assert area == pytest.approx(by_clipper(fine, distance), abs=0.003 * fine.length)


@pytest.mark.parametrize("clearance", [0.1, 0.0, -0.05])
def test_an_opening_is_wider_by_the_clearance_all_round(clearance):
    opening = opening_for(L_SHAPE, clearance)
    x0, y0, x1, y1 = L_SHAPE.bounds
    u0, v0, u1, v1 = opening.bounds
    assert (x0 - u0, y0 - v0, u1 - x1, v1 - y1) == pytest.approx((clearance,) * 4)
    assert opening.area == pytest.approx(by_clipper(L_SHAPE, clearance) if clearance else L_SHAPE.area, abs=2e-3)
    with pytest.raises(UnreadableError):
        opening_for(L_SHAPE, -30.0)
    with pytest.raises(UnreadableError):
        opening_for(L_SHAPE, math.nan)
