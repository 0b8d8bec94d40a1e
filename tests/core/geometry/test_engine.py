"""Rings resolved by winding number: against winding numbers counted point by point, and in hard positions."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry import engine
from core.geometry.bands import clamped
from core.geometry.engine import (
    GRID_MM,
    TooTangledError,
    enclosed,
    resolved,
    shared,
    subtracted,
    united,
    united_unrounded,
)
from core.geometry.rings import Rings


def rings_of(groups: list[list[np.ndarray]]) -> Rings:
    flat = [ring for rings in groups for ring in rings]
    return Rings(
        points=np.concatenate(flat),
        starts=np.cumsum([0, *[len(ring) for ring in flat]]),
        group=np.repeat(np.arange(len(groups)), [len(rings) for rings in groups]),
    )


def winding(points: np.ndarray, rings: list[np.ndarray]) -> np.ndarray:
    """Counted from the definition: signed crossings of a ray along +x."""
    total = np.zeros(len(points), int)
    for a in rings:
        b = np.roll(a, -1, axis=0)
        y = points[:, 1, None]
        side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (points[:, 0, None] - a[:, 0]) * (b[:, 1] - a[:, 1])
        total += ((a[:, 1] <= y) & (b[:, 1] > y) & (side > 0)).sum(1)
        total -= ((b[:, 1] <= y) & (a[:, 1] > y) & (side < 0)).sum(1)
    return total


def assert_agrees(groups: list[list[np.ndarray]], seed: int) -> None:
    # away from multiples of 0.5, where edges of the tests' grids lie
    points = np.random.default_rng(seed).random((200, 2)) * 100 + 0.0123
    for rule in ("nonzero", "evenodd"):
        for regions in (
            enclosed(rings_of(groups), rule, group_count=len(groups)),
            resolved(rings_of(groups), rule, group_count=len(groups)),
        ):
            for region, rings in zip(regions, groups, strict=True):
                count = winding(points, rings)
                assert shapely.is_valid(region)
                inside = shapely.contains_xy(region, points[:, 0], points[:, 1])
                assert inside.tolist() == ((count != 0) if rule == "nonzero" else (count % 2 == 1)).tolist()


GRIDS = {"anywhere": None, "on a grid": 10.0, "on a coarse grid": 25.0}


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS.keys())
@given(seed=st.integers(0, 2**32 - 1))
def test_winding_numbers_decide(grid, seed):
    random = np.random.default_rng(seed)
    groups = [
        [random.random((random.integers(3, 12), 2)) * 100 for _ in range(random.integers(1, 4))]
        for _ in range(random.integers(1, 4))
    ]
    if grid:
        groups = [[np.round(ring / grid) * grid for ring in rings] for rings in groups]
    assert_agrees(groups, seed)


@pytest.mark.parametrize("noise_mm", [3e-7, 1e-6, 1e-5])
@given(seed=st.integers(0, 2**32 - 1))
def test_nearly_coincident_points_and_lines(noise_mm, seed):
    random = np.random.default_rng(seed)
    rings = [np.round(random.random((random.integers(3, 15), 2)) * 10) * 10 for _ in range(3)]
    assert_agrees([[ring + random.normal(0, noise_mm, ring.shape) for ring in rings]], seed)


@given(seed=st.integers(0, 2**32 - 1), dx=st.floats(-300, 300), dy=st.floats(-300, 300))
def test_area_does_not_depend_on_the_place(seed, dx, dy):
    ring = np.random.default_rng(seed).random((9, 2)) * 100
    here, there = (
        resolved(rings_of([[ring + shift]]), "evenodd", group_count=1)[0].area for shift in ((0, 0), (dx, dy))
    )
    assert here == pytest.approx(there, abs=1e-3)


def test_groups_do_not_see_each_other():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    both = resolved(rings_of([[square], [square + 5]]), "nonzero", group_count=2)
    assert [region.area for region in both] == pytest.approx([100, 100])


def test_touching_squares_become_one_and_corner_to_corner_two():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    side = resolved(rings_of([[square, square + np.array([10, 0])]]), "nonzero", group_count=1)[0]
    corner = resolved(rings_of([[square, square + np.array([10, 10])]]), "nonzero", group_count=1)[0]
    assert (side.geom_type, side.area) == ("Polygon", pytest.approx(200))
    assert (corner.geom_type, corner.area) == ("MultiPolygon", pytest.approx(200))


def test_hole_that_touches_its_shell_is_valid():
    shell = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    diamond = np.array([[0, 5], [5, 8], [8, 5], [5, 2.0]])  # touches the left side at a point
    region = resolved(rings_of([[shell, diamond]]), "evenodd", group_count=1)[0]
    assert region.is_valid
    assert region.area == pytest.approx(100 - 24)


def test_flat_rings_enclose_nothing():
    flat = np.array([[0, 0], [10, 0], [5, 0.0]])
    leaning = np.array([[0, 0], [10, 10], [5, 5.0]])
    regions = resolved(rings_of([[flat], [leaning]]), "nonzero", group_count=2)
    assert [region.is_empty for region in regions] == [True, True]


def test_far_away_and_huge_rings_keep_their_area():
    square = np.array([[0, 0], [1e6, 0], [1e6, 1e6], [0, 1e6]])
    bow = square[[0, 2, 1, 3]] + 3e6
    region = resolved(rings_of([[bow]]), "nonzero", group_count=1)[0]
    assert region.is_valid
    assert region.area == pytest.approx(2 * 2.5e11, rel=1e-6)


def test_more_than_can_be_handled_is_refused():
    ring = np.random.default_rng(1).random((20_000, 2)) * 100  # some 40 million crossings, told by a sample
    with pytest.raises(TooTangledError):
        resolved(rings_of([[ring]]), "nonzero", group_count=1)


@pytest.mark.parametrize("angle_deg", [0, 90, 45, 17])
def test_a_comb_is_swept_along_its_teeth(angle_deg):
    random = np.random.default_rng(2)
    x = np.arange(12_000) * 0.05
    y = np.where(np.arange(12_000) % 2, 100 + random.random(12_000), random.random(12_000))
    comb = np.concatenate([np.column_stack([x, y]), [[x[-1], -1], [0, -1]]])
    turn = np.deg2rad(angle_deg)
    comb = comb @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    edges = np.stack([comb, np.roll(comb, -1, axis=0)], axis=1)
    assert engine._easy_turn(edges)[1] < 12 * len(comb)  # across its teeth it would be 10,000 each
    region = resolved(rings_of([[comb]]), "nonzero", group_count=1)[0]
    assert region.area == pytest.approx(shapely.Polygon(comb).area, abs=GRID_MM * shapely.length(region))


def tangle(seed: int, *, count: int, size_mm: float = 100) -> np.ndarray:
    return np.random.default_rng(seed).random((count, 2)) * size_mm


@given(seed=st.integers(0, 2**32 - 1), size_mm=st.sampled_from([1.0, 100.0, 600.0, 1e5]))
@settings(max_examples=30)
def test_areas_are_those_of_geos_within_the_grid(seed, size_mm):
    """GEOS polygonizes the ring's own linework; even-odd by definition of make_valid, nonzero by winding numbers."""
    ring = tangle(seed, count=3 + seed % 40, size_mm=size_mm)
    lines = shapely.union_all(shapely.LinearRing(ring))
    faces = np.array(shapely.get_parts(shapely.polygonize([lines])))
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    count = winding(inside, [ring])
    for rule, some in (("nonzero", count != 0), ("evenodd", count % 2 == 1)):
        region = resolved(rings_of([[ring]]), rule, group_count=1)[0]
        bound = GRID_MM * shapely.length(shapely.LinearRing(ring)) + 1e-14 * size_mm**2
        assert region.area == pytest.approx(shapely.area(faces[some]).sum(), abs=bound)


