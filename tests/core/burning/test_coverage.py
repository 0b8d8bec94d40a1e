import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtri
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from core.burning.baring import reach_mm
from core.burning.beam import clearing_line
from core.burning.coverage import Coverage, coverage
from core.burning.coverage_map import MAX_CELLS, MAX_PLACES
from core.burning.dose import ClearingLine
from core.burning.machines import CO2_FLATBED
from core.burning.scan_rows import scan_rows
from core.burning.strips import MAX_REACH
from core.errors import Cancelled, JobError
from core.geometry.affine import apply
from core.sheet.stock import MIRRORED_ACRYLIC_3 as STOCK
from tests.references.numerical_dose import areas_by_grid_mm2

PITCH_MM = 25.4 / 600


def line_of(width_mm: float, spot_mm: float = 0.137) -> ClearingLine:
    """A line that bares that width far from its ends; none at all for 0."""
    peak = 0.19 * math.exp(2 * (width_mm / spot_mm) ** 2) if width_mm else 0.1
    return ClearingLine(spot_mm=spot_mm, peak_j_mm2=peak, clearing_dose_j_mm2=0.19)


def covered(
    region: BaseGeometry,
    *,
    pitch_mm: float = PITCH_MM,
    width_mm: float = 0.0633,
    spot_mm: float = 0.137,
    spill_s: float = 1.0,
    angle_deg: float = 0.0,
    inset_mm: float = 0.0,
) -> Coverage:
    """Single hits only, unless spill_s says otherwise: each line by itself is easy to reckon with."""
    rows = scan_rows(region, pitch_mm=pitch_mm, angle_deg=angle_deg, edge_inset_mm=inset_mm)
    return coverage(region, rows, line_of(width_mm, spot_mm), spill_s=spill_s)


def test_one_span_is_as_wide_as_a_line_and_ends_where_its_dose_does() -> None:
    """A 10 x 1 box with one row in the middle: on the axis the dose is spot/4 · Φ⁻¹(clearing/peak) from the end."""
    line = line_of(0.4, 0.5)
    across = np.linspace(-0.2, 0.2, 200_001)
    outward = -0.125 * ndtri(np.minimum(np.exp(8 * (across / 0.5) ** 2) / line.peak_over_clearing, 1.0))
    some = np.isfinite(outward)
    beyond, short = (float(np.maximum(sign * outward[some], 0).mean() * 0.4) for sign in (1, -1))
    found = covered(box(0, 0, 10, 1), pitch_mm=1.0, width_mm=0.4, spot_mm=0.5)
    assert found.spill_mm2 == pytest.approx(2 * beyond, rel=0.01)
    assert found.left_over_mm2 == pytest.approx(6.0 + 2 * short, rel=1e-3)


def test_a_line_of_twice_the_clearing_dose_ends_just_where_it_is_drawn() -> None:
    """Half the dose at its end is just enough there on the axis; beside the axis it is not, so nothing is spilt."""
    width_mm = 0.137 * math.sqrt(math.log(2) / 2)
    found = covered(box(0, 0, 10, 1), pitch_mm=1.0, width_mm=width_mm)
    assert line_of(width_mm).peak_over_clearing == pytest.approx(2.0)
    assert found.spill_mm2 == pytest.approx(0.0, abs=1e-6)
    assert covered(box(0, 0, 10, 1), pitch_mm=1.0, width_mm=1.1 * width_mm).spill_mm2 > 1e-5


def test_a_level_edge_between_rows_leaves_a_strip() -> None:
    """Rows at 0.5, 1.5, 2.5; the fill ends at 3.4: above the last swath [2, 3] stays 0.4 of 4000 mm."""
    found = covered(box(0, 0, 4000, 3.4), pitch_mm=1.0, width_mm=1.0, spot_mm=1.2)
    assert len(scan_rows(box(0, 0, 10, 3.4), pitch_mm=1.0, angle_deg=0).row_y_mm) == 3
    assert found.left_over_mm2 == pytest.approx(1600.0, rel=1e-3)


