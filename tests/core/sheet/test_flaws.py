import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.affine import apply_to_region
from core.sheet.faces import turn_matrix
from core.sheet.flaws import flaw_region, shown_area_mm2, shown_flaws, turned_flaw
from core.sheet.placement import Flaw, Sheet

SHEET = Sheet(width_mm=120.0, height_mm=80.0, thickness_mm=3.0)
# an asymmetric line, so that any turn about the wrong axis would show
HOOK = ((10.0, 8.0), (30.0, 8.0), (30.0, 20.0))

# read off a rule: no finer than 0.01 mm
places = st.tuples(st.integers(0, 12000), st.integers(0, 8000)).map(lambda at: (at[0] / 100, at[1] / 100))
flaws = st.builds(
    Flaw,
    kind=st.just("line"),
    points=st.lists(places, min_size=2, max_size=5, unique=True).map(tuple),
    width_mm=st.floats(0.2, 5),
    surface=st.sampled_from(["coat", "clear face"]),
    noted_from=st.sampled_from(["front", "back"]),
    turn=st.sampled_from(["sideways", "endways"]),
)


@given(flaws)
def test_noted_from_the_other_side_twice_is_the_flaw_itself(flaw):
    twice = turned_flaw(turned_flaw(flaw, SHEET), SHEET)
    assert twice.noted_from == flaw.noted_from
    np.testing.assert_allclose(twice.points, flaw.points, atol=1e-12)


@given(flaws)
def test_either_note_of_a_flaw_means_the_same_place(flaw):
    other = flaw_region(turned_flaw(flaw, SHEET), SHEET)
    assert shapely.hausdorff_distance(flaw_region(flaw, SHEET), other) < 1e-6


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_a_flaw_noted_on_the_bed_lies_where_the_turn_puts_it(turn):
    noted = Flaw(kind="line", points=HOOK, noted_from="back", turn=turn)
    as_on_bed = flaw_region(Flaw(kind="line", points=HOOK), SHEET)
    on_front = apply_to_region(turn_matrix(turn, SHEET), as_on_bed)
    assert shapely.symmetric_difference(flaw_region(noted, SHEET), on_front).area < 1e-9
    x0, y0, _, _ = flaw_region(noted, SHEET).bounds
    assert (x0, y0) == pytest.approx((89.5, 7.5) if turn == "sideways" else (9.5, 59.5))


def test_a_flaw_seen_from_the_back_is_mirrored():
    ring = shapely.LinearRing(np.array([(10, 8), (30, 8), (30, 20)]))
    turned = turned_flaw(Flaw(kind="patch", points=HOOK), SHEET)
    assert ring.is_ccw != shapely.LinearRing(np.array(turned.points)).is_ccw


def sheet_with(surface, x, y):
    flaw = Flaw(kind="point", points=((x, y),), width_mm=2.0, surface=surface)
    return Sheet(width_mm=120.0, height_mm=80.0, thickness_mm=3.0, flaws=(flaw,))


FINISHED = shapely.box(20, 20, 100, 60).difference(shapely.box(80, 30, 90, 40))
CLEARED = shapely.box(30, 30, 60, 50)
COAT, FILL, HOLE, WASTE = (25.0, 25.0), (45.0, 40.0), (85.0, 35.0), (110.0, 70.0)


@pytest.mark.parametrize(
    ("surface", "place", "shows"),
    [
        ("coat", COAT, True),
        ("coat", FILL, False),
        ("coat", HOLE, False),
        ("coat", WASTE, False),
        ("clear face", COAT, True),
        ("clear face", FILL, True),
        ("clear face", HOLE, False),
        ("clear face", WASTE, False),
    ],
)
def test_what_shows_is_the_surface_and_the_place(surface, place, shows):
    shown = shown_flaws(sheet_with(surface, *place), FINISHED, CLEARED)
    assert bool(shown) == shows
    # a disc of 2 mm, as a 64-gon (shapely, buffer, quad_segs 16)
    assert shown_area_mm2(shown) == pytest.approx(32 * np.sin(np.pi / 32) if shows else 0.0)


def test_half_burned_away_shows_the_other_half():
    shown = shown_flaws(sheet_with("coat", 30.0, 40.0), FINISHED, CLEARED)
    assert shown_area_mm2(shown) == pytest.approx(16 * np.sin(np.pi / 32))
    assert shown[0].region.bounds[2] == pytest.approx(30.0)


def test_without_a_coat_the_back_shows_like_the_front():
    assert shown_flaws(sheet_with("coat", *FILL), FINISHED, CLEARED, has_coat=False)
