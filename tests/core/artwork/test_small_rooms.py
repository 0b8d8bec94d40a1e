"""Small rooms that whole files are read through: white paint, maps, remarks, contours, colours."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from core.artwork.drawing import Drawing, Finding, Shape
from core.artwork.paint_order import NEAR_WHITE, dark, near_white, white_paint
from core.artwork.pdf.segments import all_closed, around
from core.artwork.pictures.contouring import contours_below
from core.artwork.remarks import Remarks
from core.artwork.transforming import moved_finding, transformed_drawing, transformed_shape
from core.geometry.affine import apply, scaling
from core.geometry.path import polyline
from core.geometry.stroke import Stroke

PAGE = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)])
TURNED = (0.0, 2.0, -2.0, 0.0, 5.0, 7.0)


def shape(name, points, fill="#000000", **more):
    return Shape(id=name, kind="path", path=polyline(np.asarray(points, float), closed=True), fill=fill, **more)


def drawing(*shapes):
    return Drawing(width_mm=100.0, height_mm=60.0, shapes=shapes, units_from="mm")


@pytest.mark.parametrize(
    ("colour", "white"),
    [("white", True), ("#fff", True), (f"#{NEAR_WHITE:02x}ffff", True), (f"#{NEAR_WHITE - 1:02x}ffff", False),
     ("#ffffff80", True), ("snow", False), (None, False)],
)  # fmt: skip
def test_what_passes_for_white(colour, white):
    assert near_white(colour) is white


def test_dark_goes_by_how_light_the_eye_sees_it():
    assert dark("#0000ff") and dark("#ff0000") and not dark("#00ff00")  # BT.709: green weighs most
    assert not dark("black") and not dark(None)


def test_white_is_paper_below_everything_and_a_knock_out_on_dark_paint():
    square, letter, aside = PAGE * 0.5, PAGE * 0.2 + 5, PAGE * 0.1 + [80, 40]
    found = white_paint(drawing(shape("paper", PAGE, "#ffffff"), shape("dark", square), shape("letter", letter, "#fff"),
                                shape("aside", aside, "#ffffff")))  # fmt: skip
    assert (found.paper, found.over_dark, found.unseen) == (frozenset({0}), frozenset({2}), frozenset({3}))


def test_a_shape_and_all_it_carries_go_through_a_map_together():
    stroke = Stroke(colour="#000000", width=1.0, width_mm=1.0)
    clip = shapely.box(0, 0, 50, 30)
    moved = transformed_shape(shape("one", PAGE, stroke=stroke, clip=clip), TURNED)
    assert np.allclose(moved.path.start_points[:4], apply(TURNED, PAGE))
    assert moved.clip.area == pytest.approx(4 * clip.area)  # lengths doubled
    assert moved.stroke.width_mm == pytest.approx(2.0)


def test_a_drawing_scaled_keeps_its_findings_on_their_shapes():
    one = drawing(shape("one", PAGE))
    one = replace(one, findings=(Finding(code="open-outline", message="", x_mm=10.0, y_mm=20.0),))
    scaled = transformed_drawing(one, scaling(3.0, 3.0), 3.0)
    assert (scaled.width_mm, scaled.height_mm) == (300.0, 180.0)
    assert (scaled.findings[0].x_mm, scaled.findings[0].y_mm) == (30.0, 60.0)
    assert moved_finding(Finding(code="open-outline", message=""), TURNED).x_mm is None


def test_remarks_of_one_kind_become_one_sentence_with_its_count():
    remarks = Remarks()
    for place in (None, (1.0, 2.0), (3.0, 4.0)):
        remarks.add("text-left-out", "{count} [text|texts] in “{font}”", place=place, font="A  B")
    remarks.add("text-left-out", "{count} [text|texts] in “{font}”", font="C")
    (many, place), (single, nowhere) = remarks.findings()
    assert (many.message, place) == ("3 texts in “A B”", (1.0, 2.0))
    assert (single.message, nowhere) == ("1 text in “C”", None)
    assert [one.count for one, _ in remarks.missing(frozenset({"text-left-out"}), frozenset())] == [3, 1]


def test_what_one_drawing_may_ask_for_has_an_end():
    remarks = Remarks()
    assert remarks.allow("blocks", 3, 5) and not remarks.allow("blocks", 3, 5) and remarks.allow("others", 3, 5)


def test_outlines_of_an_area_enclose_it_again_holes_and_all():
    area = shapely.box(0, 0, 10, 10).difference(shapely.box(3, 3, 6, 6))
    path = around(area)
    assert len(path.starts) == 2 and path.closed.all()
    again = all_closed(polyline(PAGE))
    assert again.closed.all() and np.allclose(again.end_points[-1], PAGE[0])


def test_contours_of_a_disc_lie_on_its_edge_and_its_hole_is_told():
    y, x = np.mgrid[0:60, 0:60] + 0.5
    away = np.hypot(x - 30, y - 30)
    found = contours_below(np.abs(away - 15.0), 5.0)  # a ring from 10 to 20 px
    assert sorted(found.is_outer.tolist()) == [False, True]
    for begin, end, outer in zip(found.starts[:-1], found.starts[1:], found.is_outer, strict=True):
        radius = np.hypot(*(found.points[begin:end] - 30.0).T)
        assert np.abs(radius - (20.0 if outer else 10.0)).max() < 0.1