def test_share_left_over_in_a_wide_fill_at_300_lines_an_inch() -> None:
    line = clearing_line(STOCK.fill, CO2_FLATBED, STOCK)
    pitch_mm = 25.4 / 300
    region = box(0, 0, 5000, 20 * pitch_mm)
    found = coverage(region, scan_rows(region, pitch_mm=pitch_mm, angle_deg=0.0), line)
    assert found.left_over_pct / 100 == pytest.approx(1 - line.cleared_width_mm / pitch_mm, abs=2e-5)
    assert found.left_over_pct / 100 == pytest.approx(0.252350, abs=2e-5)


def test_nothing_cleared() -> None:
    region = Point(5, 5).buffer(3)
    found = covered(region, width_mm=0.0)
    assert (found.left_over_mm2, found.spill_mm2) == pytest.approx((region.area, 0.0))
    assert found.left_over_pct == pytest.approx(100)


def test_empty_region() -> None:
    found = covered(Polygon())
    assert (found.region_mm2, found.left_over_mm2, found.spill_mm2, found.left_over_pct) == (0, 0, 0, 0)
    assert found.places == ()


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"peak_j_mm2": -0.1}, "dose of -0.1"),
        ({"peak_j_mm2": float("nan")}, "dose of nan"),
        ({"spot_mm": 0.0}, "spot of 0"),
        ({"clearing_dose_j_mm2": 0.0}, "clearing dose of 0"),
        ({"passes": 0}, "passes of 0"),
    ],
)
def test_lines_that_can_not_be(change: dict[str, float], named: str) -> None:
    region = box(0, 0, 1, 1)
    rows = scan_rows(region, pitch_mm=0.1, angle_deg=0.0)
    with pytest.raises(JobError, match=named):
        coverage(region, rows, replace(line_of(0.06), **change))


@pytest.mark.parametrize("s", [-0.1, 1.1, float("nan")])
def test_an_s_that_can_not_be(s: float) -> None:
    with pytest.raises(JobError, match="S of"):
        covered(box(0, 0, 1, 1), spill_s=s)


@settings(deadline=None, max_examples=40)
@given(x=st.floats(-50, 50), y=st.integers(-200, 200), angle_deg=st.sampled_from([0.0, 90.0]), flip=st.booleans())
def test_shifted_or_mirrored_jobs_are_covered_alike(x: float, y: int, angle_deg: float, flip: bool) -> None:
    region = shapely.union_all(
        [Point(0, 0).buffer(1), box(0, -0.2, 3, 0.31), LineString([(0, 0), (2, 2)]).buffer(0.04)]
    )
    first = covered(region, pitch_mm=0.1, width_mm=0.13, angle_deg=angle_deg)
    moved = shapely.transform(region, lambda p: p * [-1 if flip and angle_deg == 0 else 1, 1] + [x, y])
    second = covered(moved, pitch_mm=0.1, width_mm=0.13, angle_deg=angle_deg)
    assert second.left_over_mm2 == pytest.approx(first.left_over_mm2, abs=1e-5)
    assert second.spill_mm2 == pytest.approx(first.spill_mm2, abs=1e-5)


@settings(deadline=None, max_examples=40)
@given(width_mm=st.floats(0.01, 0.5), more=st.floats(1.0, 1.5), angle_deg=st.floats(0, 180))
def test_a_wider_line_leaves_less_and_spills_more(width_mm: float, more: float, angle_deg: float) -> None:
    region = Point(0, 0).buffer(1, quad_segs=8).difference(box(-0.1, -0.4, 0.2, 0.3))
    narrow, wide = (
        covered(region, pitch_mm=0.1, width_mm=w, spot_mm=0.3, angle_deg=angle_deg) for w in (width_mm, width_mm * more)
    )
    doubt_mm2 = 5e-4 * region.area  # of the rules between sampling lines
    assert wide.left_over_mm2 <= narrow.left_over_mm2 + doubt_mm2
    assert wide.spill_mm2 >= narrow.spill_mm2 - doubt_mm2
    assert 0 <= narrow.left_over_mm2 <= region.area * (1 + 1e-6)


