"""What each kind of entity, layer, block and unit comes to."""

import math
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.xclip import XClip

from core.artwork.drawing import Drawing, ReadOptions, SortOptions
from core.artwork.dxf.reading import read_dxf
from core.artwork.painting import painted_region
from core.artwork.sorting.deciding import sort_shapes
from core.errors import UnitsUnknownError, UnreadableError
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import ARC, CUBIC
from tests.core.artwork.dxf.made import codes, drawn, dxf_bytes, written


def area_mm2(drawing: Drawing) -> float:
    return shapely.union_all([painted_region(shape, tolerance_mm=0.001) for shape in drawing.shapes if shape.fill]).area


def lengths_mm(drawing: Drawing) -> list[float]:
    return [path_length_mm(shape.path) for shape in drawing.shapes]


def only(drawing: Drawing):
    (shape,) = drawing.shapes
    return shape


# frame and units


def test_y_is_turned_over_and_the_extents_start_at_the_origin() -> None:
    drawing = drawn(lambda d, m: m.add_lwpolyline([(105, 50), (125, 50), (105, 60)]))
    assert (drawing.width_mm, drawing.height_mm) == (20, 10)
    points = flatten(only(drawing).path).points
    assert points.tolist() == [[0, 10], [20, 10], [0, 0]]


def test_extents_are_those_of_the_curves_themselves() -> None:
    drawing = drawn(lambda d, m: (m.add_circle((0, 0), 50), m.add_ellipse((200, 0), (30, 30), 0.5)))
    assert drawing.height_mm == pytest.approx(100)
    half = math.hypot(30, 15)  # of an ellipse at 45 degrees: the root of the squared half-axes' shares
    assert drawing.width_mm == pytest.approx(50 + 200 + half)


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0), (13, 0.001)])
def test_insunits_gives_the_size(code: int, mm: float) -> None:
    drawing = read_dxf(dxf_bytes(lambda d, m: m.add_line((0, 0), (8, 6)), units=code), ReadOptions(assume_units=None))
    assert drawing.width_mm == pytest.approx(8 * mm)
    assert drawing.units_from.startswith(f"$INSUNITS {code}")
    assert drawing.findings == ()


def test_without_a_unit_one_is_assumed_and_said_or_asked_for() -> None:
    data = dxf_bytes(lambda d, m: m.add_line((0, 0), (8, 6)), units=0)
    drawing = read_dxf(data, ReadOptions())
    assert (drawing.width_mm, drawing.units_from, codes(drawing)) == (8, "assumed mm", ["units-assumed"])
    assert read_dxf(data, ReadOptions(assume_units="in")).width_mm == pytest.approx(203.2)
    with pytest.raises(UnitsUnknownError):
        read_dxf(data, ReadOptions(assume_units=None))


def test_the_makers_word_on_units_wins() -> None:
    drawing = read_dxf(dxf_bytes(lambda d, m: m.add_line((0, 0), (8, 6))), ReadOptions(units="in"))
    assert (drawing.width_mm, codes(drawing)) == (pytest.approx(203.2), [])


def test_a_drawing_that_hints_at_inches_says_so() -> None:
    def build(d: Any, m: Any) -> None:
        d.header["$MEASUREMENT"] = 0
        m.add_line((0, 0), (8, 6))

    finding = read_dxf(dxf_bytes(build, units=0), ReadOptions()).findings[0]
    assert "inches" in finding.message


# versions


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_all_versions_as_text(version: str) -> None:
    def build(d: Any, m: Any) -> None:
        d.layers.add("Größe")
        m.add_line((0, 0), (10, 5), dxfattribs={"layer": "Größe"})
        m.add_circle((5, 5), 3)
        m.add_polyline2d([(0, 0), (10, 0, 1), (10, 5)], format="xyb")

    drawing = drawn(build, version=version, units="mm")
    assert sorted(lengths_mm(drawing)) == pytest.approx(sorted([math.hypot(10, 5), 6 * math.pi, 10 + 2.5 * math.pi]))
    assert "Größe" in {shape.source_layer for shape in drawing.shapes}


