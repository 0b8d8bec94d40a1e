import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.sheet.backers import backer

LETTERS = shapely.MultiPolygon(
    [shapely.box(0, 0, 20, 40), shapely.box(32, 0, 52, 40), shapely.Point(75, 20).buffer(14, quad_segs=64)]
)


def is_one_piece(region, web_mm):
    """Whether a region hangs together everywhere by webs of at least that width."""
    worn = shapely.buffer(region, -web_mm / 2 * (1 - 1e-3))
    return len(shapely.get_parts(region)) == len(shapely.get_parts(worn)) == 1


def test_islands_near_each_other_grow_into_one():
    plate = backer(LETTERS, margin_mm=4.0, bridge_mm=6.0)
    assert is_one_piece(plate.region, 6.0) and plate.region.buffer(1e-6).contains(LETTERS.buffer(4.0 - 1e-3))
    # the outer corners stay at the margin; only between the islands is more
    assert plate.region.bounds == pytest.approx(LETTERS.buffer(4.0, quad_segs=64).bounds, abs=0.01)
    assert 0 < plate.grown_mm < 12 and plate.bridges == 0


def test_islands_are_joined_by_bars_where_that_is_wanted():
    far = shapely.union(LETTERS, shapely.box(140, 0, 160, 40))
    plate = backer(far, margin_mm=2.0, join="bridges", bridge_mm=8.0)
    assert is_one_piece(plate.region, 8.0) and plate.bridges == 3
    assert plate.region.area < backer(far, margin_mm=2.0, bridge_mm=8.0).region.area


def test_one_piece_is_only_grown():
    plate = backer(shapely.box(0, 0, 60, 30), margin_mm=5.0)
    assert plate.grown_mm == 0.0 and plate.region.bounds == pytest.approx((-5, -5, 65, 35))


@given(st.integers(-30, 80), st.floats(0.3, 4), st.sampled_from(["grow", "bridges"]))
@settings(max_examples=25)
def test_the_upper_piece_hides_all_lines_and_the_plate_has_them(tenths, inset, join):
    margin = max(tenths / 10, -inset)  # a plate drawn in further has no room for the lines: refused, see below
    plate = backer(LETTERS, margin_mm=margin, line_inset_mm=inset, join=join, bridge_mm=4.0)
    assert not plate.lines.is_empty and plate.unlined == 0
    assert LETTERS.buffer(-inset + 2e-3).contains(plate.lines)
    assert plate.region.buffer(2e-3).contains(plate.lines)
    assert len(shapely.get_parts(plate.region)) == 1


def test_parts_too_thin_for_a_line_are_counted():
    thin = shapely.MultiPolygon([shapely.box(0, 0, 30, 30), shapely.box(35, 0, 36, 30)])
    plate = backer(thin, line_inset_mm=1.0)
    assert plate.unlined == 1 and len(shapely.get_parts(plate.lines)) == 1


def test_holes_are_backed_unless_they_are_to_stay():
    ring = shapely.Point(0, 0).buffer(40).difference(shapely.Point(0, 0).buffer(25))
    assert len(backer(ring, margin_mm=3.0).region.interiors) == 0
    kept = backer(ring, margin_mm=3.0, keep_holes=True).region
    assert len(kept.interiors) == 1 and kept.bounds[2] == pytest.approx(43, abs=0.05)


def test_senseless_figures_are_refused():
    beside = {"margin_mm": -2.0, "line_inset_mm": 1.0}
    for more in (beside, {"margin_mm": float("nan")}, {"bridge_mm": 0.0}, {"line_inset_mm": 0.0}, {"margin_mm": -50.0}):
        with pytest.raises(UnreadableError):
            backer(LETTERS, **more)
    with pytest.raises(UnreadableError):
        backer(shapely.Polygon())