def test_rows_far_closer_than_the_width_may_be_thinned() -> None:
    region = Point(0, 0).buffer(0.5)
    rows = scan_rows(region, pitch_mm=0.002, angle_deg=0.0)
    for s in (1.0, 0.0):
        found = coverage(region, rows, line_of(0.2, 0.3), clearing_s=s, spill_s=s)
        left_over, spill = areas_by_grid_mm2(region, rows, line_of(0.2, 0.3), s, step_mm=0.004)
        assert found.left_over_mm2 == pytest.approx(left_over, abs=1e-3 * region.area)
        assert found.spill_mm2 == pytest.approx(spill, rel=0.02)


def test_edge_inset_takes_the_spill_away() -> None:
    region = Point(5, 5).buffer(3, quad_segs=64)
    plain, drawn_in = (covered(region, inset_mm=inset, spill_s=0.0) for inset in (0.0, 0.0633 / 2))
    assert drawn_in.spill_mm2 < 0.6 * plain.spill_mm2
    assert plain.left_over_pct < drawn_in.left_over_pct < 3


def test_parts_between_rows_are_lost() -> None:
    missed = box(0, 1.1, 3, 1.4)
    found = covered(MultiPolygon([box(0, 0, 3, 1), missed]), pitch_mm=1.0, width_mm=0.2)
    assert found.unhit_parts == 1
    lost = [place for place in found.places if place.kind == "lost" and "no scan line" in place.words]
    assert len(lost) == 1
    assert missed.contains(Point(lost[0].x_mm, lost[0].y_mm))
    assert lost[0].area_mm2 == pytest.approx(0.9)
    assert lost[0].bounds_mm == pytest.approx((0, 1.1, 3, 1.4))


def test_parts_thinner_than_the_line_are_lost() -> None:
    sign = shapely.union_all([box(0, 0, 4, 4), box(4, 2, 8, 2.05), box(1, 4, 1.04, 7)])
    found = covered(MultiPolygon([sign, box(10, 0, 10.03, 3)]))
    assert (found.unhit_parts, found.thin_parts, found.lost_features) == (0, 3, 3)
    widths = sorted(place.words.split(" mm")[0] for place in found.places if place.kind == "lost")
    assert [float(width) for width in widths] == pytest.approx([0.03, 0.04, 0.05], abs=0.002)


def test_corners_and_clean_shapes_are_not_lost() -> None:
    star = Polygon(
        [((2 + i % 2) * math.cos(i * math.pi / 5), (2 + i % 2) * math.sin(i * math.pi / 5)) for i in range(10)]
    )
    assert covered(star).lost_features == 0
    assert covered(Point(0, 0).buffer(2)).lost_features == 0


def test_places_lead_to_the_coat_that_stays() -> None:
    """A level strip is left on top of the second box only; beside it just the notches between the ends of rows."""
    region = MultiPolygon([box(0, 0, 5, 60 * PITCH_MM), box(20, 0, 25, 30.4 * PITCH_MM)])
    found = covered(region, width_mm=1.1 * PITCH_MM, spot_mm=0.05)
    worst = found.places[0]
    assert worst.kind == "left over"
    x0, y0, x1, y1 = worst.bounds_mm
    assert x0 <= worst.x_mm <= x1
    assert y0 <= worst.y_mm <= y1
    left = [place for place in found.places if place.kind == "left over" and place.area_mm2 >= 0.5 * worst.area_mm2]
    assert all(place.x_mm > 19 for place in left)
    assert all(place.y_mm == pytest.approx(30 * PITCH_MM, abs=PITCH_MM) for place in left)


def test_wiped_coat_between_fills_is_a_place_of_spill() -> None:
    plate = box(0, 0, 20, 20).difference(box(5, 5, 5.05, 15))
    found = covered(plate, spill_s=0.0)
    spill = [place for place in found.places if place.kind == "spill"]
    assert spill
    assert all(4 < place.x_mm < 6 and 4 < place.y_mm < 16 for place in spill)
    assert not [place for place in covered(box(0, 0, 20, 20), spill_s=0.0).places if place.kind == "spill"]