@pytest.mark.parametrize("version", ["R2000", "R2010", "R2018"])
def test_all_versions_as_binary(version: str, tmp_path) -> None:
    document = ezdxf.new(version, units=4)
    document.modelspace().add_line((0, 0), (10, 5))
    document.modelspace().add_arc((5, 5), 3, 0, 90)
    document.saveas(tmp_path / "b.dxf", fmt="bin")
    drawing = read_dxf((tmp_path / "b.dxf").read_bytes(), ReadOptions())
    assert sorted(lengths_mm(drawing)) == pytest.approx([1.5 * math.pi, math.hypot(10, 5)])


def test_utf8_in_a_file_of_an_older_version() -> None:
    data = dxf_bytes(lambda d, m: m.add_line((0, 0), (1, 1), dxfattribs={"layer": "X"}), version="R2000")
    drawing = read_dxf(data.replace(b"\n  8\nX\n", "\n  8\nTür\n".encode()), ReadOptions())
    assert only(drawing).source_layer == "Tür"


# curves


def test_arcs_stay_arcs_and_splines_are_cubics() -> None:
    drawing = drawn(
        lambda d, m: (
            m.add_arc((0, 0), 10, 30, 120),
            m.add_ellipse((40, 0), (10, 5), 0.5, 1, 3),
            m.add_open_spline([(60, 0), (70, 20), (80, -20), (90, 0)], degree=3),
        )
    )
    assert [shape.path.kinds.tolist() for shape in drawing.shapes] == [[ARC], [ARC], [CUBIC]]
    assert lengths_mm(drawing)[0] == pytest.approx(10 * math.pi / 2)


def test_an_arc_over_the_zero_angle_runs_counterclockwise() -> None:
    shape = only(drawn(lambda d, m: m.add_arc((0, 0), 10, 350, 10)))
    assert path_length_mm(shape.path) == pytest.approx(10 * math.radians(20))


def test_polylines_with_bulges_closed_and_open() -> None:
    slot = [(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)]
    closed, open_ = drawn(
        lambda d, m: (
            m.add_lwpolyline(slot, format="xyb", close=True),
            m.add_lwpolyline([(x + 50, y, b) for x, y, b in slot], format="xyb"),
        )
    ).shapes
    assert path_length_mm(closed.path) == pytest.approx(40 + 10 * math.pi)
    assert closed.path.closed.all()
    assert path_length_mm(open_.path) == pytest.approx(40 + 5 * math.pi)
    assert not open_.path.closed.any()


def test_wide_polylines_are_strokes_or_areas() -> None:
    even, tapered = drawn(
        lambda d, m: (
            m.add_lwpolyline([(0, 0, 2, 2), (20, 0, 2, 2)], format="xyse"),
            m.add_lwpolyline([(0, 10, 2, 4), (20, 10, 0, 0)], format="xyse"),
        )
    ).shapes
    assert (even.stroke.width_mm, even.fill) == (2, None)
    assert painted_region(even, tolerance_mm=0.001).area == pytest.approx(40)
    assert tapered.stroke is None
    assert painted_region(tapered, tolerance_mm=0.001).area == pytest.approx(20 * 3)


def test_the_width_of_a_polyline_grows_with_its_block() -> None:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("B").add_lwpolyline([(0, 0), (5, 0)], dxfattribs={"const_width": 1})
        m.add_blockref("B", (0, 0), dxfattribs={"xscale": 2, "yscale": 4})

    drawing = drawn(build)
    assert painted_region(only(drawing), tolerance_mm=0.001).area == pytest.approx(10 * 4)
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((10, 4))


def test_the_frame_points_of_a_fitted_polyline_are_not_drawn() -> None:
    def build(d: Any, m: Any) -> None:
        line = m.add_polyline2d([(0, 0), (5, 0), (10, 0)])
        line.append_vertices([(5, 99)], dxfattribs={"flags": 16})

    assert lengths_mm(drawn(build)) == [10]


