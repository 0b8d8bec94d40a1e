"""Shapes made by the thousand are those made one by one."""

from dataclasses import fields

import pytest

from core.artwork.drawing import Shape
from core.artwork.many_shapes import many_shapes
from core.geometry.path import EMPTY, ellipse

PATHS = [EMPTY, ellipse((1.0, 2.0), 3.0, 4.0)]


def test_they_have_every_field_of_those_made_one_by_one() -> None:
    made = many_shapes(2, id=["a", "b"], kind=["path", "circle"], path=PATHS, fill=["#000000", None])
    alone = [
        Shape(id="a", kind="path", path=PATHS[0], fill="#000000"),
        Shape(id="b", kind="circle", path=PATHS[1], fill=None),
    ]
    for field in fields(Shape):
        assert [getattr(shape, field.name) for shape in made] == [getattr(shape, field.name) for shape in alone]


def test_a_field_without_default_must_be_given() -> None:
    with pytest.raises(KeyError):
        many_shapes(2, id=["a", "b"], kind=["path", "circle"])
