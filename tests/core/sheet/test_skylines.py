import itertools

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.affine import apply_to_region
from core.sheet.copies import Wanted, nested
from core.sheet.placement import placement_matrix
from core.sheet.rectangles import only_rectangles, rectangles_laid
from core.sheet.skylines import packed
from tests.references.tilings import DUIJVESTIJN


def test_a_perfect_squared_square_is_found():
    """21 squares, no two alike, fill 112 x 112 (A. J. W. Duijvestijn 1978, see ``tilings``)."""
    trials = itertools.islice(packed([((side, side),) for side in DUIJVESTIJN], 112.0), 8000)
    *_, (length_mm, stands) = (found for found in trials if found is not None)
    assert length_mm == pytest.approx(112.0)
    boxes = [
        shapely.box(one.across_mm, one.along_mm, one.across_mm + side, one.along_mm + side)
        for one in stands
        for side in (DUIJVESTIJN[one.item],)
    ]
    assert shapely.union_all(boxes).equals(shapely.box(0, 0, 112, 112))


@settings(deadline=None, max_examples=25)
@given(
    st.lists(st.tuples(st.floats(3, 40), st.floats(3, 40), st.integers(1, 3)), min_size=1, max_size=6),
    st.floats(0, 3),
    st.booleans(),
)
def test_rectangles_of_any_size_lie_in_the_room_and_apart(sizes, spacing_mm, turned):
    room, angles = shapely.box(-30, 12, 60, 80), (0.0, 90.0, 180.0, 270.0) if turned else (0.0,)
    shapes = [shapely.box(5, -3, 5 + width, -3 + height) for width, height, _ in sizes]
    wanted = [(shape, size[2], angles) for shape, size in zip(shapes, sizes, strict=True)]
    layouts = [laid for laid in itertools.islice(rectangles_laid(room, wanted, spacing_mm=spacing_mm), 60) if laid]
    for layout in layouts[-3:]:
        laid = [apply_to_region(placement_matrix(*place), shapes[of]) for of, place in layout]
        assert all(room.buffer(1e-6).contains(shape) for shape in laid)
        for one, other in itertools.combinations(laid, 2):
            assert one.distance(other) >= spacing_mm - 1e-6
            assert one.intersection(other).area < 1e-5


def test_a_spacing_that_is_next_to_nothing_is_none():
    wanted = [Wanted(name=str(side), shape=shapely.box(0, 0, side, side)) for side in (3, 4)]
    layout = nested(shapely.box(0, 0, 40, 20), wanted, spacing_mm=1e-120, time_s=0.0)
    assert layout.left_over == 0


def test_what_is_no_rectangle_along_the_axes_is_told():
    room, box = shapely.box(0, 0, 50, 50), shapely.box(0, 0, 5, 8)
    assert only_rectangles(room, [box])
    assert not only_rectangles(room, [box, shapely.affinity.rotate(box, 10)])
    assert not only_rectangles(room.difference(shapely.box(10, 10, 12, 12)), [box])