# filled kinds


def test_solids_are_filled_and_faces_are_outlines() -> None:
    drawing = drawn(
        lambda d, m: (
            m.add_solid([(0, 0), (10, 0), (0, 10), (10, 10)], dxfattribs={"color": 1}),
            m.add_trace([(20, 0), (30, 0), (20, 10), (30, 10)]),
            m.add_3dface([(40, 0), (50, 0), (50, 10), (40, 10)]),
        )
    )
    assert [shape.fill for shape in drawing.shapes] == ["#ff0000", "#000000", None]
    assert area_mm2(drawing) == pytest.approx(200)
    assert lengths_mm(drawing)[2] == 40


def _hatch(m: Any, *loops: list, **attributes: Any) -> Any:
    hatch = m.add_hatch(dxfattribs=attributes)
    for number, loop in enumerate(loops):
        hatch.paths.add_polyline_path(loop, is_closed=True, flags=1 if number == 0 else 16)
    return hatch


def test_hatches_with_islands_and_bulges() -> None:
    square = [(0, 0), (40, 0), (40, 40), (0, 40)]
    circle = [(10, 20, 1), (30, 20, 1)]
    drawing = drawn(lambda d, m: _hatch(m, square, circle))
    shape = only(drawing)
    assert shape.fill_rule == "evenodd"
    assert (shape.path.kinds == ARC).sum() == 2
    assert area_mm2(drawing) == pytest.approx(1600 - 100 * math.pi, rel=1e-4)


def test_hatches_of_all_edge_kinds_in_any_order() -> None:
    def build(d: Any, m: Any) -> None:
        edges = m.add_hatch().paths.add_edge_path()
        edges.add_line((20, 0), (0, 0))
        edges.add_arc((20, 10), 10, 270, 90)
        edges.add_line((0, 20), (20, 20))
        edges.add_spline(control_points=[(0, 0), (-10, 5), (10, 15), (0, 20)], degree=3, knot_values=[0] * 4 + [1] * 4)
        ellipse = m.add_hatch().paths.add_edge_path()
        ellipse.add_ellipse((60, 10), (10, 0), 0.5, 0, 180)
        ellipse.add_line((50, 10), (70, 10))
        turned = m.add_hatch().paths.add_edge_path()
        turned.add_arc((100, 10), 10, 0, 180, ccw=False)
        turned.add_line((90, 10), (110, 10))

    drawing = drawn(build)
    areas = [painted_region(shape, tolerance_mm=0.001).area for shape in drawing.shapes]
    # the spline bends out and in by the same: the slot's half is 400 + half a disc
    assert areas == pytest.approx([400 + 50 * math.pi, math.pi * 10 * 5 / 2, 50 * math.pi], rel=3e-4)
    assert codes(drawing) == []


def test_patterns_and_gradients_count_as_filled_and_are_named() -> None:
    def build(d: Any, m: Any) -> None:
        _hatch(m, [(0, 0), (10, 0), (10, 10), (0, 10)]).set_pattern_fill("ANSI31")
        _hatch(m, [(20, 0), (30, 0), (30, 10), (20, 10)]).set_gradient((1, 2, 3), (4, 5, 6))

    drawing = drawn(build)
    assert area_mm2(drawing) == pytest.approx(200)
    assert codes(drawing) == ["dxf-hatch-as-solid"] * 2


# chaining and order


def test_loose_lines_and_arcs_of_one_layer_are_one_closed_outline() -> None:
    def build(d: Any, m: Any) -> None:
        m.add_line((0, 0), (20, 0))
        m.add_arc((20, 5), 5, 270, 90)
        m.add_line((0, 10.004), (20, 10))
        m.add_arc((0, 5), 5, 90, 270)
        m.add_line((0, 0), (0, -5), dxfattribs={"layer": "other"})

    outline, other = drawn(build).shapes
    assert outline.path.closed.all()
    assert outline.kind == "LINE+ARC"
    assert outline.stroke.width_mm == 0
    assert other.source_layer == "other"


