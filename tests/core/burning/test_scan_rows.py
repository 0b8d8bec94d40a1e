import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from core.burning.scan_rows import RegionEdges, ScanRows, inset_region, rows_crossed, scan_rows
from core.errors import Cancelled, JobError
from core.geometry.affine import apply

RING = Point(3, 2).buffer(2).difference(Point(3, 2).buffer(1.2))
angles = st.sampled_from([0.0, 37.0, 90.0, 123.4, 180.0, -45.0])


@st.composite
def regions(draw: st.DrawFn) -> BaseGeometry:
    """Unions of boxes with round coordinates, so that rows pass through corners and along edges, and of discs."""
    corner = st.integers(0, 12)
    boxes = [
        box(x, y, x + w, y + h)
        for x, y, w, h in draw(
            st.lists(st.tuples(corner, corner, st.integers(1, 6), st.integers(1, 6)), min_size=1, max_size=6)
        )
    ]
    discs = [
        Point(x, y).buffer(r) for x, y, r in draw(st.lists(st.tuples(corner, corner, st.integers(1, 4)), max_size=3))
    ]
    holes = [box(x, y, x + 1, y + 1) for x, y in draw(st.lists(st.tuples(corner, corner), max_size=4))]
    return shapely.union_all(boxes + discs).difference(shapely.union_all(holes))


def reference_spans_mm(region: BaseGeometry, rows: ScanRows) -> list[float]:
    """Length of each row inside the region, by GEOS."""
    turned = affinity.affine_transform(region, [rows.from_bed[i] for i in (0, 2, 1, 3, 4, 5)])
    lines = shapely.linestrings([[(-100, y), (100, y)] for y in rows.row_y_mm])
    return shapely.length(shapely.intersection(lines, turned)).tolist()


def row_lengths_mm(rows: ScanRows) -> list[float]:
    return np.bincount(rows.row_index, rows.x1_mm - rows.x0_mm, minlength=len(rows.row_y_mm)).tolist()


def test_rows_start_half_a_pitch_inside() -> None:
    rows = scan_rows(box(1, 2, 4, 7), pitch_mm=1.0, angle_deg=0)
    assert rows.row_y_mm.tolist() == [2.5, 3.5, 4.5, 5.5, 6.5]
    assert rows.row_index.tolist() == [0, 1, 2, 3, 4]
    assert rows.x0_mm.tolist() == [1.0] * 5
    assert rows.x1_mm.tolist() == [4.0] * 5
    assert rows.length_mm == 15.0


def test_a_fill_lower_than_half_a_pitch_is_not_hit() -> None:
    rows = scan_rows(box(0, 0, 10, 0.4), pitch_mm=1.0, angle_deg=0)
    assert len(rows) == 0
    assert rows.length_mm == 0


def test_rows_through_corners_and_along_edges_count_once() -> None:
    """Rows at 0.5, 1.5, ...: through both corners of the diamond and along level edges of the steps."""
    diamond = Polygon([(0, 1.5), (2, 0), (4, 1.5), (2, 3)])
    assert row_lengths_mm(scan_rows(diamond, pitch_mm=1.0, angle_deg=0)) == pytest.approx([4 / 3, 4.0, 4 / 3])
    steps = Polygon([(0, 0), (1, 0), (1, 1.5), (2, 1.5), (2, 2.5), (3, 2.5), (3, 4), (0, 4)])
    assert row_lengths_mm(scan_rows(steps, pitch_mm=1.0, angle_deg=0)) == pytest.approx([1, 2, 3, 3])


def test_parts_that_touch_at_a_corner_make_one_span() -> None:
    touching = MultiPolygon([Polygon([(0, 0), (2, 1.5), (0, 3)]), Polygon([(4, 0), (2, 1.5), (4, 3)])])
    rows = scan_rows(touching, pitch_mm=1.0, angle_deg=0)
    assert rows.row_index.tolist() == [0, 0, 1, 2, 2]


