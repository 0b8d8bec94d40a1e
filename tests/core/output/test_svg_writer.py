"""SVG out: path data against an independent parser, the whole file against an independent renderer."""

import io
import json
import math
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
import resvg_py
import shapely
import svgelements
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from PIL import Image

from core.artwork.drawing import ArtworkSource
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import PathBuilder, ellipse, joined, polyline
from core.geometry.svg_data import path_data
from core.job.job import new_job
from core.job.prepare import prepare
from core.output.export import export_bytes
from core.output.opening import embedded_settings, job_from_artwork
from core.output.settings_document import schema, settings_document
from core.sheet.placement import Sheet

ASYMMETRIC = b"""<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<rect x="1" y="1" width="78" height="48" rx="5" fill="none" stroke="#000" stroke-width="0.1"/>
<path d="M12 10h26v7H20v7h12v7H20v12h-8z" fill="#222"/>
<path d="M50 15 70 15 70 35" fill="none" stroke="#000" stroke-width="0.1"/>
<circle cx="60" cy="42" r="2" fill="none" stroke="#000" stroke-width="0.1"/></svg>"""

places = st.tuples(st.floats(-100, 100), st.floats(-100, 100))


@pytest.fixture(scope="module", params=["sideways", "endways"])
def plan(request):
    job = new_job(ArtworkSource(name="flag.svg", data=ASYMMETRIC))
    return prepare(replace(job, turn=request.param, sheet=Sheet(width_mm=127, height_mm=76.2, thickness_mm=3)))


@given(places, places, places, st.floats(-6.2, 6.2), st.floats(-6.2, 6.2))
def test_arcs_are_the_same_curve_to_another_parser(centre, u, v, t0, t1):
    if abs(t1 - t0) < 0.1 or abs(u[0] * v[1] - u[1] * v[0]) < 1:
        return
    builder = PathBuilder()
    builder.arc(*centre, *u, *v, t0, t1)
    path = builder.build()
    other = svgelements.Path(path_data(path))
    ours = flatten(path, 0.001).points
    size = np.abs(ours).max()
    assert abs(complex(*other.first_point) - complex(*ours[0])) < 1e-5
    assert abs(complex(*other.current_point) - complex(*ours[-1])) < 1e-5
    theirs = np.array([[p.x, p.y] for p in (other.point(s) for s in np.linspace(0, 1, 25))])
    nearest = np.hypot(*(theirs[:, None] - ours).transpose(2, 0, 1)).min(1)
    spacing = np.hypot(*np.diff(ours, axis=0).T).max()
    assert nearest.max() < spacing + 1e-3 * size


def test_closed_circles_and_lines_survive_another_parser():
    path = joined([ellipse((20, 20), 5, 5), polyline(np.array([[0, 0], [9, 0], [9, 9]]), closed=True)])
    other = svgelements.Path(path_data(path))
    assert other.length(error=1e-7) == pytest.approx(path_length_mm(path), rel=1e-5)
    assert 10 * math.pi + 18 + math.hypot(9, 9) == pytest.approx(path_length_mm(path), rel=1e-9)


def test_the_file_is_well_formed_and_sized_in_mm(plan):
    root = etree.fromstring(export_bytes(plan, ".svg"))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("127mm", "76.2mm", "0 0 127 76.2")
    purposes = [group.get("{urn:tain:job:1}purpose") for group in root.findall("{*}g")]
    assert purposes == ["fill", "score", "cut"]
    assert all(group.find("{*}title").text for group in root.findall("{*}g"))
    fill = root.find("{*}g")
    assert fill.get("{urn:tain:job:1}speed-mm-s") == "800"
    assert fill.get("{urn:tain:job:1}power-pct") == "20"
    assert float(fill.get("{urn:tain:job:1}lines-per-inch")) == pytest.approx(600)


def test_the_document_inside_follows_the_schema(plan):
    root = etree.fromstring(export_bytes(plan, ".svg"))
    document = json.loads(root.find(".//{*}job").text)
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.Draft202012Validator(schema()).validate(document)
    assert document == settings_document(plan)


def test_another_renderer_draws_the_turned_front(plan):
    """resvg's picture of the export is the turned picture of the artwork's fill, as placed on the sheet."""
    front = plan.layers[0].region
    front_svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 127 76.2" width="127mm" height="76.2mm">'
        '<path fill-rule="evenodd" d="'
        + " ".join(
            "M" + "L".join(f"{x} {y}" for x, y in ring.coords) + "Z"
            for polygon in getattr(front, "geoms", [front])
            for ring in (polygon.exterior, *polygon.interiors)
        )
        + '"/></svg>'
    )
    root = etree.fromstring(export_bytes(plan, ".svg"))
    for group in root.findall("{*}g")[1:]:
        root.remove(group)
    bed = alpha(etree.tostring(root).decode())
    expected = alpha(front_svg)
    expected = expected[:, ::-1] if plan.job.turn == "sideways" else expected[::-1]
    painted = expected.astype(float).sum()
    assert painted > 255 * 10_000
    assert np.abs(bed.astype(float) - expected).sum() / painted < 0.002


def alpha(svg):
    picture = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg, width=1200, dpi=96))))
    return np.array(picture)[..., 3]


def test_an_export_reads_back_to_the_same_front(plan):
    source = ArtworkSource(name="flag-bed.svg", data=export_bytes(plan, ".svg"))
    again = prepare(job_from_artwork(source))
    assert again.drawing.from_export
    assert again.job.turn == plan.job.turn
    for before, after in zip(plan.layers, again.layers, strict=True):
        assert after.layer == before.layer
        assert after.region.symmetric_difference(before.region).area < 1e-4
        assert after.length_mm == pytest.approx(before.length_mm, rel=1e-6)
    assert embedded_settings(source)["layers"] == settings_document(plan)["layers"]
    before, after = (
        shapely.MultiLineString([flatten(path).points for path in p.layers[2].paths]) for p in (plan, again)
    )
    assert shapely.hausdorff_distance(before, after) < 0.02


def test_a_second_export_is_the_first(plan):
    first = export_bytes(plan, ".svg")
    again = prepare(job_from_artwork(ArtworkSource(name="flag.svg", data=first)))
    shown = [etree.fromstring(data).findall("{*}g") for data in (first, export_bytes(again, ".svg"))]
    assert len(shown[0]) == len(shown[1])
    for before, after in zip(*shown, strict=True):
        assert dict(before.attrib) == dict(after.attrib)


def test_the_same_plan_writes_the_same_bytes(plan):
    assert export_bytes(plan, ".svg") == export_bytes(prepare(plan.job), ".svg")


def test_names_that_xml_can_t_hold_do_no_harm(plan):
    source = replace(plan.job.source, name="a\x00b<&>\ud800.svg")
    named = replace(plan, job=replace(plan.job, source=source))
    assert etree.fromstring(export_bytes(named, ".svg")) is not None