def test_shapes_come_in_the_files_order() -> None:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("B").add_circle((0, 0), 2)
        m.add_circle((0, 0), 1)
        _hatch(m, [(0, 0), (1, 0), (1, 1)])
        m.add_blockref("B", (0, 0))
        m.add_line((0, 0), (9, 9))
        m.add_text("A", height=3).set_placement((0, 20))

    kinds = [shape.kind for shape in drawn(build).shapes]
    assert kinds == ["CIRCLE", "HATCH", "CIRCLE", "LINE", "TEXT"]


def test_ids_are_the_files_handles_and_all_differ() -> None:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("B").add_circle((0, 0), 2)
        m.add_blockref("B", (0, 0))
        m.add_blockref("B", (9, 0))
        m.add_line((0, 0), (9, 9), dxfattribs={"handle": "ABC"})

    shapes = drawn(build).shapes
    assert len({shape.id for shape in shapes}) == 3
    assert shapes[-1].id == "ABC"


# layers and colours


def test_layers_that_are_not_shown_are_left_out_and_said() -> None:
    def build(d: Any, m: Any) -> None:
        d.layers.add("off").off()
        d.layers.add("frozen").freeze()
        d.layers.add("unplotted").dxf.plot = 0
        for layer in ("off", "frozen", "UNPLOTTED", "Defpoints", "shown"):
            m.add_line((0, 0), (10, 5), dxfattribs={"layer": layer})
        m.add_line((0, 0), (3, 3)).dxf.invisible = 1

    drawing = drawn(build)
    assert only(drawing).source_layer == "shown"
    assert sorted(codes(drawing)) == ["dxf-hidden"] * 4 + ["dxf-invisible"]
    words = " ".join(finding.message for finding in drawing.findings)
    assert all(word in words for word in ("off", "frozen", "not plotted"))


def test_only_hidden_layers_is_an_error_that_names_them() -> None:
    def build(d: Any, m: Any) -> None:
        d.layers.add("off").off()
        m.add_line((0, 0), (10, 5), dxfattribs={"layer": "off"})

    with pytest.raises(UnreadableError, match="layer “off”"):
        drawn(build)


def test_colours_by_index_layer_block_and_true_colour() -> None:
    def build(d: Any, m: Any) -> None:
        d.layers.add("red", color=1)
        d.layers.add("own", true_color=0x123456)
        block = d.blocks.new("B")
        block.add_circle((0, 0), 1, dxfattribs={"color": 0, "layer": "red"})
        block.add_circle((0, 0), 2, dxfattribs={"color": 256, "layer": "0"})
        m.add_circle((0, 0), 3, dxfattribs={"layer": "red"})
        m.add_circle((0, 0), 4, dxfattribs={"layer": "red", "color": 5})
        m.add_circle((0, 0), 5, dxfattribs={"layer": "red", "true_color": 0xABCDEF})
        m.add_circle((0, 0), 6)
        m.add_blockref("B", (0, 0), dxfattribs={"color": 3, "layer": "own"})

    shapes = drawn(build).shapes
    assert [shape.stroke.colour for shape in shapes] == [
        "#ff0000", "#0000ff", "#abcdef", "#000000", "#00ff00", "#123456",
    ]  # fmt: skip
    assert [shape.source_layer for shape in shapes[-2:]] == ["red", "own"]


def test_dashed_lines_are_drawn_solid_and_said() -> None:
    def build(d: Any, m: Any) -> None:
        d.linetypes.add("DASH", pattern=[2.0, 1.0, -1.0])
        d.layers.add("dashed", linetype="DASH")
        m.add_line((0, 0), (10, 0), dxfattribs={"linetype": "DASH"})
        m.add_line((0, 5), (10, 5), dxfattribs={"layer": "dashed"})
        m.add_line((0, 9), (10, 9), dxfattribs={"linetype": "CONTINUOUS", "layer": "dashed"})

    drawing = drawn(build)
    assert [finding.message for finding in drawing.findings] == ["2 dashed or dotted lines are drawn solid."]


