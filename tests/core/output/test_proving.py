"""Every export is read back: what the writers write passes, and each way of writing it wrongly is caught."""

import io
import json
import math
import re
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lxml import etree

from core.artwork.drawing import ArtworkSource
from core.errors import JobError
from core.geometry.affine import translation
from core.geometry.path import Path, PathBuilder, ellipse, joined, polyline
from core.job.job import new_job
from core.job.plan import Plan
from core.job.prepare import prepare
from core.output import dxf_writer, export, read_back, svg_writer
from core.output.export import exported
from core.output.proving import ALLOWED_MM, prove
from core.output.settings_document import settings_document
from core.sheet.placement import Sheet

ARTWORK = b"""<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<rect x="1" y="1" width="78" height="48" rx="5" fill="none" stroke="#000" stroke-width="0.1"/>
<path d="M12 10h26v7H20v7h12v7H20v12h-8z M14 12v4h4v-4z" fill="#222"/>
<path d="M45 15 C50 5 60 25 70 15" fill="none" stroke="#000" stroke-width="0.1"/>
<circle cx="60" cy="42" r="2" fill="none" stroke="#000" stroke-width="0.1"/></svg>"""


def planned(turn: str = "sideways") -> Plan:
    job = new_job(ArtworkSource(name="flag.svg", data=ARTWORK))
    return prepare(replace(job, turn=turn, sheet=Sheet(width_mm=127, height_mm=76.2, thickness_mm=3)))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned()


def with_lines(plan: Plan, *paths: Path) -> Plan:
    """The plan with other lines on its cut layer, in the sheet's front frame."""
    layers = tuple(replace(layer, paths=paths) if layer.layer.purpose == "cut" else layer for layer in plan.layers)
    return replace(plan, layers=layers)


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_what_is_written_is_what_was_planned(turn: str, suffix: str) -> None:
    made = exported(planned(turn), suffix)
    assert made.read_back is not None
    assert (made.read_back.lines, made.read_back.compared) == (5, 5)
    assert made.read_back.largest_difference_mm <= (1e-5 if suffix == ".svg" else 0.0025)
    assert made.read_back.words.startswith("read back: 5 lines, 0.00")
    assert exported(planned(turn), ".tain").read_back is None


# --- tampering -------------------------------------------------------------------------------------------------------


def svg_changed(plan: Plan, change) -> bytes:
    root = etree.fromstring(svg_writer.write_svg(plan, settings_document(plan)))
    change(root)
    return etree.tostring(root)


def drop_a_line(root) -> None:
    path = root.findall("{*}g")[-1].findall("{*}path")[0]
    path.getparent().remove(path)


def shift_a_coordinate(root) -> None:
    path = root.findall("{*}g")[-1].findall("{*}path")[-1]
    x, y = re.search(r"L([\d.]+) ([\d.]+)", path.get("d")).groups()
    path.set("d", path.get("d").replace(f"L{x} {y}", f"L{x} {float(y) + 1.5 * ALLOWED_MM:.6f}", 1))


def swap_layers(root) -> None:
    groups = root.findall("{*}g")
    root.remove(groups[0])
    root.append(groups[0])


def turn_nothing(root) -> None:
    for group in root.findall("{*}g"):
        group.set("transform", "matrix(-1 0 0 1 127 0)")


def change_a_setting(root) -> None:
    root.findall("{*}g")[0].set("{urn:tain:job:1}power-pct", "21")


def lose_a_setting(root) -> None:
    del root.findall("{*}g")[0].attrib["{urn:tain:job:1}passes"]


def change_the_document(root) -> None:
    job = root.find(".//{*}job")
    job.text = job.text.replace('"turn": "sideways"', '"turn": "endways"')


def claim_the_front(root) -> None:
    job = root.find(".//{*}job")
    job.text = job.text.replace('"face": "bed"', '"face": "front"')


def lose_the_document(root) -> None:
    root.remove(root.find("{*}metadata"))


def another_size(root) -> None:
    root.set("width", "127in")


def another_view(root) -> None:
    root.set("viewBox", "0 0 127 76.3")


def another_colour(root) -> None:
    root.findall("{*}g")[-1].set("stroke", "#123456")


def open_an_outline(root) -> None:
    path = next(path for path in root.iter("{*}path") if path.get("d").endswith("Z"))
    path.set("d", path.get("d")[:-1])


def bend_a_curve(root) -> None:
    path = next(path for path in root.iter("{*}path") if "C" in path.get("d"))
    path.set("d", re.sub(r"C([\d.]+)", lambda m: f"C{float(m.group(1)) + 0.05:.6f}", path.get("d"), count=1))


def other_side_of_an_arc(root) -> None:
    path = next(path for path in root.iter("{*}path") if "A" in path.get("d"))
    path.set("d", re.sub(r" 0 ([01]) ", lambda m: f" 0 {1 - int(m.group(1))} ", path.get("d"), count=1))


def a_line_more(root) -> None:
    group = root.findall("{*}g")[-1]
    etree.SubElement(group, "{http://www.w3.org/2000/svg}path").set("d", "M1 1L2 2")


