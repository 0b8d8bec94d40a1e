"""DXF out: the whole file against an independent reader, the settings and the front face back again."""

import io
import json
from dataclasses import replace

import ezdxf
import jsonschema
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import read_artwork
from core.errors import UnreadableError
from core.geometry.affine import apply_to_region, compose
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import Path, PathBuilder, ellipse, joined, polyline
from core.job.job import new_job
from core.job.prepare import prepare
from core.output.dxf_writer import write_dxf
from core.output.export import export_bytes
from core.output.opening import embedded_settings, job_from_artwork
from core.output.settings_document import schema, settings_document
from core.sheet.faces import turn_matrix
from core.sheet.placement import Sheet
from core.sheet.recipes import Origin, Recipe

SHEET = Sheet(width_mm=127, height_mm=76.2, thickness_mm=3)

ASYMMETRIC = b"""<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<rect x="1" y="1" width="78" height="48" rx="5" fill="none" stroke="#000" stroke-width="0.1"/>
<path d="M12 10h26v7H20v7h12v7H20v12h-8z M14 12v4h4v-4z" fill="#222"/>
<path d="M50 15 70 15 70 35" fill="none" stroke="#000" stroke-width="0.1"/>
<circle cx="60" cy="42" r="2" fill="none" stroke="#000" stroke-width="0.1"/></svg>"""


@pytest.fixture(scope="module", params=["sideways", "endways"])
def plan(request):
    job = new_job(ArtworkSource(name="flag.svg", data=ASYMMETRIC))
    return prepare(replace(job, turn=request.param, sheet=SHEET))


@pytest.fixture(scope="module")
def data(plan):
    return export_bytes(plan, ".dxf")


def _document(data: bytes):
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def read_back_dxf(data: bytes):
    """The settings document inside a DXF, None when it has none."""
    return embedded_settings(ArtworkSource(name="a.dxf", data=data))


def _with_lines(plan, *paths: Path):
    """The plan with other lines on its cut layer, in the sheet's front frame."""
    layers = tuple(replace(layer, paths=paths) if layer.layer.purpose == "cut" else layer for layer in plan.layers)
    return replace(plan, layers=layers)


def _written(plan):
    return write_dxf(plan, settings_document(plan))


def _cut_lines(plan, data: bytes) -> list[shapely.MultiLineString]:
    """Each entity of the cut layer as an independent reader flattens it, turned back to the front frame."""
    height_mm = plan.job.sheet.height_mm
    to_front = compose(turn_matrix(plan.job.turn, plan.job.sheet), (1.0, 0.0, 0.0, -1.0, 0.0, height_mm))
    found = []
    for entity in _document(data).modelspace().query('*[layer=="Cut"]'):
        parts = []
        pieces = entity.virtual_entities() if entity.dxftype() == "LWPOLYLINE" else [entity]
        for piece in pieces:
            if piece.dxftype() == "LINE":
                parts.append([piece.dxf.start, piece.dxf.end])
            else:
                parts.append(list(piece.flattening(0.0005)))
        found.append(apply_to_region(to_front, shapely.MultiLineString([[(p.x, p.y) for p in part] for part in parts])))
    return found


def _furthest(points: np.ndarray, line) -> float:
    return float(shapely.distance(shapely.points(points), line).max())


def test_an_independent_audit_finds_nothing(data) -> None:
    auditor = _document(data).audit()
    assert not auditor.errors
    assert not auditor.fixes


def test_units_extents_layers_in_burn_order_and_their_colours(plan, data) -> None:
    document = _document(data)
    assert document.header["$INSUNITS"] == 4
    assert tuple(document.header["$EXTMAX"])[:2] == (127, 76.2)
    ours = [layer for layer in document.layers if layer.dxf.name not in ("0", "Defpoints")]
    assert [layer.dxf.name for layer in ours] == ["Fill", "Score", "Cut"]
    assert [f"#{layer.dxf.true_color:06x}" for layer in ours] == [
        planned.layer.colour for planned in plan.layers if planned.layer.purpose != "guide"
    ]
    order = [entity.dxf.layer for entity in document.modelspace()]
    assert order == sorted(order, key=["Fill", "Score", "Cut"].index)
    assert {entity.dxf.color for entity in document.modelspace()} == {256}