# blocks


def test_nested_mirrored_scaled_blocks_are_exact() -> None:
    """The composed map by hand: move, turn, scale, of the outer block and then the inner, about its base point."""

    def build(d: Any, m: Any) -> None:
        d.blocks.new("B", base_point=(1, 1)).add_arc((0, 0), 3, 0, 90)
        d.blocks.new("C").add_blockref("B", (2, 3), dxfattribs={"rotation": 30, "xscale": 2, "yscale": -1})
        m.add_blockref("C", (50, 10), dxfattribs={"xscale": 2, "yscale": 3, "rotation": 15})
        m.add_line((0, 0), (0.001, 0))

    def turn(angle_deg: float) -> np.ndarray:
        c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])

    def move(x: float, y: float) -> np.ndarray:
        return np.array([[1, 0, x], [0, 1, y], [0, 0, 1.0]])

    inner = move(2, 3) @ turn(30) @ np.diag([2, -1, 1]) @ move(-1, -1)
    whole = move(50, 10) @ turn(15) @ np.diag([2, 3, 1]) @ inner
    arc = drawn(build).shapes[0]
    assert arc.path.kinds.tolist() == [ARC]  # under a map that squashes and shears, too
    t = np.linspace(0, np.pi / 2, 200)
    true = (whole @ np.stack([3 * np.cos(t), 3 * np.sin(t), np.ones_like(t)]))[:2].T
    true = np.column_stack([true[:, 0], true[:, 1].max() - true[:, 1]])
    ours = shapely.LineString(flatten(arc.path, 0.0005).points)
    assert shapely.distance(shapely.points(true), ours).max() < 0.002


def test_arrayed_blocks_with_attributes() -> None:
    def build(d: Any, m: Any) -> None:
        block = d.blocks.new("B")
        block.add_circle((0, 0), 1)
        block.add_attdef("TAG", (0, 0), "hidden prompt", height=1)
        insert = m.add_blockref(
            "B", (0, 0),
            dxfattribs={"row_count": 2, "column_count": 3, "row_spacing": 10, "column_spacing": 20, "rotation": 90},
        )  # fmt: skip
        insert.add_attrib("TAG", "H", (30, 30), dxfattribs={"height": 4})

    drawing = drawn(build)
    circles = [shape for shape in drawing.shapes if shape.kind == "CIRCLE"]
    centres = np.array([shape.path.segments[0, :2] for shape in circles])
    assert np.ptp(centres, axis=0) == pytest.approx([10, 40])  # turned: rows run along -x, columns along y
    assert len(circles) == 6
    assert [shape.kind for shape in drawing.shapes if shape.fill] == ["ATTRIB"]


def test_an_undefined_block_and_an_outer_reference_are_named() -> None:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("X").block.dxf.flags = 4
        m.add_blockref("X", (0, 0))
        m.add_blockref("NOWHERE", (0, 0))
        m.add_line((0, 0), (1, 1))

    assert sorted(codes(drawn(build))) == ["dxf-bad-entity", "dxf-external"]


def test_frozen_layers_hide_whole_blocks_and_off_layers_their_own() -> None:
    def build(d: Any, m: Any) -> None:
        d.layers.add("frozen").freeze()
        d.layers.add("off").off()
        block = d.blocks.new("B")
        block.add_circle((0, 0), 1)
        block.add_circle((0, 0), 2, dxfattribs={"layer": "shown"})
        m.add_blockref("B", (0, 0), dxfattribs={"layer": "frozen"})
        m.add_blockref("B", (0, 0), dxfattribs={"layer": "off"})

    assert [path_length_mm(shape.path) for shape in drawn(build).shapes] == pytest.approx([4 * math.pi])


