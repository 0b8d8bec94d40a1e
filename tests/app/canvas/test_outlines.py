"""Polylines in bulk: thinning, clipping against GEOS, painter paths through Qt's stream."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainterPath

from app.canvas.batch import LEVEL_TOLERANCE_PX, Batch, level_index, level_tolerance_mm, painter_paths
from app.canvas.outlines import (
    BASE_TOLERANCE_MM,
    NO_OUTLINES,
    Outlines,
    clipped_rings,
    outlines_of_paths,
    outlines_of_region,
    runs_meeting,
)
from core.geometry.path import ellipse, polyline

BOX = (20.0, 15.0, 60.0, 40.0)


def star(seed: int, points: int, centre=(40.0, 30.0)) -> np.ndarray:
    """A simple ring around a centre: radii vary, angles rise."""
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0, 2 * np.pi, points))
    radii = rng.uniform(3.0, 45.0, points)
    ring = np.stack([centre[0] + radii * np.cos(angles), centre[1] + radii * np.sin(angles)], axis=1)
    return np.vstack([ring, ring[:1]])


def outlines_of(rings: list[np.ndarray]) -> Outlines:
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.intp)
    return Outlines(points=np.vstack(rings), starts=starts, unit=np.arange(len(rings)))


def area_mm2(outlines: Outlines) -> float:
    """Sum of signed ring areas by the shoelace formula, magnitude."""
    total = 0.0
    for a, b in zip(outlines.starts[:-1], outlines.starts[1:], strict=True):
        x, y = outlines.points[a:b].T
        total += abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2))
    return total


@given(seed=st.integers(0, 10_000), points=st.integers(3, 40))
@settings(max_examples=60, deadline=None)
def test_clipped_ring_covers_what_geos_says(seed, points):
    """GEOS: intersection of the polygon with the box, an independent library."""
    ring = star(seed, points)
    polygon = shapely.make_valid(shapely.Polygon(ring))
    expected = shapely.area(shapely.intersection(polygon, shapely.box(*BOX)))
    clipped = clipped_rings(outlines_of([ring]), BOX)
    if shapely.Polygon(ring).is_valid:
        assert area_mm2(clipped) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    if len(clipped):
        assert clipped.points.min(0) == pytest.approx(np.maximum(clipped.points.min(0), BOX[:2]))
        assert clipped.points.max(0) == pytest.approx(np.minimum(clipped.points.max(0), BOX[2:]))
        assert clipped.closed.all()


def test_clipping_keeps_units_and_drops_what_lies_outside():
    rings = [star(1, 9), star(2, 9, centre=(500.0, 500.0)), star(3, 9)]
    clipped = clipped_rings(outlines_of(rings), BOX)
    assert clipped.unit.tolist() == [0, 2]
    assert len(clipped_rings(outlines_of([rings[1]]), BOX)) == 0


@given(seed=st.integers(0, 10_000), points=st.integers(6, 200), tolerance_mm=st.floats(0.01, 3.0))
@settings(max_examples=60, deadline=None)
def test_thinned_lines_stay_within_the_tolerance(seed, points, tolerance_mm):
    ring = star(seed, points)
    thin = outlines_of([ring]).thinned(tolerance_mm)
    assert len(thin.points) <= len(ring)
    line = shapely.LineString(thin.points)
    assert shapely.distance(shapely.points(ring), line).max() <= tolerance_mm * np.sqrt(2) + 1e-9


def test_small_things_keep_their_box_when_thinned():
    dots = [star(seed, 30) * 1e-3 for seed in range(5)]
    thin = outlines_of(dots).thinned(5.0)
    assert len(thin) == 5
    assert np.allclose(thin.boxes, outlines_of(dots).boxes)


def test_open_lines_keep_their_ends_when_thinned():
    line = np.stack([np.linspace(0, 10, 50), np.sin(np.linspace(0, 3, 50))], axis=1)
    thin = Outlines(points=line, starts=np.array([0, 50]), unit=np.zeros(1, np.intp)).thinned(0.5)
    assert thin.points[0].tolist() == line[0].tolist()
    assert thin.points[-1].tolist() == line[-1].tolist()
    assert len(thin.points) < 10


def test_paths_are_flattened_to_the_tolerance():
    outlines = outlines_of_paths([ellipse((0, 0), 5.0, 5.0), polyline(np.array([[0.0, 0.0], [3.0, 4.0]]))])
    assert outlines.unit.tolist() == [0, 1]
    radii = np.hypot(*outlines.points[: outlines.starts[1]].T)
    middles = (outlines.points[: outlines.starts[1] - 1] + outlines.points[1 : outlines.starts[1]]) / 2
    assert np.allclose(radii, 5.0)
    assert 5.0 - np.hypot(*middles.T).min() <= BASE_TOLERANCE_MM


def test_region_rings_belong_to_their_polygon():
    holed = shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(2, 2), (4, 2), (4, 4)]])
    region = shapely.MultiPolygon([holed, shapely.box(20, 0, 30, 5)])
    outlines = outlines_of_region(region)
    assert outlines.unit.tolist() == [0, 0, 1]
    assert outlines.unit_boxes(3)[:2].tolist() == [[0, 0, 9, 9], [20, 0, 30, 5]]
    assert np.isnan(outlines.unit_boxes(3)[2]).all()
    assert len(outlines_of_region(shapely.MultiPolygon())) == 0


def test_runs_that_meet_a_box():
    line = np.array([[0, 0], [10, 0], [30, 20], [50, 20], [90, 20], [90, 90], [40, 90], [40, 30]], float)
    assert runs_meeting(line, BOX) == [(1, 5), (6, 8)]


def test_painter_paths_hold_just_what_went_in():
    points = np.array([[0, 0], [1, 0.5], [2, -3], [7, 7], [8, 9], [5, 5], [6, 5]], float)
    first, second = painter_paths(points, np.array([0, 3, 5]), np.array([0, 5, 7]), np.array([0, 1]))
    assert [first.elementAt(i).type for i in range(5)] == [
        QPainterPath.ElementType.MoveToElement,
        QPainterPath.ElementType.LineToElement,
        QPainterPath.ElementType.LineToElement,
        QPainterPath.ElementType.MoveToElement,
        QPainterPath.ElementType.LineToElement,
    ]
    assert [(first.elementAt(i).x, first.elementAt(i).y) for i in range(5)] == [tuple(p) for p in points[:5].tolist()]
    assert second.elementCount() == 2
    assert (first.fillRule(), second.fillRule()) == (Qt.FillRule.OddEvenFill, Qt.FillRule.WindingFill)


@given(st.floats(0.01, 2000.0))
def test_level_is_the_coarsest_that_cannot_be_seen(px_per_mm):
    index = level_index(px_per_mm)
    if index > 0:
        assert level_tolerance_mm(index) * px_per_mm <= LEVEL_TOLERANCE_PX * (1 + 1e-9)
    if index < 10:
        assert level_tolerance_mm(index + 1) * px_per_mm > LEVEL_TOLERANCE_PX * (1 - 1e-9)


@pytest.mark.parametrize("mixed", [True, False])
@pytest.mark.parametrize("px_per_mm", [2.0, 50.0, 1000.0])
def test_areas_cover_the_same_points_at_every_zoom(mixed, px_per_mm):
    rings = [star(seed, 24, centre=(100.0 * (seed % 5), 100.0 * (seed // 5))) for seed in range(15)]
    batch = Batch(outlines_of(rings), areas=True, mixed=mixed)
    box = (170.0, 60.0, 230.0, 120.0)
    polygons = shapely.make_valid(shapely.polygons([shapely.linearrings(ring) for ring in rings]))
    rng = np.random.default_rng(5)
    for x, y in rng.uniform((170, 60), (230, 120), (60, 2)):
        inside = shapely.contains_xy(polygons, x, y).any()
        edge_mm = shapely.distance(shapely.boundary(polygons), shapely.Point(x, y)).min()
        if edge_mm > 2 * LEVEL_TOLERANCE_PX / px_per_mm:
            pieces = batch.pieces(px_per_mm, box)
            assert any(piece.path.contains(QPointF(x, y)) for piece in pieces) == inside


def test_lines_far_beyond_the_view_are_cut_with_their_dashes_in_step():
    line = np.array([[-1000.0, 0.0], [1000.0, 0.0]])
    batch = Batch(Outlines(points=line, starts=np.array([0, 2]), unit=np.zeros(1, np.intp)), areas=False)
    (piece,) = batch.pieces(200.0, (-1.0, -1.0, 1.0, 1.0))
    box = piece.path.boundingRect()
    assert -2.0 < box.left() <= -1.0
    assert 1.0 <= box.right() < 2.0
    assert piece.start_mm == pytest.approx(box.left() + 1000.0)


def test_long_lines_come_in_runs_that_join_and_know_how_far_along_they_are():
    x = np.linspace(0.0, 100.0, 1001)
    line = np.stack([x, 3.0 * np.sin(x)], axis=1)
    batch = Batch(Outlines(points=line, starts=np.array([0, 1001]), unit=np.zeros(1, np.intp)), areas=False)
    pieces = list(batch.pieces(1000.0, (-10.0, -10.0, 110.0, 10.0)))
    assert len(pieces) > 5
    along_mm = 0.0
    for piece, following in zip(pieces, [*pieces[1:], None], strict=True):
        assert piece.start_mm == pytest.approx(along_mm, rel=1e-6, abs=1e-6)
        along_mm += piece.path.length()
        if following is not None:
            last, first = piece.path.currentPosition(), following.path.elementAt(0)
            assert (last.x(), last.y()) == (first.x, first.y)


def test_wanted_units_only():
    rings = [star(seed, 12, centre=(100.0 * seed, 0.0)) for seed in range(4)]
    batch = Batch(outlines_of(rings), areas=False)
    pieces = batch.pieces(5.0, (-100.0, -100.0, 500.0, 100.0), np.array([1, 3]))
    assert {piece.unit for piece in pieces} == {1, 3}


def test_nothing_gives_no_pieces():
    assert list(Batch(NO_OUTLINES, areas=True, mixed=True).pieces(1.0, BOX)) == []
    assert list(Batch(NO_OUTLINES, areas=False).pieces(1.0, BOX)) == []
