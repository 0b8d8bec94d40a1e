"""Plain entities read past the library come out as through it."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.dxf import loading, plain
from core.artwork.dxf.reading import read_dxf
from core.progress import silent
from tests.core.artwork.dxf.made import dxf_bytes

numbers = st.integers(-5000, 5000).map(lambda n: n / 10)
points = st.tuples(numbers, numbers)


@st.composite
def entities(draw):
    """A function that draws one entity, with attributes that send some of them through the library."""
    looks = {"layer": draw(st.sampled_from(["0", "a", "B"]))}
    if draw(st.booleans()):
        looks["color"] = draw(st.sampled_from([0, 1, 7, 256]))
    if draw(st.booleans()):
        looks["true_color"] = draw(st.integers(0, 0xFFFFFF))
    if draw(st.integers(0, 4)) == 0:
        looks["extrusion"] = draw(st.sampled_from([(0, 0, 1), (0, 0, -1), (0, 1, 1)]))
    kind = draw(st.sampled_from(["line", "circle", "arc", "polyline", "spline", "text", "hatch", "insert", "insert"]))
    at, radius = draw(points), draw(st.integers(1, 99))
    corners = draw(st.lists(st.tuples(numbers, numbers, st.sampled_from([0, 0, 1, -0.4])), min_size=2, max_size=6))
    closed, start, end = draw(st.booleans()), draw(st.integers(-400, 400)), draw(st.integers(-400, 400))
    block, placing = draw(st.sampled_from(["LEAF", "leaf", "WIDE", "NONE"])), {"rotation": start}
    if draw(st.booleans()):
        placing |= {"xscale": draw(st.sampled_from([2, -1, 0.5])), "yscale": draw(st.sampled_from([2, -1, 3]))}
    if draw(st.integers(0, 3)) == 0:
        placing |= {"row_count": 2, "row_spacing": 40, "column_count": 3, "column_spacing": draw(st.integers(0, 1))}

    def build(space: Any) -> None:
        if kind == "line":
            space.add_line(at, corners[0][:2], dxfattribs=looks)
        elif kind == "circle":
            space.add_circle(at, radius, dxfattribs=looks)
        elif kind == "arc":
            space.add_arc(at, radius, start, end, dxfattribs=looks)
        elif kind == "polyline":
            space.add_lwpolyline(corners, format="xyb", close=closed, dxfattribs=looks)
        elif kind == "spline":
            looks.pop("extrusion", None)
            space.add_open_spline([at, *(c[:2] for c in corners)], degree=2, dxfattribs=looks)
        elif kind == "text":
            space.add_point(at, dxfattribs=looks)
        elif kind == "insert":
            space.add_blockref(block, at, dxfattribs={**looks, **placing})
        else:
            space.add_hatch(dxfattribs=looks).paths.add_polyline_path([at, *(c[:2] for c in corners)])

    return build


def _same(one: Drawing, other: Drawing) -> None:
    assert (one.width_mm, one.height_mm) == pytest.approx((other.width_mm, other.height_mm), abs=1e-9)
    assert [(f.code, f.message) for f in one.findings] == [(f.code, f.message) for f in other.findings]
    for ours, theirs in zip(one.findings, other.findings, strict=True):
        assert (ours.x_mm, ours.y_mm) == pytest.approx((theirs.x_mm, theirs.y_mm), abs=1e-7)
    assert [(s.id, s.kind, s.fill, s.source_layer, s.look) for s in one.shapes] == [
        (s.id, s.kind, s.fill, s.source_layer, s.look) for s in other.shapes
    ]
    for ours, theirs in zip(one.shapes, other.shapes, strict=True):
        assert np.array_equal(ours.path.kinds, theirs.path.kinds)
        assert np.array_equal(ours.path.closed, theirs.path.closed)
        np.testing.assert_allclose(ours.path.segments, theirs.path.segments, rtol=0, atol=1e-7)


@settings(max_examples=40)
@given(st.lists(entities(), min_size=1, max_size=12), st.sampled_from(["R12", "R2000", "R2018"]))
def test_a_drawing_is_the_same_by_either_way(builders, version) -> None:
    def build(document: Any, space: Any) -> None:
        leaf = document.blocks.new("LEAF", base_point=(3, 4))
        leaf.add_polyline2d([(0, 0, 0.4), (5, 0, 0.4)], format="xyb", close=True, dxfattribs={"layer": "a"})
        leaf.add_line((0, 0), (5, 1), dxfattribs={"color": 0})
        wide = document.blocks.new("WIDE")
        wide.add_blockref("LEAF", (1, 2), dxfattribs={"rotation": 30})
        wide.add_polyline2d([(0, 0), (9, 0), (9, 9)], dxfattribs={"default_start_width": 1, "default_end_width": 1})
        for one in builders:
            try:
                one(space)
            except Exception as error:  # noqa: BLE001  # R12 knows fewer kinds
                assert "R2000" in str(error)

    data = dxf_bytes(lambda d, m: (build(d, m), m.add_line((0, 0), (3, 4))), version=version)
    fast = read_dxf(data, ReadOptions())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(loading, "plain_part", lambda text, progress: None)
        slow = read_dxf(data, ReadOptions())
    _same(fast, slow)


def _part(entity: str):
    return plain.plain_part(f"0\nSECTION\n2\nENTITIES\n{entity}0\nENDSEC\n0\nEOF\n", silent)


LINE = "0\nLINE\n5\nA1\n8\nedge\n62\n3\n10\n1\n20\n2\n30\n0\n11\n3\n21\n4\n31\n0\n"


def test_a_line_is_taken_out_of_the_text() -> None:
    part = _part(LINE)
    assert [e.geometry for e in part.entities] == [(1.0, 2.0, 3.0, 4.0)]
    assert (part.entities[0].layer, part.entities[0].colour_index, part.entities[0].handle) == ("edge", 3, "A1")
    assert part.rest == "0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n"


@pytest.mark.parametrize(
    "extra",
    [
        "67\n1\n",
        "60\n1\n",
        "102\n{ACAD_REACTORS\n330\nFF\n102\n}\n",
        "210\n0\n220\n0\n230\n-1\n",
        "10\nabc\n",
        "62\nx\n",
    ],
)
def test_anything_unusual_is_left_to_the_library(extra: str) -> None:
    assert _part(LINE + extra) is None


def test_extended_data_and_a_plain_extrusion_make_no_difference() -> None:
    assert _part(LINE + "210\n0.0\n220\n0.0\n230\n1.0\n1001\nOTHER\n1000\nwords\n1040\n1.5\n") is not None


INSERT = "0\nINSERT\n5\nB1\n8\nedge\n2\nLEAF\n10\n1\n20\n2\n30\n0\n"


def test_a_placed_block_is_taken_out_of_the_text() -> None:
    (entity,) = _part(f"{INSERT}41\n2\n50\n90\n").entities
    assert entity.geometry[:6] == ("LEAF", 1.0, 2.0, 2.0, 1.0, 90.0) and entity.layer == "edge"


@pytest.mark.parametrize(
    "extra", ["66\n1\n", "41\n0\n", "43\n0\n", "70\n0\n", "210\n0\n220\n0\n230\n-1\n", "102\n{ACAD_XDICTIONARY\n"]
)
def test_a_block_with_attributes_a_clip_or_strange_scales_is_left_to_the_library(extra: str) -> None:
    assert _part(INSERT + extra) is None


@pytest.mark.parametrize("text", ["", "0\nSECTION\n", "0\nSECTION\n2\nENTITIES\n0\nLINE\n", "nonsense"])
def test_text_without_a_whole_section_gives_nothing(text: str) -> None:
    assert plain.plain_part(text, silent) is None
