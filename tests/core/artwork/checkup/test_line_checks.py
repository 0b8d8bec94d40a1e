"""The rules for thin lines by themselves: which shapes are lines, which ends were meant to meet, what lies on what."""

import numpy as np
import pytest
import shapely

import core.artwork.checkup.line_checks as line_checks
from core.artwork.checkup.line_checks import (
    JOIN_MM,
    MAX_FINDINGS,
    capped,
    crosses_itself,
    doubled,
    end_findings,
    open_lines,
    overlap_findings,
    small_outlines,
    thin_lines,
    too_thin,
    wholly_covered,
)
from core.artwork.drawing import Finding, ReadOptions
from core.artwork.svg import read_svg

LINE = 'fill="none" stroke="#000" stroke-width=".1"'


def drawn(body):
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
    return read_svg(f"{head}{body}</svg>".encode(), ReadOptions())


def lines(*courses, look=LINE):
    return drawn("".join(f'<path d="{course}" {look}/>' for course in courses))


def test_lines_are_thin_strokes_without_a_fill():
    body = (
        f'<path d="M0 0H9" {LINE}/><path d="M0 5H9V9Z"/><path d="M0 20H9" fill="none" stroke="#000" stroke-width="3"/>'
        '<path d="M0 30H9V39Z" fill="#0f0" stroke="#000" stroke-width=".1"/>'
    )
    assert thin_lines(drawn(body)) == [0]


@pytest.mark.parametrize(("gap_mm", "told"), [(0.0, ""), (0.3, "0.30 mm"), (JOIN_MM + 0.01, None)])
def test_ends_were_meant_to_meet_up_to_half_a_millimetre(gap_mm, told):
    found = end_findings(lines("M10 10H20", f"M{20 + gap_mm} 10V20"))
    assert [one.message for one in found if told and told in one.message] == [one.message for one in found]
    assert len(found) == bool(told)
    if told:
        assert (found[0].x_mm, found[0].y_mm) == pytest.approx((20 + gap_mm / 2, 10)) and len(found[0].shape_ids) == 2


def test_loose_lines_that_close_are_told_as_such_and_others_of_another_look_do_not_count():
    square = ("M10 10H20", "M20 10V20", "M20 20H10", "M10 20V10")
    assert [one.code for one in end_findings(lines(*square))] == ["loose-lines"]
    other = LINE.replace("#000", "#f00")
    apart = drawn("".join(f'<path d="{d}" {LINE if n else other}/>' for n, d in enumerate(square)))
    assert "loose-lines" not in [one.code for one in end_findings(apart)]


def test_closed_and_dashed_lines_have_no_ends_to_join():
    body = f'<path d="M5 5H9V9Z" {LINE}/><path d="M20 5H29" {LINE} stroke-dasharray="1 1"/><path d="M40 5H49" {LINE}/>'
    assert open_lines(drawn(body)).shape.tolist() == [2]


def test_a_line_lies_on_another_wholly_in_part_or_back_over_itself():
    whole, part, back = ("M10 10H20", "M12 10H18"), ("M10 10H20", "M15 10H25"), ("M10 10H20H14",)
    for courses, code, length_mm in (
        (whole, "doubled-lines", 6.0), (part, "overlapping-lines", 5.0), (back, "overlapping-lines", 6.0)
    ):  # fmt: skip
        drawing = lines(*courses)
        (found,) = overlap_findings(drawing)
        assert found.code == code and f"{length_mm:.1f} mm" in found.message
        indices, covered = doubled(drawing)
        assert wholly_covered(drawing, indices, covered) == ([1] if courses is whole else [])
        assert float(covered.length_mm.sum()) == pytest.approx(length_mm)


def test_an_outline_tells_where_it_crosses_itself():
    (bow,) = lines("M10 8 20 16 20 8 10 16Z").shapes
    (sound,) = lines("M10 8 20 8 20 16 10 16Z").shapes
    assert crosses_itself(bow) == pytest.approx((15.0, 12.0)) and crosses_itself(sound) is None


@pytest.mark.parametrize(("wide_mm", "small"), [(0.19, True), (0.21, False)])
def test_an_outline_is_too_small_where_no_disc_of_the_kerf_fits(wide_mm, small):
    drawing = lines(f"M10 10H40V{10 + wide_mm}H10Z", "M50 10H60V20H50Z")
    assert [index for index, _ in small_outlines(drawing, 0.2)] == [0] * small
    assert small_outlines(drawing, 0.0) == []


def test_too_thin_goes_by_the_widest_place():
    dumbbell = shapely.union_all([shapely.box(0, 0, 9, 0.1), shapely.Point(0, 0).buffer(0.6, quad_segs=32)])
    regions = np.array([shapely.Point(0, 0).buffer(0.4), shapely.box(0, 0, 50, 0.9), dumbbell, shapely.box(0, 0, 2, 2)])
    assert too_thin(regions, 1.0).tolist() == [0, 1]


def test_too_thin_says_of_rings_and_odd_shapes_what_the_offset_says():
    random, turn = np.random.default_rng(4), np.linspace(0, 2 * np.pi, 24, endpoint=False)
    regions = []
    for size in np.linspace(0.4, 1.6, 30).tolist():
        points = size * random.uniform(0.4, 1.0, (24, 1)) * np.column_stack([np.cos(turn), np.sin(turn)])
        ring = shapely.Point(9, 0).buffer(3 + size).difference(shapely.Point(9, 0).buffer(3))
        regions += [shapely.Polygon(points), ring, shapely.MultiPolygon([shapely.box(20, 0, 25, size), ring])]
    offset = [region.buffer(-0.5, quad_segs=8) for region in regions]
    assert too_thin(np.array(regions, object), 1.0).tolist() == [i for i, left in enumerate(offset) if left.is_empty]


def test_too_thin_counts_the_holes_of_every_part():
    """A disc just over the crossings of a mesh's bars fits nowhere, though the mesh has more area than its outlines."""
    holes = [((x + 1, y + 1), (x + 2, y + 1), (x + 2, y + 2), (x + 1, y + 2)) for x in range(0, 80, 2)
             for y in range(0, 80, 2)]  # fmt: skip
    mesh = shapely.Polygon([(0, 0), (81, 0), (81, 81), (0, 81)], holes)
    regions = np.array([mesh, shapely.MultiPolygon([mesh, shapely.box(90, 0, 91, 1)]), shapely.Polygon()], object)
    assert too_thin(regions, 1.42).tolist() == [0, 1, 2] and too_thin(regions, 1.4).tolist() == [2]


def test_what_is_plainly_wider_is_not_offset(monkeypatch):
    """A bar has more area than what lies within half a width of its outline."""
    monkeypatch.setattr(line_checks.shapely, "buffer", None)
    assert not len(too_thin(np.array([shapely.box(0, 0, 50, 1.2)], object), 1.0))


def test_of_very_many_findings_the_rest_is_counted():
    many = [Finding(code="speck", message=f"No. {n}") for n in range(MAX_FINDINGS + 7)]
    assert capped(many[:MAX_FINDINGS], "speck", "specks") == many[:MAX_FINDINGS]
    told = capped(many, "speck", "specks")
    assert len(told) == MAX_FINDINGS + 1 and told[-1].message == "7 more specks."
