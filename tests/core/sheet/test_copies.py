import itertools

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from core.errors import Cancelled, UnreadableError
from core.progress import silent
from core.sheet.copies import ONE_DESIGN_S, Copy, Layout, Wanted, different, laid_shapes, nested, rows_and_columns
from core.sheet.lattices import lattice_places
from core.sheet.meetings import Meetings, fields_of
from core.sheet.offcuts import region_of
from core.sheet.settling import Settling
from tests.core.sheet.boards import ODD
from tests.quickest import quickest_s

L_SHAPE = shapely.Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
ROOM = shapely.box(0, 0, 200, 120)


def assert_sound(layout, wanted, room, spacing_mm):
    shapes = laid_shapes(layout, wanted)
    assert all(room.buffer(1e-5).contains(shape) for shape in shapes)
    for number, shape in enumerate(shapes):
        for other in shapes[:number]:
            assert shape.distance(other) >= spacing_mm - 1e-6
            assert shape.intersection(other).area < 1e-6


def test_rows_and_columns_fill_a_rectangle():
    layout = rows_and_columns(ROOM, Wanted(name="tag", shape=shapely.box(0, 0, 38, 28), count=50), gap_mm=2.0)
    assert len(layout.copies) == 5 * 4 and layout.left_over == 30
    assert layout.copies[1].x_mm == pytest.approx(40.0)


def test_rows_leave_out_what_lies_over_a_hole():
    tag = Wanted(name="tag", shape=shapely.box(0, 0, 18, 13), count=60)
    layout = rows_and_columns(region_of(ODD), tag, gap_mm=1.0)
    assert 0 < len(layout.copies) < 30
    assert_sound(layout, [tag], region_of(ODD), 1.0)


def test_to_share_cuts_neighbours_overlap_by_a_kerf():
    tag = Wanted(name="tag", shape=shapely.box(0, 0, 20.15, 20), count=10)  # half a kerf round each is burned
    layout = rows_and_columns(shapely.box(0, 0, 200.15, 20), tag, gap_mm=-0.15)
    assert len(layout.copies) == 10
    assert np.diff([copy.x_mm for copy in layout.copies]) == pytest.approx(np.full(9, 20.0))


def test_nested_shapes_keep_apart_and_nest():
    wanted = [
        Wanted(name="L", shape=L_SHAPE, count=12),
        Wanted(name="dot", shape=shapely.Point(0, 0).buffer(4), count=6),
    ]
    layout = nested(ROOM, wanted, spacing_mm=1.0, time_s=0.5)
    assert layout.left_over == 0
    assert_sound(layout, wanted, ROOM, 1.0)
    rows = rows_and_columns(ROOM, wanted[0], gap_mm=1.0)
    assert layout.density > rows.density  # 500 / 961 at best in rows


def test_nesting_on_an_odd_piece_with_a_hole():
    wanted = [Wanted(name="L", shape=shapely.affinity.scale(L_SHAPE, 0.6, 0.6, origin=(0, 0)), count=8)]
    layout = nested(region_of(ODD), wanted, spacing_mm=0.5, time_s=ONE_DESIGN_S)
    assert len(layout.copies) >= 7
    assert_sound(layout, wanted, region_of(ODD), 0.5)


def test_equal_rectangles_pack_without_loss():
    layout = nested(
        ROOM, [Wanted(name="tile", shape=shapely.box(0, 0, 40, 30), count=20)], spacing_mm=0.0, time_s=ONE_DESIGN_S
    )
    assert layout.left_over == 0 and layout.density == pytest.approx(1.0)


def test_hexagonal_rows_hold_105_discs():
    """100 discs of r 10 in 200 x 200 lie in rows; 105 in hexagonal ones: 6 rows of 10, 5 of 9, 17.32 apart."""
    disc = Wanted(name="disc", shape=shapely.Point(0, 0).buffer(10, quad_segs=16), count=110)
    layout = nested(shapely.box(0, 0, 200, 200), [disc], spacing_mm=0.0, time_s=0.1)
    assert len(layout.copies) == 105
    assert_sound(layout, [disc], shapely.box(0, 0, 200, 200), 0.0)


