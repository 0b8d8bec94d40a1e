from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import Cancelled, UnreadableError
from core.geometry.affine import apply_to_region, determinant
from core.sheet.flaws import flaw_region, shown_area_mm2, shown_flaws
from core.sheet.ground import FREE_ANGLES_DEG, Footprint, NoRoomError, PlacingOptions
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Flaw, Sheet, placement_matrix
from core.sheet.placing import place
from core.sheet.rest import largest_rectangle
from tests.core.sheet.boards import ODD, brute_force, l_plate, scratched

EXACT = PlacingOptions(flaw_doubt_mm=0.0)


def laid(region, placed):
    return apply_to_region(placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg), region)


BOARDS = {
    "plain, few flaws": scratched(count=6),
    "plain, many flaws": scratched(seed=3, count=24, width_mm=80.0, height_mm=60.0),
    "odd": scratched(ODD, seed=1),
    "odd, many flaws": scratched(ODD, seed=5, count=30),
    "no flaws": scratched(ODD, count=0),
}


@cache
def placed_on(name):
    return place(l_plate(), BOARDS[name], EXACT)


@pytest.mark.parametrize("name", BOARDS)
def test_never_worse_than_a_grid_of_1_mm(name):
    sheet, footprint = BOARDS[name], l_plate()
    found, grid = placed_on(name), brute_force(footprint, sheet, EXACT)
    assert found.shown_mm2 <= grid.shown_mm2 + 0.005
    if found.rank[0] >= grid.rank[0]:
        assert found.rest_mm2 >= grid.rest_mm2


@pytest.mark.parametrize("name", BOARDS)
def test_the_place_is_what_it_says(name):
    """Held against shapely and the flaws as the job sees them, not against the search's own measures."""
    sheet, footprint = BOARDS[name], l_plate()
    found = placed_on(name)
    burned, finished, cleared = (laid(r, found) for r in (footprint.burned, footprint.finished, footprint.cleared))
    assert sheet_region(sheet).buffer(1e-5).contains(burned)
    assert shown_area_mm2(shown_flaws(sheet, finished, cleared)) == pytest.approx(found.shown_mm2, abs=1e-6)
    rest = largest_rectangle(sheet_region(sheet).difference(shapely.box(*burned.bounds)), cell_mm=0.5)
    assert (rest[2] - rest[0]) * (rest[3] - rest[1]) == pytest.approx(found.rest_mm2, rel=0.06)


def test_a_flaw_goes_into_the_fill_or_the_waste():
    # the only place on a sheet hardly larger than the job has its flaw inside the fill
    footprint = Footprint(
        burned=shapely.box(0, 0, 50, 30), finished=shapely.box(0, 0, 50, 30), cleared=shapely.box(30, 5, 45, 25)
    )
    coat = Flaw(kind="point", points=((12.0, 15.0),), width_mm=2.0)
    sheet = Sheet(width_mm=52.0, height_mm=31.0, thickness_mm=3.0, flaws=(coat,))
    found = place(footprint, sheet)
    assert found.shown_mm2 == 0.0 and found.rotation_deg == 180.0  # turned, the fill lies over the flaw
    face = Sheet(width_mm=52.0, height_mm=31.0, thickness_mm=3.0, flaws=(Flaw(
        kind="point", points=((12.0, 15.0),), width_mm=2.0, surface="clear face"),))  # fmt: skip
    assert place(footprint, face).shown_mm2 > 3.0


def test_what_just_fits_is_found_and_what_does_not_says_so():
    square = shapely.box(-3, 2, 57, 42)
    footprint = Footprint(burned=square, finished=square, cleared=shapely.Polygon())
    found = place(footprint, Sheet(width_mm=40.0, height_mm=60.0, thickness_mm=3.0))
    assert found.rotation_deg in (90.0, 270.0)
    with pytest.raises(NoRoomError):
        place(footprint, Sheet(width_mm=59.9, height_mm=39.9, thickness_mm=3.0))


def test_free_rotation_finds_the_slanted_room():
    strip = shapely.affinity.rotate(shapely.box(0, 0, 100, 22), 35, origin=(0, 0))
    x0, y0, x1, y1 = strip.bounds
    ring = shapely.get_coordinates(shapely.affinity.translate(strip, -x0, -y0))[:-1]
    sheet = Sheet(width_mm=x1 - x0, height_mm=y1 - y0, thickness_mm=3.0, outline=(tuple(map(tuple, ring.tolist())),))
    plate = shapely.box(0, 0, 80, 20)
    footprint = Footprint(burned=plate, finished=plate, cleared=shapely.Polygon())
    with pytest.raises(NoRoomError):
        place(footprint, sheet)
    found = place(footprint, sheet, PlacingOptions(angles_deg=FREE_ANGLES_DEG))
    assert found.rotation_deg in (35.0, 215.0)


@given(st.integers(0, 1000), st.sampled_from([0.0, 37.0, 90.0, 180.0, 270.0]))
@settings(max_examples=8)
def test_never_mirrored_and_never_over_the_edge(seed, angle_deg):
    sheet, footprint = scratched(ODD, seed=seed, count=10), l_plate()
    found = place(footprint, sheet, PlacingOptions(angles_deg=(angle_deg,), edge_mm=1.0))
    matrix = placement_matrix(found.x_mm, found.y_mm, found.rotation_deg)
    assert determinant(matrix) == pytest.approx(1.0)
    inner = sheet_region(sheet).buffer(-1.0, join_style="mitre")
    assert inner.buffer(1e-5).contains(apply_to_region(matrix, footprint.burned))


def test_doubt_about_a_flaw_keeps_the_job_off_it():
    square = shapely.box(0, 0, 30, 30)
    footprint = Footprint(burned=square, finished=square, cleared=shapely.Polygon())
    flaw = Flaw(kind="line", points=((31.0, 0.0), (31.0, 40.0)), width_mm=0.5)
    sheet = Sheet(width_mm=40.0, height_mm=40.0, thickness_mm=3.0, flaws=(flaw,))
    found = place(footprint, sheet, PlacingOptions(flaw_doubt_mm=0.7))
    assert found.shown_mm2 == 0.0
    assert laid(square, found).distance(flaw_region(flaw, sheet)) >= 0.7 - 1e-3


@pytest.mark.parametrize("wrong", [{"edge_mm": -5.0}, {"edge_mm": np.nan}, {"flaw_doubt_mm": -1.0}])
def test_margins_below_zero_are_refused(wrong):
    with pytest.raises(UnreadableError, match="can't be"):
        PlacingOptions(**wrong)


def test_can_be_cancelled():
    def stop(share, doing):
        raise Cancelled

    with pytest.raises(Cancelled):
        place(l_plate(), scratched(), progress=stop)


def test_the_same_input_gives_the_same_place():
    places = [place(l_plate(), scratched(ODD, seed=2)) for _ in range(2)]
    assert places[0] == places[1]
    assert np.isfinite(places[0].rest_mm2)