def test_clipped_blocks_show_only_inside_their_clip() -> None:
    def build(d: Any, m: Any) -> None:
        _hatch(d.blocks.new("B", base_point=(5, 5)), [(0, 0), (20, 0), (20, 20), (0, 20)])
        insert = m.add_blockref("B", (100, 0), dxfattribs={"xscale": 2})
        XClip(insert).set_block_clipping_path([(0, 0), (10, 0), (10, 5), (0, 5)])

    drawing = drawn(build)
    assert area_mm2(drawing) == pytest.approx(20 * 5)


def test_a_block_drawn_larger_is_as_fine_as_any() -> None:
    weights = [1, math.sqrt(0.5), 1]

    def build(d: Any, m: Any) -> None:
        d.blocks.new("B").add_rational_spline([(0.1, 0), (0.1, 0.1), (0, 0.1)], weights=weights, degree=2)
        m.add_blockref("B", (0, 0), dxfattribs={"xscale": 1000, "yscale": 1000})
        m.add_line((0, 0), (1, 0))

    curve = drawn(build).shapes[0]
    points = flatten(curve.path, 0.001).points
    assert np.hypot(points[:, 0], points[:, 1] - 100) == pytest.approx(100, abs=0.012)


# entities that lie elsewhere


def test_entities_seen_from_below_are_mirrored_about_y() -> None:
    drawing = drawn(lambda d, m: m.add_arc((10, 5), 2, 0, 90, dxfattribs={"extrusion": (0, 0, -1)}))
    ends = flatten(only(drawing).path).points[[0, -1]]
    assert ends == pytest.approx(np.array([[0, 2], [2, 0]]), abs=1e-9)  # (-12, 5) and (-10, 7), y turned over
    assert drawing.findings == ()


def test_tilted_entities_are_seen_from_above_and_said() -> None:
    drawing = drawn(lambda d, m: m.add_circle((0, 0), 10, dxfattribs={"extrusion": (0, 1, 1)}))
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((20, 20 * math.cos(math.radians(45))))
    assert codes(drawing) == ["dxf-tilted"]


def test_paper_space_is_left_out_or_read_where_the_model_is_empty() -> None:
    def build(d: Any, m: Any) -> None:
        d.layout("Layout1").add_circle((0, 0), 5)
        m.add_line((0, 0), (3, 4))

    drawing = drawn(build)
    assert (lengths_mm(drawing), codes(drawing)) == ([5.0], ["dxf-paper-space"])
    paper = drawn(lambda d, m: d.layout("Layout1").add_circle((0, 0), 5))
    assert (paper.width_mm, codes(paper)) == (10, ["dxf-paper-read"])


REGION = (
    b"  0\nREGION\n  5\nFF1\n330\n17\n100\nAcDbEntity\n  8\n0\n100\nAcDbModelerGeometry\n 70\n1\n  1\nnnn\n"
    b"  0\nGIZMO\n  5\nFF2\n330\n17\n100\nAcDbEntity\n  8\n0\n"
)


def test_kinds_that_cannot_be_read_are_named_and_placed() -> None:
    def build(d: Any, m: Any) -> None:
        m.add_line((0, 0), (10, 10))
        m.add_point((4, 4))
        m.add_point((5, 4))
        m.add_ray((0, 0), (1, 0))
        definition = d.add_image_def("picture.png", (100, 50))
        m.add_image(definition, (2, 3), (4, 2))

    data = dxf_bytes(build)
    end = data.index(b"  0\nENDSEC", data.index(b"ENTITIES"))
    drawing = read_dxf(data[:end] + REGION + data[end:], ReadOptions())
    assert [finding.message for finding in drawing.findings] == [
        "2 points without extent were left out.",
        "1 RAY entity (a line without end) can't be read and was left out.",
        "1 IMAGE entity (a raster picture of 4 × 2 drawing units) can't be read and was left out.",
        "1 REGION entity (a region stored as modelling data) can't be read and was left out.",
        "1 GIZMO entity, not known here, was left out.",
    ]
    assert (drawing.findings[2].x_mm, drawing.findings[2].y_mm) == (2, 7)