def test_discs_lie_tighter_than_in_hexagonal_rows_where_those_have_places_to_spare():
    """100 discs of r 10 take 11 rows of 10 and 9 in turn, 105 places; 9 in most and all spread, the rows nest deeper.

    Regular hexagonal rows of true circles take 20 + 10 x 17.32 mm; of these 64-cornered ones, 192.95.
    """
    disc = Wanted(name="disc", shape=shapely.Point(0, 0).buffer(10, quad_segs=16), count=100)
    room = shapely.box(0, 0, 314, 200)
    layout = nested(room, [disc], spacing_mm=0.0, time_s=1.5)
    assert layout.left_over == 0 and layout.strip_mm2 < 192.7 * 200
    assert_sound(layout, [disc], room, 0.0)


def test_triangles_lie_in_half_turned_pairs():
    """Two of a triangle are a parallelogram, which tiles: ten rows of five pairs take up 5 x 40 + 15 by 10 x 20 mm."""
    triangle = Wanted(name="triangle", shape=shapely.Polygon([(0, 0), (40, 0), (25, 20)]), count=100)
    room = shapely.box(0, 0, 230, 400)
    layout = nested(room, [triangle], spacing_mm=0.0, time_s=0.1)
    assert len(layout.copies) == 100
    assert layout.density == pytest.approx(100 * 400 / (215 * 200), rel=1e-5)
    assert_sound(layout, [triangle], room, 0.0)


@settings(deadline=None, max_examples=12, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(
    st.lists(st.tuples(st.floats(6, 25), st.floats(6, 25)), min_size=5, max_size=9),
    st.floats(0, 3),
    st.integers(1, 30),
    st.booleans(),
)
def test_lattices_of_any_shape_are_sound(radii, spacing_mm, count, odd):
    """Star-shaped outlines of any kind, convex or not."""
    angles = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    reach = np.array([min(pair) if k % 2 else max(pair) for k, pair in enumerate(radii)])
    shape = shapely.Polygon(np.column_stack([np.cos(angles) * reach, np.sin(angles) * reach]))
    room = region_of(ODD) if odd else shapely.box(-20, 30, 230, 180)
    wanted = Wanted(name="star", shape=shape, count=count)
    ways = lattice_places(room, shape, shape, angles_deg=wanted.angles_deg, count=count, spacing_mm=spacing_mm)
    for places in list(ways)[::7]:
        copies = tuple(Copy(name="star", x_mm=x, y_mm=y, rotation_deg=angle) for x, y, angle in places)
        laid = Layout(copies=copies, left_over=0, density=0.0, width_mm=0.0, height_mm=0.0, strip_mm2=0.0)
        assert len(copies) <= count
        assert_sound(laid, [wanted], room, spacing_mm)


def mixed(count, seed=3):
    random = np.random.default_rng(seed)
    wanted = []
    for number in range(count):
        angles, corners = np.sort(random.uniform(0, 2 * np.pi, 7)), random.uniform(6, 20, 7)
        shape = shapely.Polygon(np.column_stack([np.cos(angles) * corners, np.sin(angles) * corners])).buffer(0)
        wanted.append(Wanted(name=str(number), shape=max(shapely.get_parts(shape), key=lambda part: part.area)))
    return wanted


@pytest.mark.parametrize(("room", "spacing_mm"), [(shapely.box(0, 0, 160, 90), 0.0), (region_of(ODD), 0.7)])
def test_every_layout_told_on_the_way_is_sound_and_better_than_the_one_before(room, spacing_mm):
    wanted, told = mixed(9), []
    best = nested(room, wanted, spacing_mm=spacing_mm, time_s=0.5, better=told.append)
    for layout in told:
        assert_sound(layout, wanted, room, spacing_mm)
    assert all(later.rank < earlier.rank for earlier, later in itertools.pairwise(told))
    assert told[-1] == best


def test_with_time_a_layout_gets_tighter():
    wanted = mixed(10)
    quick, long = (nested(shapely.box(0, 0, 300, 80), wanted, time_s=time_s) for time_s in (0.0, 2.0))
    assert long.left_over == quick.left_over == 0
    assert long.strip_mm2 < 0.95 * quick.strip_mm2


def test_a_hook_stops_where_it_touches_what_it_reaches_round():
    """The box lies behind the hook's near side but ahead of its tip: pushed down, the hook stops 1 mm from it."""
    hook = shapely.Polygon([(0, 0), (40, 0), (40, 30), (30, 30), (30, 10), (0, 10)])
    room = shapely.box(0, 0, 200, 200)
    meetings = Meetings(fields_of(room, [(0, hook, 0.0), (1, shapely.box(0, 0, 10, 10), 0.0)], 1.0, silent), 1.0)
    (_, x, _), (_, box_x, _) = Settling(room, meetings).settled([(0, 60.0, 20.0), (1, 75.0, 31.5)], (0,))
    assert (x, box_x) == pytest.approx((0.0, 0.0), abs=1e-4)
    (_, x, _), (_, box_x, _) = Settling(room, meetings).settled([(0, 2.0, 20.0), (1, 15.0, 31.5)], (0,))
    assert (x, box_x) == pytest.approx((0.0, 0.0), abs=1e-4)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000), st.floats(0, 2))