@settings(deadline=None)
@given(regions(), angles, st.sampled_from([0.3, 0.5, 1.0]))
def test_spans_agree_with_geos(region: BaseGeometry, angle_deg: float, pitch_mm: float) -> None:
    rows = scan_rows(region, pitch_mm=pitch_mm, angle_deg=angle_deg)
    if region.is_empty:
        assert not len(rows)
        return
    # a level edge on a row belongs to either side, so rows are compared a hair off the edges
    ours, theirs = np.array(row_lengths_mm(rows)), np.array(reference_spans_mm(region, rows))
    turned = affinity.affine_transform(region, [rows.from_bed[i] for i in (0, 2, 1, 3, 4, 5)])
    vertex_y = shapely.get_coordinates(turned)[:, 1]
    clear = np.abs(rows.row_y_mm[:, None] - vertex_y).min(1) > 1e-9
    assert ours[clear] == pytest.approx(theirs[clear], abs=1e-9)


@settings(deadline=None)
@given(regions(), angles)
def test_spans_are_sorted_apart_and_inside_the_rows(region: BaseGeometry, angle_deg: float) -> None:
    rows = scan_rows(region, pitch_mm=0.5, angle_deg=angle_deg)
    assert (rows.x0_mm < rows.x1_mm).all()
    assert (np.diff(rows.row_index) >= 0).all()
    same_row = np.diff(rows.row_index) == 0
    assert (rows.x1_mm[:-1] < rows.x0_mm[1:])[same_row].all()
    assert np.diff(rows.row_y_mm) == pytest.approx(0.5)
    assert rows.row_starts[-1] == len(rows)
    for i in range(len(rows.row_y_mm)):
        assert (rows.row_index[rows.row_starts[i] : rows.row_starts[i + 1]] == i).all()


@settings(deadline=None)
@given(regions(), angles)
def test_lengths_times_pitch_tend_to_the_area(region: BaseGeometry, angle_deg: float) -> None:
    rows = scan_rows(region, pitch_mm=0.02, angle_deg=angle_deg)
    assert rows.length_mm * 0.02 == pytest.approx(region.area, abs=0.02 * region.length)


def test_rows_turn_from_x_towards_y() -> None:
    rows = scan_rows(box(0, 0, 10, 1), pitch_mm=1.0, angle_deg=90)
    assert len(rows) == 10
    starts, ends = (
        apply(rows.to_bed, np.column_stack([x, rows.row_y_mm[rows.row_index]])) for x in (rows.x0_mm, rows.x1_mm)
    )
    assert np.sort(starts[:, 0]) == pytest.approx(np.arange(10) + 0.5)
    assert np.column_stack([starts[:, 1], ends[:, 1]]) == pytest.approx(np.tile([0.0, 1.0], (10, 1)))


def test_matrix_to_bed_and_back() -> None:
    rows = scan_rows(RING, pitch_mm=0.1, angle_deg=30)
    middle = np.column_stack([(rows.x0_mm + rows.x1_mm) / 2, rows.row_y_mm[rows.row_index]])
    on_bed = apply(rows.to_bed, middle)
    assert shapely.contains_xy(RING, on_bed).all()
    assert apply(rows.from_bed, on_bed) == pytest.approx(middle)


def test_inset_draws_edges_in() -> None:
    drawn_in = scan_rows(box(0, 0, 10, 10), pitch_mm=0.1, angle_deg=0, edge_inset_mm=0.25)
    assert (drawn_in.x0_mm.min(), drawn_in.x1_mm.max()) == pytest.approx((0.25, 9.75))
    assert drawn_in.row_y_mm[0] == pytest.approx(0.3)


def test_inset_keeps_what_would_vanish() -> None:
    thick, thin = box(0, 0, 10, 10), box(20, 0, 20.3, 10)
    kept = inset_region(MultiPolygon([thick, thin]), 0.25)
    assert kept.intersection(thin).area == pytest.approx(thin.area)
    assert kept.intersection(thick).area == pytest.approx(9.5 * 9.5)