def test_dimensions_and_leaders_are_drawn_told_apart_and_not_chained() -> None:
    def build(d: Any, m: Any) -> None:
        m.add_line((0, 0), (30, 0))
        m.add_linear_dim(base=(0, 10), p1=(0, 0), p2=(30, 0)).render()
        m.add_leader([(0, 30), (10, 40), (20, 40)])

    drawing = drawn(build)
    assert codes(drawing).count("dxf-annotation") == 2
    assert drawing.shapes[0].kind == "LINE"
    assert path_length_mm(drawing.shapes[0].path) == 30
    assert {shape.kind for shape in drawing.shapes} == {"LINE", "DIMENSION", "LEADER"}


def test_parallel_lines_of_an_mline_are_drawn() -> None:
    drawing = drawn(lambda d, m: m.add_mline([(0, 0), (20, 0)]))
    assert lengths_mm(drawing) == [20, 20]


# text


def _styled(d: Any) -> None:
    d.styles.add("S", font="DejaVuSans.ttf")


def text_box(drawing: Drawing) -> tuple[float, float, float, float]:
    return shapely.union_all([painted_region(s, tolerance_mm=0.001) for s in drawing.shapes if s.fill]).bounds


def fonts_installed() -> bool:
    from core.artwork.fonts.catalogue import installed_fonts

    return bool(installed_fonts())


with_fonts = pytest.mark.skipif(not fonts_installed(), reason="no font on this machine")


@with_fonts
def test_a_capital_is_as_high_as_the_text_says() -> None:
    def build(d: Any, m: Any) -> None:
        _styled(d)
        m.add_text("X", height=10, dxfattribs={"style": "S"}).set_placement((0, 0))
        m.add_line((-50, -50), (50, 50))

    x0, y0, _, y1 = text_box(drawn(build))
    assert (y0, y1) == pytest.approx((40, 50), abs=0.01)
    assert x0 == pytest.approx(50, abs=1.5)


@with_fonts
@pytest.mark.parametrize(
    ("align", "x_share", "y"),
    [
        ("LEFT", 0.0, 0.0),
        ("CENTER", 0.5, 0.0),
        ("RIGHT", 1.0, 0.0),
        ("TOP_CENTER", 0.5, 10.0),
        ("MIDDLE_RIGHT", 1.0, 5.0),
    ],
)
def test_text_alignment(align: str, x_share: float, y: float) -> None:
    from ezdxf.enums import TextEntityAlignment

    def build(d: Any, m: Any) -> None:
        _styled(d)
        text = m.add_text("XX", height=10, dxfattribs={"style": "S"})
        text.set_placement((100, 100), align=TextEntityAlignment[align])
        m.add_line((0, 0), (200, 200))

    x0, y0, x1, y1 = text_box(drawn(build))
    assert (y0, y1) == pytest.approx((100 - 10 + y, 100 + y), abs=0.05)
    assert x0 + (x1 - x0) * x_share == pytest.approx(100, abs=1.0)  # side bearings apart


@with_fonts
def test_fitted_turned_slanted_and_mirrored_text() -> None:
    from ezdxf.enums import TextEntityAlignment

    def build(d: Any, m: Any) -> None:
        _styled(d)
        fit = m.add_text("XXXX", height=10, dxfattribs={"style": "S"})
        fit.set_placement((0, 0), (100, 0), align=TextEntityAlignment.FIT)
        m.add_text("X", height=10, rotation=90, dxfattribs={"style": "S"}).set_placement((150, 0))
        m.add_text("I", height=10, dxfattribs={"style": "S", "oblique": 45}).set_placement((0, 50))
        m.add_text("L", height=10, dxfattribs={"style": "S", "text_generation_flag": 2}).set_placement((200, 50))

    drawing = drawn(build)
    fit, turned, slanted, mirrored = (painted_region(s, tolerance_mm=0.001).bounds for s in drawing.shapes)
    assert fit[2] - fit[0] == pytest.approx(100, abs=4)
    assert turned[2] - turned[0] == pytest.approx(10, abs=0.02)
    assert slanted[2] - slanted[0] > 10
    assert mirrored[0] < mirrored[2] <= 200 + 1 - min(fit[0], turned[0], slanted[0], 0)


