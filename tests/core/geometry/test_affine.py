import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.geometry.affine import (
    IDENTITY,
    apply,
    apply_to_region,
    compose,
    determinant,
    inverse,
    rotation,
    scaling,
    translation,
)

numbers = st.floats(-100, 100)
maps = st.tuples(numbers, numbers, numbers, numbers, numbers, numbers).filter(lambda m: abs(determinant(m)) > 1e-2)
points = st.lists(st.tuples(numbers, numbers), min_size=1, max_size=9).map(np.array)


@given(maps, maps, points)
def test_composing_is_doing_one_after_the_other(outer, inner, xy):
    assert np.allclose(apply(compose(outer, inner), xy), apply(outer, apply(inner, xy)), rtol=1e-9, atol=1e-6)


@given(maps, points)
def test_the_inverse_brings_back(matrix, xy):
    assert np.allclose(apply(inverse(matrix), apply(matrix, xy)), xy, rtol=1e-6, atol=1e-5)


def test_a_squashing_map_has_no_way_back():
    with pytest.raises(UnreadableError):
        inverse((1, 2, 2, 4, 0, 0))


def test_quarter_turns_are_exact():
    assert rotation(90) == (0, 1, -1, 0, 0, 0)
    assert rotation(-90) == (0, -1, 1, 0, 0, 0)
    assert compose(rotation(180), rotation(180)) == IDENTITY


def test_svg_transform_list_of_the_specification():
    # W3C SVG 2, section 8.5 nested transforms example: translate(50 90) rotate(-45) translate(130 160)
    whole = compose(compose(translation(50, 90), rotation(-45)), translation(130, 160))
    assert whole[4:] == pytest.approx((255.061, 111.213), abs=1e-3)


def test_regions_go_through_too():
    region = apply_to_region(scaling(2, 3), shapely.box(0, 0, 1, 1))
    assert region.area == pytest.approx(6)
