"""Rings resolved by winding number: against winding numbers counted point by point, and in hard positions."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.geometry import arrangement
from core.geometry.arrangement import Rings, TooTangledError, resolved
from core.geometry.enclosing import enclosed


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


@pytest.mark.parametrize("passes", [0, 1])
@given(seed=st.integers(0, 2**32 - 1))
def test_rounding_that_never_comes_to_rest_leaves_a_true_result(passes, seed):
    random = np.random.default_rng(seed)
    rings = [np.round(random.random((random.integers(3, 15), 2)) * 10) * 10 for _ in range(3)]
    noisy = rings_of([[ring + random.normal(0, 1e-6, ring.shape) for ring in rings]])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(arrangement, "_MAX_PASSES", passes)
        unsettled = resolved(noisy, "nonzero", group_count=1)[0]
    assert shapely.is_valid(unsettled)
    settled = resolved(noisy, "nonzero", group_count=1)[0]
    assert shapely.symmetric_difference(unsettled, settled).area == pytest.approx(0, abs=0.5)


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


def test_more_than_can_be_handled_is_refused(monkeypatch):
    monkeypatch.setattr(arrangement, "MAX_EDGES", 1000)
    ring = np.random.default_rng(1).random((100, 2)) * 100
    with pytest.raises(TooTangledError):
        resolved(rings_of([[ring]]), "nonzero", group_count=1)
