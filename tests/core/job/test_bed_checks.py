"""Rules of the bed by themselves, each on layers of a small sign: margin, zone, stop; the worst of a layer is told."""

from dataclasses import replace

import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.burning.bed_zones import BedZone
from core.job.bed_checks import SHORT_MM, bed_findings, edge_findings, stop_findings, zone_findings
from core.job.job import new_job
from core.job.on_bed import margin_mm, zones_on_front
from core.job.prepare import plan_steps
from core.sheet.placement import Placement

SIGN = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<g id="cut"><rect id="outer" width="60" height="40" fill="none" stroke="#f00" stroke-width=".1"/>
<rect id="inner" x="1.5" y="10" width="6" height="6" fill="none" stroke="#f00" stroke-width=".1"/></g>
<rect x="20" y="15" width="20" height="6"/></svg>"""


def planned(x_mm, y_mm):
    job = replace(
        new_job(ArtworkSource(name="sign.svg", data=SIGN)), placement=Placement(x_mm=x_mm, y_mm=y_mm, centred=False)
    )
    return next(plan_steps(job))


@pytest.fixture(scope="module")
def near():
    return planned(1.0, 30.0)


def test_lines_within_the_margin_are_counted_and_the_nearest_is_told(near):
    (found,) = edge_findings(near.job, near.layers)
    assert found.code == "near-edge" and found.message.startswith("A line of ")
    wide = replace(near.job, machine=replace(near.job.machine, edge_margin_mm=4.0))
    (found,) = edge_findings(wide, near.layers)
    assert found.message.startswith("2 lines of ") and "machine's margin of 4 mm" in found.message
    assert f"{1.0 - near.job.stock.kerf_mm / 2:.2f} mm" in found.message and found.x_mm == pytest.approx(1.0)


def test_a_hundredth_less_than_the_margin_will_do(near):
    gap_mm = 1.0 - near.job.stock.kerf_mm / 2
    for short_mm, count in ((0.5 * SHORT_MM, 0), (2 * SHORT_MM, 1)):
        job = replace(
            near.job,
            machine=replace(near.job.machine, edge_margin_mm=gap_mm + short_mm),
            stock=replace(near.job.stock, edge_margin_mm=0.0),
        )
        assert margin_mm(job) == pytest.approx(gap_mm + short_mm)
        assert len(edge_findings(job, near.layers)) == count


def test_what_burns_no_cut_may_lie_near_the_edge(near):
    fills = [layer for layer in near.layers if layer.layer.purpose == "fill"]
    assert fills and edge_findings(near.job, fills) == []


def with_clamp(plan, x_mm, y_mm):
    clamp = BedZone(kind="clamp", x_mm=x_mm, y_mm=y_mm, width_mm=10.0, height_mm=10.0)
    return replace(plan.job, machine=replace(plan.job.machine, zones=(clamp,)))


def test_what_is_burned_under_a_clamp_is_told_with_its_place():
    plan = planned(100.0, 80.0)
    x_mm = plan.job.sheet.width_mm - 135.0  # sideways, the bed has the front's x from the other edge
    job = with_clamp(plan, x_mm, 95.0)
    ((_, region),) = zones_on_front(job)
    (found,) = zone_findings(job, plan.layers)
    assert found.severity == "problem" and "clamp" in found.message
    assert region.buffer(1e-6).contains(shapely.Point(found.x_mm, found.y_mm))
    assert shapely.box(120, 95, 140, 101).buffer(1e-6).contains(shapely.Point(found.x_mm, found.y_mm))
    assert zone_findings(with_clamp(plan, 0.0, 0.0), plan.layers) == []


def test_a_corner_that_is_cut_away_is_told_with_one_that_is_there(near):
    assert stop_findings(near.job) == []
    width_mm, height_mm = near.job.sheet.width_mm, near.job.sheet.height_mm
    cut_off = ((0.0, 0.0), (width_mm - 60.0, 0.0), (width_mm, 60.0), (width_mm, height_mm), (0.0, height_mm))
    job = replace(near.job, sheet=replace(near.job.sheet, outline=(cut_off,)), stop_corner="top left")
    (found,) = stop_findings(job)  # the front's top right lies at the bed's top left
    assert found.code in ("stop-corner-missing", "stop-loose") and "top left" in found.message
    assert (found.x_mm, found.y_mm) == pytest.approx((width_mm, 0.0))
    assert "the sheet's own corner would lie in it" in found.message
    assert [one.code for one in bed_findings(job, near.layers)] == ["near-edge", found.code]
