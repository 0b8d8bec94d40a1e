"""Compensated outlines: exported as moved, told as such, read back as drawn."""

import json
from dataclasses import replace

import pytest
import shapely
from shapely.geometry import box

from core.artwork.drawing import ArtworkSource
from core.job.decisions import with_recipe
from core.job.job import Job, new_job
from core.job.plan import Plan
from core.job.prepare import prepare
from core.job.report import report_data
from core.output.dxf_writer import write_dxf
from core.output.opening import job_from_artwork
from core.output.settings_document import check_document, settings_document
from core.output.svg_writer import write_svg

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path fill="#000" fill-rule="evenodd" d="M5 5H25V20H5Z M10 10H20V15H10Z"/>
<rect x="30" y="5" width="6" height="0.015" fill="#000"/>
<rect x="30" y="10" width="5" height="12" fill="#000"/></svg>"""


def compensated_job() -> Job:
    job = new_job(ArtworkSource(name="plate.svg", data=ART))
    recipe = next(layer.recipe for layer in job.layers if layer.id == "fill")
    return with_recipe(job, "fill", replace(recipe, edges="compensated"))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return prepare(compensated_job())


def exported(plan: Plan, kind: str) -> ArtworkSource:
    document = check_document(settings_document(plan))
    data = write_svg(plan, document) if kind == "svg" else write_dxf(plan, document)
    return ArtworkSource(name=f"out.{kind}", data=data)


def test_the_plan_keeps_the_drawn_region_and_burns_the_moved_one(plan: Plan) -> None:
    fill = next(layer for layer in plan.layers if layer.layer.id == "fill")
    assert fill.region.area == pytest.approx(20 * 15 - 50 + 60 + 6 * 0.015)
    assert fill.burned is not None
    assert 0 < fill.burned.hausdorff_distance(fill.region) < 0.05
    assert fill.outlines is fill.burned
    assert [one.code for one in plan.findings if one.code == "edges-kept"] == ["edges-kept"]
    assert [one.code for one in plan.findings if one.code in ("hairlines", "missed-parts")]


def test_report_says_which_edges_were_used(plan: Plan) -> None:
    layer = next(one for one in report_data(plan)["layers"] if one["purpose"] == "fill")
    assert layer["recipe"]["edges"] == "compensated"


@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_exports_hold_moved_outlines_and_read_back_as_drawn(plan: Plan, kind: str) -> None:
    source = exported(plan, kind)
    assert b"compensated" in source.data
    again = prepare(job_from_artwork(source))
    first, second = (next(one for one in each.layers if one.layer.id == "fill") for each in (plan, again))
    assert second.layer.recipe.edges == "compensated"
    assert shapely.symmetric_difference(first.region, second.region).area < 1e-4
    assert shapely.symmetric_difference(first.outlines, second.outlines).area < 1e-3
    assert exported(again, kind).data.count(b"<path") == source.data.count(b"<path")


def test_what_stands_in_the_svg_is_the_moved_outline(plan: Plan) -> None:
    document = settings_document(plan)
    fill = next(layer for layer in document["layers"] if layer["purpose"] == "fill")
    rings = [ring for area in fill["drawn_outlines_mm"] for ring in area]
    assert len(rings) == 4
    assert json.dumps(rings)
    stripped = {
        **document,
        "layers": [{k: v for k, v in one.items() if k != "drawn_outlines_mm"} for one in document["layers"]],
    }
    moved = prepare(job_from_artwork(ArtworkSource(name="moved.svg", data=write_svg(plan, stripped))))
    region = next(one for one in moved.layers if one.layer.id == "fill").region
    own = next(one for one in plan.layers if one.layer.id == "fill")
    assert shapely.symmetric_difference(region, own.outlines).area < 1e-3
    assert not region.equals_exact(own.region, 1e-3)


def test_as_drawn_exports_say_nothing_of_it() -> None:
    plain = prepare(
        with_recipe(compensated_job(), "fill", replace(compensated_job().layers[0].recipe, edges="as drawn"))
    )
    fill = next(layer for layer in plain.layers if layer.layer.id == "fill")
    assert fill.burned is None and fill.outlines is fill.region
    assert b"drawn_outlines_mm" not in exported(plain, "svg").data
    assert box(*fill.region.bounds).area > 0