def test_large_groups_swept_in_bands_are_the_same(monkeypatch):
    # a curve that winds about itself many times, over a wide sheet
    t = np.linspace(0, 2 * np.pi, 6_000, endpoint=False)
    ring = np.column_stack([300 * np.cos(t) + 20 * np.cos(61 * t), 150 * np.sin(t) + 20 * np.sin(47 * t)])
    for rule in ("nonzero", "evenodd"):
        monkeypatch.setattr(engine, "_EASY", 200_000)
        banded = resolved(rings_of([[ring]]), rule, group_count=1)[0]
        monkeypatch.setattr(engine, "_EASY", 1e12)
        at_once = resolved(rings_of([[ring]]), rule, group_count=1)[0]
        assert banded.is_valid and at_once.is_valid
        length = shapely.length(at_once)
        assert banded.area == pytest.approx(at_once.area, abs=GRID_MM * length)
        assert shapely.symmetric_difference(banded, at_once).area <= GRID_MM * length
        assert len(shapely.get_parts(banded)) == len(shapely.get_parts(at_once))


def test_rings_cut_into_bands_keep_their_area():
    ring = tangle(5, count=9)
    rings = rings_of([[ring]])
    whole = sum(
        float(bands_rings.areas().sum())
        for low, high in ((-np.inf, 30.5), (30.5, 60.5), (60.5, np.inf))
        if (bands_rings := rings_of([clamped(rings, low, high)])) is not None
    )
    assert whole == pytest.approx(float(rings.areas().sum()))