def test_inset_keeps_a_thin_stem_joined_to_its_bowl() -> None:
    letter = shapely.union_all([box(0, 0, 4, 4), box(4, 1.9, 8, 2.1)])
    kept = inset_region(letter, 0.25)
    assert kept.geom_type == "Polygon"
    assert kept.intersection(box(5, 0, 9, 4)).equals(box(5, 1.9, 8, 2.1))


@settings(deadline=None)
@given(regions(), st.floats(1e-4, 0.6))
def test_inset_stays_inside_and_valid(region: BaseGeometry, inset_mm: float) -> None:
    kept = inset_region(region, inset_mm)
    assert kept.is_valid
    assert kept.difference(region.buffer(1e-9)).area < 1e-9
    assert region.buffer(-inset_mm).difference(kept).area < 1e-9


@pytest.mark.parametrize("inset_mm", [0.0, 1e-80, 1e-9])
def test_no_inset_worth_the_name_changes_nothing(inset_mm: float) -> None:
    assert inset_region(RING, inset_mm) is RING


def test_empty_region_has_no_rows() -> None:
    rows = scan_rows(Polygon(), pitch_mm=0.1, angle_deg=0)
    assert len(rows) == 0
    assert len(rows.row_y_mm) == 0


@pytest.mark.parametrize("pitch_mm", [0.0, -0.1, float("nan"), float("inf")])
def test_pitch_that_makes_no_rows(pitch_mm: float) -> None:
    with pytest.raises(JobError, match="makes no scan rows"):
        scan_rows(RING, pitch_mm=pitch_mm, angle_deg=0)


def test_pitch_far_too_small_is_refused_before_it_fills_the_memory() -> None:
    with pytest.raises(JobError, match="scan rows over a fill") as refused:
        scan_rows(box(0, 0, 300, 300), pitch_mm=1e-5, angle_deg=0)
    assert "at least" in refused.value.hint
    comb = MultiPolygon([box(x, 0, x + 0.5, 200) for x in range(400)])
    with pytest.raises(JobError, match="spans"):
        scan_rows(comb, pitch_mm=0.001, angle_deg=0)


def test_coordinates_and_angles_that_are_no_numbers() -> None:
    with pytest.raises(JobError, match="not numbers"):
        scan_rows(affinity.translate(RING, float("inf")), pitch_mm=0.1, angle_deg=0)
    with pytest.raises(JobError, match="angle"):
        scan_rows(RING, pitch_mm=0.1, angle_deg=float("nan"))


def test_can_be_cancelled() -> None:
    def stop(share: float, doing: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        scan_rows(RING, pitch_mm=0.1, angle_deg=0, progress=stop)


@pytest.mark.parametrize("bent", [0.0, 1e-13, 0.3])
def test_rows_below_an_edge_are_counted_as_by_looking_up(bent: float) -> None:
    """Heights at rows, a last bit beside them, and far off; rows evenly spaced, almost, and not at all."""
    random = np.random.default_rng(3)
    for count in (0, 1, 2, 3, 700):
        rows = 12.3 + 25.4 / 600 * (np.arange(count) + bent * random.random(count))
        near = np.concatenate([rows, np.nextafter(rows, -np.inf), np.nextafter(rows, np.inf)])
        y0 = np.concatenate([near, random.uniform(-5, 60, 500), [-1e9, 1e9]])
        y1 = y0 + random.choice([0.0, 0.01, 25.4 / 600, 3.0], len(y0))
        nothing = np.zeros(len(y0))
        edges = RegionEdges(
            x0=nothing, y0=y0, x1=nothing, y1=y1, sign=nothing.astype(np.int8), part=nothing.astype(np.intp)
        )
        for told, y in zip(rows_crossed(edges, rows), (y0, y1), strict=True):
            assert np.array_equal(told, np.searchsorted(rows, y, side="left"))
