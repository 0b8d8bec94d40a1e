"""Which shape is which in a later state of a drawing."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, Shape
from core.artwork.following import followed
from core.geometry.affine import IDENTITY
from core.geometry.path import polyline

DETERMINED = settings(max_examples=40, deadline=None, derandomize=True)


def box(name: str, x: float, y: float, wide: float, *, fill: str = "#000000", source_id: str = "") -> Shape:
    corners = np.array([(x, y), (x + wide, y), (x + wide, y + 2.0), (x, y + 2.0)])
    return Shape(id=name, kind="rect", path=polyline(corners, closed=True), fill=fill, source_id=source_id)


def drawing(*shapes: Shape) -> Drawing:
    return Drawing(width_mm=100.0, height_mm=100.0, units_from="made by hand", shapes=shapes)


@st.composite
def some_shapes(draw: st.DrawFn) -> tuple[Shape, ...]:
    """Boxes that are all different; some have ids of their own."""
    widths = draw(st.lists(st.integers(1, 400), min_size=1, max_size=8, unique=True))
    named = draw(st.lists(st.booleans(), min_size=len(widths), max_size=len(widths)))
    places = draw(st.lists(st.integers(0, 9000), min_size=len(widths), max_size=len(widths)))
    return tuple(
        box(f"s{i}", places[i] / 100, i * 3.0, wide / 10, source_id=f"id{wide}" if named[i] else "")
        for i, wide in enumerate(widths)
    )


def renumbered(shapes: tuple[Shape, ...], order: list[int]) -> tuple[Shape, ...]:
    """The same shapes in another order, with the ids that a reader deals out in order."""
    return tuple(replace(shapes[was], id=f"s{now}") for now, was in enumerate(order))


@DETERMINED
@given(some_shapes())
def test_a_drawing_follows_itself_shape_by_shape(shapes):
    found = followed(drawing(*shapes), drawing(*shapes))
    assert found.now == {shape.id: shape.id for shape in shapes}
    assert found.alike


@DETERMINED
@given(some_shapes(), st.data())
def test_whatever_order_they_are_drawn_in_each_is_found_again(shapes, data):
    order = data.draw(st.permutations(range(len(shapes))))
    found = followed(drawing(*shapes), drawing(*renumbered(shapes, order)))
    assert found.now == {f"s{was}": f"s{now}" for now, was in enumerate(order)}
    assert found.alike


@DETERMINED
@given(some_shapes(), st.data())
def test_what_is_taken_out_is_gone_and_what_comes_in_is_new(shapes, data):
    kept = sorted(data.draw(st.sets(st.sampled_from(range(len(shapes))))))
    later = (*renumbered(shapes, kept), box("new", 50.0, 90.0, 77.7, fill="#ff0000"))
    found = followed(drawing(*shapes), drawing(*later))
    assert found.now == {f"s{was}": f"s{now}" for now, was in enumerate(kept)}
    assert found.new == ("new",)
    assert set(found.gone) == {shape.id for i, shape in enumerate(shapes) if i not in kept}


@DETERMINED
@given(some_shapes(), some_shapes())
def test_every_shape_of_both_is_told_of_just_once(one, other):
    found = followed(drawing(*one), drawing(*other))
    assert set(found.now) | set(found.gone) == {shape.id for shape in one} and not set(found.now) & set(found.gone)
    after = list(found.now.values())
    assert sorted([*after, *found.new]) == sorted(shape.id for shape in other) and len(set(after)) == len(after)
    assert set(found.changed) <= set(after)


@DETERMINED
@given(some_shapes(), st.floats(-30, 30), st.floats(-30, 30))
def test_the_whole_drawing_moved_is_the_same_shapes_changed(shapes, dx_mm, dy_mm):
    matrix = (*IDENTITY[:4], dx_mm, dy_mm)
    moved = tuple(replace(shape, path=shape.path.transformed(matrix)) for shape in shapes)
    found = followed(drawing(*shapes), drawing(*moved))
    assert found.now == {shape.id: shape.id for shape in shapes}


def test_an_id_wins_over_where_and_how_it_is_drawn():
    old = drawing(box("s0", 0, 0, 5, source_id="wave"), box("s1", 20, 0, 9, source_id="star"))
    new = drawing(box("s0", 20, 0, 9, source_id="wave"), box("s1", 60, 60, 3, source_id="moon"))
    found = followed(old, new)
    assert found.now == {"s0": "s0"} and found.gone == ("s1",) and found.new == ("s1",)
    assert found.changed == ("s0",)


def test_ids_that_were_dealt_out_anew_do_not_count():
    old = drawing(*(box(f"{i:X}", 7.0 * i, 0, 1.0 + i, source_id=f"{i:X}") for i in range(6)))
    new = drawing(*(box(f"{i + 1:X}", 7.0 * i, 0, 1.0 + i, source_id=f"{i + 1:X}") for i in range(6)))
    found = followed(old, new)
    assert found.now == {f"{i:X}": f"{i + 1:X}" for i in range(6)} and found.alike


def test_another_colour_is_a_change_and_the_line_of_a_fill_stays_a_line():
    line = replace(box("s0.line", 0, 0, 5, source_id="a"), fill=None)
    old = drawing(box("s0", 0, 0, 5, source_id="a"), line)
    new = drawing(box("s0", 0, 0, 5, source_id="a", fill="#00ff00"), line)
    found = followed(old, new)
    assert found.now == {"s0": "s0", "s0.line": "s0.line"} and found.changed == ("s0",)


def test_shapes_that_are_alike_and_nameless_are_told_apart_by_their_place():
    old = drawing(*(box(f"s{i}", 10.0 * i, 0, 5) for i in range(4)))
    new = drawing(*(box(f"s{n}", 10.0 * i, 0, 5) for n, i in enumerate((1, 2, 3))))
    assert followed(old, new).now == {"s1": "s0", "s2": "s1", "s3": "s2"}
