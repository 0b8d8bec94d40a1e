import numpy as np
import pytest
import shapely

from core.errors import Cancelled, UnreadableError
from core.sheet.copies import Wanted, laid_shapes, nested, rows_and_columns
from core.sheet.offcuts import region_of
from tests.core.sheet.boards import ODD

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
    layout = nested(ROOM, wanted, spacing_mm=1.0)
    assert layout.left_over == 0
    assert_sound(layout, wanted, ROOM, 1.0)
    rows = rows_and_columns(ROOM, wanted[0], gap_mm=1.0)
    assert layout.density > rows.density  # 500 / 961 at best in rows


def test_nesting_on_an_odd_piece_with_a_hole():
    wanted = [Wanted(name="L", shape=shapely.affinity.scale(L_SHAPE, 0.6, 0.6, origin=(0, 0)), count=8)]
    layout = nested(region_of(ODD), wanted, spacing_mm=0.5)
    assert len(layout.copies) >= 7
    assert_sound(layout, wanted, region_of(ODD), 0.5)


def test_equal_rectangles_pack_without_loss():
    layout = nested(ROOM, [Wanted(name="tile", shape=shapely.box(0, 0, 40, 30), count=20)], spacing_mm=0.0)
    assert layout.left_over == 0 and layout.density == pytest.approx(1.0)


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