def test_settings_stand_on_the_layers_entries_and_nowhere_else(plan, data) -> None:
    document = _document(data)
    for layer in document.layers:
        if layer.dxf.name in ("0", "Defpoints"):
            assert not layer.has_xdata("TAIN")
            continue
        values = [tag.value for tag in layer.get_xdata("TAIN")]
        settings = dict(zip(values[::2], values[1::2], strict=True))
        recipe = next(p.layer.recipe for p in plan.layers if p.layer.name == layer.dxf.name)
        assert settings["purpose"] == layer.dxf.name.lower()
        assert settings["speed_mm_s"] == recipe.speed_mm_s
        assert settings["power_pct"] == recipe.power_pct
        assert settings["passes"] == recipe.passes
    assert data.count(b"1001\nTAIN\n") == 3
    assert not any(entity.has_xdata("TAIN") for entity in document.modelspace())


def test_the_settings_document_comes_back_whole(plan, data) -> None:
    document = read_back_dxf(data)
    assert document == json.loads(json.dumps(settings_document(plan)))
    jsonschema.validate(document, schema())
    record = _document(data).rootdict["TAIN_JOB"]
    assert record.dxftype() == "XRECORD"
    assert max(len(tag.value) for tag in record.tags) <= 255


@settings(max_examples=20)
@given(st.text(min_size=1, max_size=60))
def test_any_layer_name_travels_in_the_document(name: str) -> None:
    plan = _small_plan()
    layers = tuple(replace(p, layer=replace(p.layer, name=name)) for p in plan.layers)
    plan = replace(plan, layers=layers)
    document = settings_document(plan)
    data = write_dxf(plan, document)
    assert read_back_dxf(data) == document
    assert not _document(data).audit().errors
    drawing = read_artwork(ArtworkSource(name="a.dxf", data=data), ReadOptions())
    assert {shape.source_layer for shape in drawing.shapes} <= {"fill", "score", "cut"}


_PLANS = {}


def _small_plan():
    if not _PLANS:
        svg = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M3 3h9v9z"/></svg>'
        _PLANS[0] = prepare(new_job(ArtworkSource(name="small.svg", data=svg)))
    return _PLANS[0]


def test_words_that_look_like_escapes_of_the_format_survive() -> None:
    plan = _small_plan()
    recipe = Recipe(speed_mm_s=100.0, power_pct=10, origin=Origin(standard_error=1e21))
    words = "\\U+00e9 \\M+1ABCD %%c ^J {\\H3;x} " + " " * 600 + "end"
    layers = tuple(replace(p, layer=replace(p.layer, name=words, recipe=recipe)) for p in plan.layers)
    document = settings_document(replace(plan, layers=layers))
    assert read_back_dxf(write_dxf(replace(plan, layers=layers), document)) == document


def test_the_same_plan_gives_the_same_bytes(plan, data) -> None:
    assert export_bytes(plan, ".dxf") == data
    assert export_bytes(prepare(plan.job), ".dxf") == data


def test_the_bed_file_reads_back_to_the_front_unchanged(plan, data) -> None:
    source = ArtworkSource(name="again.dxf", data=data)
    drawing = read_artwork(source, ReadOptions())
    assert (drawing.width_mm, drawing.height_mm, drawing.from_export) == (127, 76.2, True)
    assert drawing.findings == ()
    again = prepare(job_from_artwork(source))
    assert again.job.turn == plan.job.turn
    before, after = ({p.layer.id: p for p in one.layers} for one in (plan, again))
    for layer_id in before:
        old, new = before[layer_id], after[layer_id]
        assert new.layer == old.layer
        assert new.region.symmetric_difference(old.region).area < 1e-9 * max(old.area_mm2, 1)
        assert new.length_mm == pytest.approx(old.length_mm, rel=1e-4)
        if old.paths:
            there, here = (shapely.MultiLineString(flatten(joined(list(p.paths)), 0.001).parts()) for p in (old, new))
            assert shapely.hausdorff_distance(there, here) < 0.005
    assert not any("reversed" in finding.code for finding in again.findings)