@with_fonts
def test_paragraphs_of_an_mtext_break_and_wrap() -> None:
    def build(d: Any, m: Any) -> None:
        _styled(d)
        text = m.add_mtext("XX XX\\PXX", dxfattribs={"style": "S", "char_height": 6, "width": 20})
        text.set_location((0, 100), attachment_point=1)
        m.add_line((0, 0), (100, 100))

    x0, y0, x1, y1 = text_box(drawn(build))
    # three lines, 5/3 of a capital apart, the first one's capitals hanging from the insertion point
    assert (y0, y1) == pytest.approx((0, 6 + 2 * 10), abs=0.05)
    assert x1 - x0 < 20


@with_fonts
def test_inline_colours_and_heights_of_an_mtext() -> None:
    def build(d: Any, m: Any) -> None:
        _styled(d)
        m.add_mtext("X{\\C1;\\H2x;X}", dxfattribs={"style": "S", "char_height": 5})

    drawing = drawn(build)
    heights = {shape.fill: np.ptp(painted_region(shape, tolerance_mm=0.001).bounds[1::2]) for shape in drawing.shapes}
    assert heights == {"#000000": pytest.approx(5, abs=0.01), "#ff0000": pytest.approx(10, abs=0.01)}


@with_fonts
def test_a_missing_font_names_itself_and_its_substitute() -> None:
    def build(d: Any, m: Any) -> None:
        d.styles.add("T", font="quillwork.shx")
        m.add_text("A", dxfattribs={"style": "T"})
        m.add_text("B", dxfattribs={"style": "T"})

    (finding,) = drawn(build).findings
    assert finding.code == "dxf-font-missing"
    assert finding.message.startswith("Font “quillwork” is missing; 2 texts are set in")


def test_r12_polylines_with_their_own_vertices_and_sequence_ends() -> None:
    def build(d: Any, m: Any) -> None:
        m.add_polyline2d([(0, 0), (10, 0), (10, 10)], close=True)
        m.add_line((50, 0), (51, 0))
        m.add_polyline3d([(0, 0, 5), (3, 4, 9)])

    assert sorted(lengths_mm(drawn(build, version="R12", units="mm"))) == pytest.approx([1, 5, 20 + math.sqrt(200)])


def test_a_recovered_file_says_what_was_wrong() -> None:
    document = ezdxf.new("R2010", units=4)
    document.modelspace().add_line((0, 0), (10, 5))
    document.modelspace().add_circle((0, 0), 5)
    data = written(document).replace(b"\n 40\n5.0\n", b"\n 40\n5.0.1\n")
    drawing = read_dxf(data, ReadOptions())
    assert [shape.kind for shape in drawing.shapes] == ["LINE"]
    assert "dxf-bad-entity" in codes(drawing)  # the circle alone is lost, and named: no number is guessed


def test_a_dashed_outline_does_not_come_free() -> None:
    def build(d: Any, m: Any) -> None:
        d.linetypes.add("DASH", pattern=[1.0, 0.5, -0.5])
        m.add_lwpolyline([(0, 0), (80, 0), (80, 50), (0, 50)], close=True)
        m.add_lwpolyline([(20, 10), (40, 10), (40, 40), (20, 40)], close=True, dxfattribs={"linetype": "DASH"})
        m.add_line((50, 10), (60, 10), dxfattribs={"linetype": "DASH"})
        m.add_line((60, 10), (60, 20))

    drawing = drawn(build)
    assert [shape.is_dashed for shape in drawing.shapes] == [False, True, True, False]
    assert [one.purpose for one in sort_shapes(drawing, SortOptions())] == ["cut", "score", "score", "score"]