def test_numbers_that_are_none_enclose_nothing():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    for bad in (np.nan, np.inf, -np.inf):
        broken = square.copy()
        broken[2, 1] = bad
        regions = resolved(rings_of([[broken], [square]]), "nonzero", group_count=2)
        assert [region.area for region in regions] == pytest.approx([0, 100])


def test_a_ring_that_comes_back_to_a_point_becomes_two():
    bow = np.array([[0, 0], [5, 5], [10, 0], [10, 10], [5, 5], [0, 10.0]])
    region = resolved(rings_of([[bow]]), "nonzero", group_count=1)[0]
    assert region.is_valid
    assert region.area == pytest.approx(50)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=20)
def test_unions_differences_and_shares_add_up(seed):
    a, b = (resolved(rings_of([[tangle(seed + i, count=9)]]), "nonzero", group_count=1)[0] for i in range(2))
    bound = GRID_MM * (shapely.length(a) + shapely.length(b))
    assert united([a, b]).area + shared(a, b).area == pytest.approx(a.area + b.area, abs=bound)
    assert subtracted(a, b).area + shared(a, b).area == pytest.approx(a.area, abs=bound)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=20)
def test_parts_that_meet_no_other_region_come_through_a_union_as_they_are(seed):
    """Beside GEOS' own union of all."""
    random = np.random.default_rng(seed)
    regions = [
        shapely.unary_union(shapely.box(*(place := random.random((9, 2)) * 40).T, *(place + 2).T)) for _ in "abc"
    ]
    whole = united(regions)
    assert shapely.is_valid(whole)
    assert shapely.symmetric_difference(whole, shapely.union_all(regions)).area == pytest.approx(0, abs=1e-9)
    assert united(regions[:1]).equals_exact(shapely.multipolygons(shapely.get_parts(regions[:1])))


def test_the_union_of_many_edges_is_that_of_geos():
    discs = shapely.buffer(shapely.points(np.random.default_rng(3).random((400, 2)) * 100), 4.0, quad_segs=16)
    whole, known = united(discs), shapely.union_all(discs)
    assert whole.is_valid
    assert shapely.symmetric_difference(whole, known).area < GRID_MM * known.length


@pytest.mark.parametrize(
    "crossed",
    [
        shapely.MultiPolygon([shapely.box(0, 0, 2, 2), shapely.box(1, 1, 3, 3)]),
        shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]),
        shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2), (-1, 3), (0, 2)]),  # with a spike: a line once it is mended
    ],
)
def test_what_crosses_itself_is_mended_where_the_overlay_stumbles_over_it(crossed):
    """Offsets with mitred corners may; GEOS fails on them on a grid, too."""
    whole, other = shapely.make_valid(crossed).buffer(0), shapely.box(0.5, 0.5, 2.5, 2.7)
    with pytest.raises(shapely.errors.GEOSException):
        shapely.intersection(crossed, other, grid_size=1e-6)
    assert shared(crossed, other).area == pytest.approx(whole.intersection(other).area, rel=1e-4)
    assert subtracted(crossed, other).area == pytest.approx(whole.difference(other).area, rel=1e-4)
    assert united([crossed, other]).area == pytest.approx(whole.union(other).area, rel=1e-4)
    assert united_unrounded([crossed, other]).area == pytest.approx(whole.union(other).area, rel=1e-4)


def test_what_lies_apart_has_no_say_in_an_overlay_of_many_parts():
    discs = shapely.buffer(shapely.points(np.random.default_rng(4).random((80, 2)) * 100), 1.5, quad_segs=8)
    region, taken = shapely.box(20, 20, 60, 60), shapely.union_all(discs)
    assert len(taken.geoms) > 32
    assert subtracted(region, taken).area == pytest.approx(region.difference(taken).area, abs=1e-9)
    assert subtracted(shapely.box(200, 0, 201, 1), taken).area == 1.0


def test_what_two_regions_of_many_parts_share_is_the_overlay_of_both() -> None:
    """Parts that both have are taken as they are; the rest, beside and across others, is overlaid."""
    places = np.random.default_rng(3).permutation(100)
    cells = np.array([shapely.box(x, y, x + 6, y + 5) for x in range(0, 100, 10) for y in range(0, 100, 10)], object)
    own, others = cells[places[:70]], np.concatenate([cells[places[30:]], shapely.buffer(cells[places[:10]], 0.5)])
    both = shared(shapely.MultiPolygon(own.tolist()), shapely.MultiPolygon(others.tolist()))
    assert both.is_valid
    assert both.equals(shapely.intersection(shapely.MultiPolygon(own.tolist()), shapely.MultiPolygon(others.tolist())))
    assert both.area == pytest.approx(50 * 30)
    assert shared(shapely.MultiPolygon(own.tolist()), shapely.MultiPolygon(own[::-1].tolist())).area == 70 * 30