def test_writing_again_what_was_read_back_is_not_mirrored_twice(plan, data) -> None:
    again = prepare(job_from_artwork(ArtworkSource(name="again.dxf", data=data)))
    twice = export_bytes(again, ".dxf")
    first, second = (_fill_region(one) for one in (data, twice))
    assert first.symmetric_difference(second).area < 1e-9 * first.area


def _fill_region(data: bytes):
    rings = [
        shapely.Polygon([(x, y) for x, y, *_ in entity.get_points()])
        for entity in _document(data).modelspace().query('LWPOLYLINE[layer=="Fill"]')
    ]
    region = shapely.Polygon()
    for ring in rings:
        region = region.symmetric_difference(ring)
    return region


def test_the_bed_face_is_the_front_turned_over(plan, data) -> None:
    fill = next(p for p in plan.layers if p.layer.purpose == "fill")
    (x0, y0, x1, y1), height_mm = fill.region.bounds, 76.2
    bx0, by0, bx1, by1 = _fill_region(data).bounds
    if plan.job.turn == "sideways":
        assert (bx0, by0, bx1, by1) == pytest.approx((127 - x1, height_mm - y1, 127 - x0, height_mm - y0))
    else:
        assert (bx0, by0, bx1, by1) == pytest.approx((x0, y0, x1, y1))
    assert _fill_region(data).area == pytest.approx(fill.region.area)


def _arc(cx, cy, r, t0, t1) -> Path:
    builder = PathBuilder()
    builder.arc(cx, cy, r, 0, 0, r, t0, t1)
    return builder.build()


def test_arcs_stay_arcs_and_circles_circles(plan) -> None:
    slot = PathBuilder()
    slot.move_to(10, 10)
    slot.line_to(30, 10)
    slot.arc(30, 15, 5, 0, 0, 5, -np.pi / 2, np.pi / 2)
    slot.line_to(10, 20)
    slot.arc(10, 15, 5, 0, 0, 5, np.pi / 2, 3 * np.pi / 2)
    slot.close()
    plan = _with_lines(
        plan, ellipse((50, 30), 4, 4), _arc(70, 30, 8, 0.3, 2.0), _arc(70, 30, 3, 2.0, 0.3), ellipse((90, 30), 9, 4),
        polyline(np.array([[1, 1], [5, 9]])), slot.build(),
    )  # fmt: skip
    data = _written(plan)
    kinds = [entity.dxftype() for entity in _document(data).modelspace().query('*[layer=="Cut"]')]
    assert kinds == ["CIRCLE", "ARC", "ARC", "ELLIPSE", "LINE", "LWPOLYLINE"]
    polyline_ = _document(data).modelspace().query('LWPOLYLINE[layer=="Cut"]').first
    assert polyline_.closed
    # half a turn: bulge 1, its sign kept or not by how often the frame is mirrored
    assert [abs(bulge) for *_, bulge in polyline_.get_points()] == pytest.approx([0, 1, 0, 1])
    drawing = read_artwork(ArtworkSource(name="a.dxf", data=data), ReadOptions())
    lengths = [path_length_mm(shape.path) for shape in drawing.shapes if shape.source_layer == "cut"]
    assert lengths == pytest.approx([path_length_mm(path) for path in plan.layers[2].paths], rel=1e-9)


numbers = st.integers(-400, 400).map(lambda tenths: tenths / 10)
points = st.tuples(numbers, numbers)


@st.composite
def contours(draw) -> Path:
    """Lines, cubics and arcs end to end, sometimes closed."""
    builder = PathBuilder()
    here = draw(points)
    builder.move_to(*here)
    for kind in draw(st.lists(st.sampled_from("LCA"), min_size=1, max_size=6)):
        if kind == "L":
            here = draw(points)
            builder.line_to(*here)
        elif kind == "C":
            first, second, here = draw(points), draw(points), draw(points)
            builder.cubic_to(*first, *second, *here)
        else:
            radius, t0 = draw(st.floats(0.5, 30)), draw(st.floats(-3, 3))
            t1 = t0 + draw(st.floats(0.05, 6.2)) * draw(st.sampled_from([-1, 1]))
            cx, cy = here[0] - radius * np.cos(t0), here[1] - radius * np.sin(t0)
            builder.arc(cx, cy, radius, 0, 0, radius, t0, t1)
            here = (cx + radius * np.cos(t1), cy + radius * np.sin(t1))
    if draw(st.booleans()):
        builder.close()
    return builder.build()