def a_line_twice(root) -> None:
    path = root.findall("{*}g")[-1].findall("{*}path")[0]
    path.set("d", path.get("d") + path.get("d"))


SVG_TAMPERING = {
    drop_a_line: "lines instead of",
    shift_a_coordinate: "0.015 mm off",
    swap_layers: "layer “Fill” is #",
    turn_nothing: "mm off",
    change_a_setting: "says 21 for power pct instead of 20",
    lose_a_setting: "does not say its passes",
    change_the_document: "settings inside it are others",
    claim_the_front: "settings inside it are others",
    lose_the_document: "settings inside it are others",
    another_size: "width is",
    another_view: "off",
    another_colour: "is #123456 instead of",
    open_an_outline: "another one",
    bend_a_curve: "0.050 mm off",
    other_side_of_an_arc: "mm off",
    a_line_more: "lines instead of",
    a_line_twice: "lines instead of",
}


@pytest.mark.parametrize("tamper", SVG_TAMPERING, ids=lambda tamper: tamper.__name__)
def test_a_wrong_svg_is_caught(plan: Plan, tamper) -> None:
    with pytest.raises(JobError, match="Nothing was written: the SVG is not what was planned") as caught:
        prove(svg_changed(plan, tamper), ".svg", plan)
    assert SVG_TAMPERING[tamper] in caught.value.message


def dxf_changed(plan: Plan, change) -> bytes:
    drawing = ezdxf.read(io.StringIO(dxf_writer.write_dxf(plan, settings_document(plan)).decode()))
    change(drawing)
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue().encode()


def first(drawing, kind: str):
    return drawing.modelspace().query(kind)[0]


def shift_a_vertex(drawing) -> None:
    line = first(drawing, "LWPOLYLINE")
    points = [tuple(point) for point in line.get_points("xyb")]
    line.set_points([(points[0][0], points[0][1] + 0.011, points[0][2]), *points[1:]], format="xyb")


def other_bulge(drawing) -> None:
    line = next(one for one in drawing.modelspace().query("LWPOLYLINE") if one.has_arc)
    line.set_points([(x, y, b * 1.02) for x, y, b in line.get_points("xyb")], format="xyb")


def to_another_layer(drawing) -> None:
    line = first(drawing, "LWPOLYLINE")
    line.dxf.layer = next(
        layer.dxf.name for layer in drawing.layers if layer.dxf.name not in ("0", "Defpoints", line.dxf.layer)
    )


def mirrored(drawing) -> None:
    for entity in drawing.modelspace():
        entity.transform(ezdxf.math.Matrix44.scale(-1, 1, 1) @ ezdxf.math.Matrix44.translate(127, 0, 0))


def other_power(drawing) -> None:
    layer = next(layer for layer in drawing.layers if layer.has_xdata("TAIN"))
    tags = [(tag.code, tag.value) for tag in layer.get_xdata("TAIN")]
    place = next(index for index, tag in enumerate(tags) if tag[1] == "power_pct")
    tags[place + 1] = (1040, 99.0)
    layer.set_xdata("TAIN", tags[1:] if tags[0][0] == 1001 else tags)


def smaller_circle(drawing) -> None:
    first(drawing, "CIRCLE").dxf.radius -= 0.02


def inches(drawing) -> None:
    drawing.header["$INSUNITS"] = 1


DXF_TAMPERING = {
    (lambda drawing: drawing.modelspace().delete_entity(first(drawing, "LWPOLYLINE"))): "lines instead of",
    shift_a_vertex: "0.011 mm off",
    other_bulge: "mm off",
    to_another_layer: "lines instead of",
    mirrored: "mm off",
    other_power: "says 99.0 for power pct",
    smaller_circle: "0.020 mm off",
    inches: "units 1 instead of millimetres",
    (lambda drawing: drawing.rootdict.discard("TAIN_JOB")): "settings inside it are others",
}


@pytest.mark.parametrize("tamper", DXF_TAMPERING, ids=lambda tamper: tamper.__name__)
def test_a_wrong_dxf_is_caught(plan: Plan, tamper) -> None:
    with pytest.raises(JobError, match="Nothing was written: the DXF is not what was planned") as caught:
        prove(dxf_changed(plan, tamper), ".dxf", plan)
    assert DXF_TAMPERING[tamper] in caught.value.message


@pytest.mark.parametrize("data", [b"", b"<svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"])
def test_what_is_no_file_at_all_is_caught(plan: Plan, data: bytes) -> None:
    for suffix in (".svg", ".dxf"):
        with pytest.raises(JobError, match="Nothing was written"):
            prove(data, suffix, plan)


def test_a_difference_stops_the_export_and_keeps_the_old_file(plan: Plan, tmp_path, monkeypatch) -> None:
    target = tmp_path / "out.svg"
    target.write_text("what was there before")
    write = export.write_svg
    monkeypatch.setattr(export, "write_svg", lambda *args, **more: write(*args, **more).replace(b"<path", b"<desc", 1))
    with pytest.raises(JobError):
        export.export(plan, target, overwrite=True)
    assert target.read_text() == "what was there before"


