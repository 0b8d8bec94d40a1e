"""Fills handed over as their rows: exported as lines, laid so that what is burned lies as drawn, read back as drawn."""

import io
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
from lxml import etree

from core.artwork.drawing import ArtworkSource
from core.burning.machines import CO2_FLATBED
from core.burning.row_offsets import row_shifts_mm
from core.geometry.affine import apply
from core.job.decisions import with_recipe
from core.job.job import new_job
from core.job.plan import LayerPlan, Plan
from core.job.prepare import prepare
from core.job.row_lines import row_lines_mm
from core.output.export import exported
from core.output.opening import job_from_artwork
from core.sheet.faces import turn_matrix

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path fill="#000" fill-rule="evenodd" d="M5 5H25V20H5Z M10 10H20V15H10Z"/>
<circle cx="32" cy="12" r="4" fill="#000"/></svg>"""
LATE = replace(CO2_FLATBED, beam_delay_ms=0.1, both_way_offset_mm=0.03)


def planned(angle_deg: float = 0.0, edges: str = "as drawn") -> Plan:
    job = new_job(ArtworkSource(name="plate.svg", data=ART), machine=LATE)
    recipe = next(layer.recipe for layer in job.layers if layer.id == "fill")
    rows = replace(recipe, hands_over="rows", pitch_mm=0.2, scan_angle_deg=angle_deg, edges=edges)
    return prepare(with_recipe(job, "fill", rows))


def fill_of(plan: Plan) -> LayerPlan:
    return next(layer for layer in plan.layers if layer.layer.id == "fill")


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0])
def test_lines_shifted_as_the_machine_shifts_them_lie_in_the_drawn_area_all_along(angle_deg: float) -> None:
    plan = planned(angle_deg)
    fill = fill_of(plan)
    assert fill.rows is not None
    to_bed = turn_matrix(plan.job.turn, plan.job.sheet)
    ends = apply(to_bed, row_lines_mm(fill, plan.job).reshape(-1, 2)).reshape(-1, 2, 2)
    along = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    forth = ((ends[:, 1] - ends[:, 0]) @ along) > 0
    lag_mm = fill.layer.recipe.speed_mm_s * LATE.beam_delay_ms / 1000
    assert row_shifts_mm(2, speed_mm_s=fill.layer.recipe.speed_mm_s, machine=LATE) == pytest.approx(
        [lag_mm, 0.03 - lag_mm]
    )
    laid = ends + np.where(forth, lag_mm, 0.03 - lag_mm)[:, None, None] * along
    burned = shapely.MultiLineString(list(laid))
    region = shapely.transform(fill.region, lambda points: apply(to_bed, points))
    assert burned.difference(region.buffer(1e-6)).length == pytest.approx(0.0, abs=1e-6)
    assert burned.length * 0.2 == pytest.approx(region.area, rel=0.02)
    assert 0.3 < forth.mean() < 0.7  # to and fro


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
@pytest.mark.parametrize("edges", ["as drawn", "compensated"])
def test_files_hold_one_line_a_span_are_proven_and_read_back_as_drawn(suffix: str, edges: str) -> None:
    plan = planned(30.0, edges)
    fill = fill_of(plan)
    assert fill.rows is not None
    made = exported(plan, suffix)
    assert made.read_back is not None
    assert made.read_back.lines == made.read_back.compared == len(fill.rows)
    if suffix == ".dxf":
        lines = ezdxf.read(io.StringIO(made.data.decode())).modelspace().query("LINE")
        assert len(lines) == len(fill.rows)
    else:
        data = "".join(path.get("d") for path in etree.fromstring(made.data).iter("{*}path"))
        assert data.count("M") == data.count("L") == len(fill.rows)
    again = prepare(job_from_artwork(ArtworkSource(name="out" + suffix, data=made.data)))
    read = fill_of(again)
    assert read.layer.recipe.hands_over == "rows"
    assert read.region.symmetric_difference(fill.region).area < 1e-3


def test_where_rows_begin_is_then_no_doubt() -> None:
    thin = ART.replace(b"</svg>", b'<rect x="28" y="20" width="8" height="0.05"/></svg>')
    recipes = {}
    for way in ("outlines", "rows"):
        job = new_job(ArtworkSource(name="plate.svg", data=thin))
        recipe = next(layer.recipe for layer in job.layers if layer.id == "fill")
        plan = prepare(with_recipe(job, "fill", replace(recipe, hands_over=way, pitch_mm=0.2)))
        recipes[way] = (
            fill_of(plan),
            [one.message for one in plan.findings if one.code in ("hairlines", "missed-parts")],
        )
    outlines, rows = recipes["outlines"], recipes["rows"]
    assert outlines[0].coverage.hits_all_share == pytest.approx(0.25) and "of 100 places 25" in outlines[1][0]
    assert rows[0].coverage.hits_all_share == 1.0 and "These very rows" in rows[1][0]