@settings(max_examples=16)
@given(st.lists(contours(), min_size=4, max_size=6))
def test_every_contour_is_one_entity_in_its_place(some: list[Path]) -> None:
    some = [contour for contour in some if path_length_mm(contour) >= 0.1]  # a dot burns nothing
    plan = _with_lines(_small_plan(), *some)
    found = _cut_lines(plan, _written(plan))
    for contour, theirs in zip(some, found, strict=True):
        ours = flatten(contour, 0.0005).points
        assert _furthest(shapely.get_coordinates(theirs), shapely.LineString(ours)) < 0.003
        assert _furthest(ours, theirs) < 0.003
        assert theirs.length == pytest.approx(path_length_mm(contour), rel=2e-3)


@st.composite
def elliptical_arcs(draw) -> Path:
    major, ratio, tilt = draw(st.integers(1, 30)), draw(st.floats(0.05, 0.95)), draw(st.floats(0, 6.28))
    u = major * np.array([np.cos(tilt), np.sin(tilt)])
    v = ratio * major * np.array([-np.sin(tilt), np.cos(tilt)]) + 0.4 * u  # conjugate half-diameters, no axes
    t0 = draw(st.floats(-6, 6))
    builder = PathBuilder()
    builder.arc(*draw(points), *u, *v, t0, t0 + draw(st.floats(0.1, 6.28)))
    return builder.build()


@settings(max_examples=16)
@given(st.lists(elliptical_arcs(), min_size=4, max_size=6))
def test_elliptical_arcs_of_any_frame_keep_their_place(arcs: list[Path]) -> None:
    plan = _with_lines(_small_plan(), *arcs)
    for arc, theirs in zip(arcs, _cut_lines(plan, _written(plan)), strict=True):
        ours = flatten(arc, 0.0005).points
        assert _furthest(shapely.get_coordinates(theirs), shapely.LineString(ours)) < 0.002
        assert _furthest(ours, theirs) < 0.002


def test_lines_without_length_are_not_written(plan) -> None:
    data = _written(_with_lines(plan, polyline(np.array([[3.0, 3.0], [3.0, 3.0]])), ellipse((50, 30), 4, 4)))
    assert [entity.dxftype() for entity in _document(data).modelspace().query('*[layer=="Cut"]')] == ["CIRCLE"]


def test_a_file_without_settings_has_none_and_a_damaged_one_says_so(data) -> None:
    plain = ezdxf.new("R2010", units=4)
    plain.modelspace().add_line((0, 0), (1, 1))
    stream = io.StringIO()
    plain.write(stream)
    assert read_back_dxf(stream.getvalue().encode()) is None
    damaged = data.replace(b'"sheet"', b'"shoot"')
    with pytest.raises(UnreadableError):
        read_back_dxf(damaged)
    with pytest.raises(UnreadableError, match="damaged"):
        read_artwork(ArtworkSource(name="a.dxf", data=damaged), ReadOptions())


def test_islands_within_holes_come_back_as_they_were(plan) -> None:
    rings = [shapely.Point(40, 40).buffer(r) for r in (30, 20, 10, 5)]
    region = rings[0].difference(rings[1]).union(rings[2].difference(rings[3]))
    touching = shapely.union_all([region, shapely.box(80, 5, 90, 15), shapely.box(90, 15, 120, 50)])
    layers = tuple(replace(layer, region=touching) if layer.layer.purpose == "fill" else layer for layer in plan.layers)
    drawing = read_artwork(ArtworkSource(name="a.dxf", data=_written(replace(plan, layers=layers))), ReadOptions())
    filled = [shape for shape in drawing.shapes if shape.fill]
    assert sorted(len(shape.path.starts) for shape in filled) == [1, 1, 2, 2]
    painted = shapely.union_all(
        [shapely.Polygon(rings[0], rings[1:]) for rings in (flatten(shape.path).parts() for shape in filled)]
    )
    assert painted.symmetric_difference(touching).area < 1e-9