def test_places_are_bounded_and_worst_first() -> None:
    region = MultiPolygon([box(i, j, i + 0.03, j + 0.5) for i in range(20) for j in range(20)])
    found = covered(region)
    assert found.lost_features == 400
    assert len(found.places) == MAX_PLACES
    areas = [place.area_mm2 for place in found.places if place.kind == "lost"]
    assert areas == sorted(areas, reverse=True)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0])
def test_grid_lies_over_the_fill(angle_deg: float) -> None:
    bad, good = box(10, 5, 30, 10), box(50, 30, 60, 45)
    region = MultiPolygon(
        [bad.difference(shapely.union_all([box(10, 5 + i, 30, 5.98 + i) for i in range(5)])).geoms[0], good]
    )
    found = covered(region, width_mm=0.8 * PITCH_MM, angle_deg=angle_deg)
    grid = found.grid
    rows, columns = grid.left_over_share.shape
    assert max(rows, columns) <= MAX_CELLS
    assert grid.spill_share.shape == (rows, columns)
    assert 0 <= grid.left_over_share.min() <= grid.left_over_share.max() <= 1
    middles = np.stack(np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5), -1).reshape(-1, 2)
    inside = shapely.contains_xy(good.buffer(-2 * grid.cell_mm), apply(grid.to_bed, middles))
    assert inside.any()
    assert grid.left_over_share.reshape(-1)[inside] == pytest.approx(0.2, abs=0.08)


def test_grid_sums_up_to_the_areas() -> None:
    region = Point(5, 5).buffer(4).difference(box(4, 4, 4.05, 7))
    found = covered(region, width_mm=0.9 * PITCH_MM, angle_deg=20)
    assert 0.1 * region.area < found.left_over_mm2 < 0.125 * region.area  # more only along the outline
    share = found.grid.left_over_share[found.grid.left_over_share > 0]
    assert np.median(share) == pytest.approx(0.1, abs=0.03)


def test_progress_rises_and_can_cancel() -> None:
    region = MultiPolygon([Point(8 * i, 8 * j).buffer(3.5) for i in range(8) for j in range(8)])
    rows = scan_rows(region, pitch_mm=PITCH_MM / 2, angle_deg=0)
    seen: list[float] = []
    coverage(region, rows, line_of(0.0633), progress=lambda share, doing: seen.append(share))
    assert len(seen) > 2
    assert seen == sorted(seen)
    assert seen[-1] <= 1

    def stop(share: float, doing: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        coverage(region, rows, line_of(0.0633), progress=stop)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("pitch_mm", [0.3, 1.0, 3.0])
@pytest.mark.parametrize("spill_s", [0.6, 0.9])
def test_where_rows_lie_so_far_apart_that_no_dose_is_left_between_them_nothing_is_spilt_there(
    pitch_mm: float, spill_s: float
) -> None:
    found = covered(box(0.2, 0.2, 12.2, 9.7), pitch_mm=pitch_mm, spill_s=spill_s)
    alone = covered(box(0.2, 0.2, 12.2, 9.7), pitch_mm=pitch_mm)
    assert found.spill_mm2 == pytest.approx(alone.spill_mm2, abs=1.0) and found.left_over_mm2 == alone.left_over_mm2


@pytest.mark.parametrize("groups", [1.99, 2.99, 4.98, 7.97])
def test_a_dose_so_high_that_rows_count_by_groups_is_worked_out(groups: float) -> None:
    """A thousand times the clearing dose at rows of which a hundred act on a place: groups reach further than a row."""
    line = replace(line_of(0.0633), peak_j_mm2=190.0)
    pitch_mm = reach_mm(line, 0.0) / MAX_REACH / groups
    region = box(0.0, 0.0, 1.0, 0.5)
    found = coverage(region, scan_rows(region, pitch_mm=pitch_mm, angle_deg=0.0), line)
    # as wide as the sum of all that dose bares: somewhat over what one line does, far less than it reaches
    beyond_mm = found.spill_mm2 / region.length
    assert found.left_over_mm2 < 1e-6 and line.cleared_width_mm / 2 < beyond_mm < 1.5 * line.cleared_width_mm / 2