# --- large files and odd lines ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_a_large_file_is_compared_in_part_and_counted_whole(plan: Plan, suffix: str, monkeypatch) -> None:
    many = with_lines(plan, *(polyline(np.array([[i, 5.0], [i + 0.5, 9.0]])) for i in range(40)))
    monkeypatch.setattr(read_back, "MAX_COMPARED", 12)
    result = exported(many, suffix).read_back
    assert result is not None
    assert 0 < result.compared < result.lines == 43
    assert f"({result.compared} of them point by point, all counted)" in result.words
    assert result.data["compared"] == result.compared
    lost = (
        svg_changed(many, drop_a_line)
        if suffix == ".svg"
        else dxf_changed(many, lambda drawing: drawing.modelspace().delete_entity(first(drawing, "LINE")))
    )
    with pytest.raises(JobError, match="lines instead of"):
        prove(lost, suffix, many)


coordinates = st.floats(1, 70)
points = st.tuples(coordinates, coordinates)


@st.composite
def paths(draw) -> Path:
    builder = PathBuilder()
    builder.move_to(*draw(points))
    for kind in draw(st.lists(st.sampled_from("LCA"), min_size=1, max_size=6)):
        if kind == "L":
            builder.line_to(*draw(points))
        elif kind == "C":
            builder.cubic_to(*draw(points), *draw(points), *draw(points))
        else:
            x, y = draw(points)
            rx, start = draw(st.floats(0.5, 20)), draw(st.floats(-3, 3))
            ry = rx * draw(st.sampled_from([1.0, 1.0, 0.6]))
            end = start + draw(st.sampled_from([1, -1])) * draw(st.floats(0.2, 6))
            builder.line_to(x + rx * math.cos(start), y + ry * math.sin(start))
            builder.arc(x, y, rx, 0.0, 0.0, ry, start, end)
    if draw(st.booleans()):
        builder.close()
    return builder.build()


_PLAN: list[Plan] = []


@settings(max_examples=30)
@given(st.lists(paths(), min_size=1, max_size=3), st.sampled_from([".svg", ".dxf"]))
def test_any_lines_pass_and_pass_no_more_once_one_is_moved(lines: list[Path], suffix: str) -> None:
    assume(np.ptp(lines[0].segments[:, :2], axis=0).max() > 1)
    if not _PLAN:
        _PLAN.append(planned())
    one = with_lines(_PLAN[0], *lines)
    write = svg_writer.write_svg if suffix == ".svg" else dxf_writer.write_dxf
    data = write(one, settings_document(one))
    assert prove(data, suffix, one).largest_difference_mm <= ALLOWED_MM
    moved = with_lines(_PLAN[0], lines[0].transformed(translation(0.3, 0.2)), *lines[1:])
    with pytest.raises(JobError):
        prove(data, suffix, moved)


def test_circles_and_lone_points(plan: Plan) -> None:
    odd = with_lines(plan, joined([ellipse((20, 20), 5, 5), ellipse((50, 20), 5, 2)]), polyline(np.array([[3.0, 3.0]])))
    for suffix, lines in ((".svg", 6), (".dxf", 5)):
        result = exported(odd, suffix).read_back
        assert result is not None
        assert result.lines == lines


def test_arcs_of_a_polyline_are_joined_whichever_way_they_run(plan: Plan) -> None:
    builder = PathBuilder()
    builder.move_to(21.0, 20.0)
    builder.arc(20.0, 20.0, 1.0, 0.0, 0.0, 1.0, 0.0, -5.0)
    builder.line_to(40.0, 20.0)
    builder.arc(39.0, 20.0, 1.0, 0.0, 0.0, 1.0, 0.0, -5.0)
    result = exported(with_lines(plan, builder.build()), ".dxf").read_back
    assert result is not None
    assert result.largest_difference_mm < 0.0025


def test_the_report_names_the_worst_of_several_files(plan: Plan) -> None:
    from core.output.proof import read_back_data

    proven = [exported(plan, suffix).read_back for suffix in (".svg", ".dxf")]
    data = read_back_data([one for one in proven if one])
    assert data["lines"] == 5
    assert data["largest_difference_mm"] == max(one.largest_difference_mm for one in proven if one)
    assert json.loads(json.dumps(data)) == data


@pytest.fixture
def faulty_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    def found_in_svg(data: bytes) -> None:
        None.lines  # type: ignore[attr-defined]  # noqa: B018

    monkeypatch.setattr("core.output.proving.found_in_svg", found_in_svg)
    monkeypatch.setattr("core.element_faults._CORE", __file__)


def test_a_fault_of_the_program_is_no_word_for_the_maker(
    plan: Plan, faulty_reader: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(AttributeError, match="NoneType"):
        prove(b"", ".svg", plan)
    monkeypatch.delenv("TAIN_STRICT")
    with pytest.raises(JobError) as caught:
        prove(b"", ".svg", plan)
    assert "can't be read back" in str(caught.value) and "NoneType" not in str(caught.value)