def test_meetings_are_the_same_either_way_and_those_of_the_shapes(seed, spacing_mm):
    one, other = (wanted.shape for wanted in mixed(2, seed))
    room = shapely.box(0, 0, 120, 90)
    fields = fields_of(room, [(0, one, 0.0), (1, other, 90.0)], 2.5, silent)
    meetings, random = Meetings(fields, spacing_mm), np.random.default_rng(seed)
    pair, back = meetings.of(0, 1), meetings.of(1, 0)
    there = shapely.affinity.translate(fields[0].outline, fields[0].grid.x_mm, fields[0].grid.y_mm)
    for _ in range(25):
        row, column = (int(random.integers(0, size)) for size in pair.meets.shape)
        x = fields[1].grid.x_mm + (pair.column + column) * 2.5
        y = fields[1].grid.y_mm + (pair.row + row) * 2.5
        here = shapely.affinity.translate(fields[1].outline, x, y)
        if there.distance(here) < spacing_mm - 1e-4 or there.intersection(here).area > 1e-3:
            assert pair.meets[row, column]
        mirrored = (-pair.row - row - back.row, -pair.column - column - back.column)
        if all(0 <= at < size for at, size in zip(mirrored, back.meets.shape, strict=True)):
            assert back.meets[mirrored] == pair.meets[row, column]


def test_200_name_plates_are_laid_within_two_seconds():
    plate = shapely.box(0, 0, 60, 20).buffer(-4).buffer(4)
    plate = plate.difference(shapely.MultiPoint([(5, 10), (55, 10)]).buffer(1.5))
    wanted = Wanted(name="plate", shape=plate, count=200)
    layouts = []
    sheet = shapely.box(0, 0, 900, 600)
    assert quickest_s(lambda: layouts.append(nested(sheet, [wanted], time_s=ONE_DESIGN_S)), within_s=2.0) <= 2.0
    layout = layouts[-1]
    assert layout.left_over == 0 and layout.density > 0.85
    assert_sound(layout, [wanted], shapely.box(0, 0, 900, 600), 1.0)


def test_angles_at_which_a_shape_looks_the_same_are_tried_once():
    box, l_shape = shapely.box(3, 4, 33, 24), Wanted(name="L", shape=L_SHAPE)
    assert different(box, Wanted(name="box", shape=box)) == (0.0, 90.0)
    assert different(L_SHAPE, l_shape) == (0.0, 90.0, 180.0, 270.0)
    assert different(shapely.Point(0, 0).buffer(5), l_shape) == (0.0,)


def test_whoever_cancels_has_the_best_so_far():
    found, calls = [], []

    def stop(share, doing):
        calls.append(share)
        if found:
            raise Cancelled

    with pytest.raises(Cancelled):
        nested(ROOM, [Wanted(name="L", shape=L_SHAPE, count=5)], better=found.append, progress=stop)
    assert found[-1].left_over == 0 and calls


def test_senseless_figures_are_refused():
    with pytest.raises(UnreadableError):
        nested(ROOM, [Wanted(name="L", shape=L_SHAPE, count=0)])
    with pytest.raises(UnreadableError):
        nested(ROOM, [Wanted(name="L", shape=L_SHAPE)], spacing_mm=-1.0)
