"""Margins, zones of the bed, the stop: held against shapely's distances and against turning the sheet by hand."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.burning.bed_zones import BedZone, zones_from, zones_text
from core.errors import UnreadableError
from core.job.fitting import job_footprint, place_job, with_place
from core.job.job import new_job
from core.job.on_bed import placing_options, zones_on_front
from core.job.place_offers import place_offers
from core.job.place_told import box_on_bed, told_of_plan
from core.job.prepare import plan_steps
from core.job.turned_time import time_if_at
from core.sheet.at_stop import at_stop, better_corners
from core.sheet.ground import NoRoomError
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Flaw, Placement, Sheet

ELL = ((0.0, 0.0), (260.0, 0.0), (260.0, 90.0), (110.0, 90.0), (110.0, 200.0), (0.0, 200.0))


def sign(width_mm=60.0, height_mm=40.0):
    svg = f"""<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{height_mm}mm"
    viewBox="0 0 {width_mm} {height_mm}"><rect width="{width_mm}" height="{height_mm}" fill="none" stroke="#000"
    stroke-width=".1"/><rect x="5" y="15" width="{width_mm - 10}" height="6"/></svg>"""
    return new_job(ArtworkSource(name="sign.svg", data=svg.encode()))


def at(job, x_mm, y_mm, **more):
    return replace(job, placement=Placement(x_mm=x_mm, y_mm=y_mm, centred=False), **more)


def plan_of(job):
    return next(plan_steps(job))


def found(plan, code):
    return [finding for finding in plan.findings if finding.code == code]


@pytest.mark.parametrize(
    ("x_mm", "told"), [(1.0, True), (2.0 + 0.075 - 0.02, True), (2.0 + 0.075, False), (9.0, False)]
)
def test_cuts_nearer_to_the_edge_than_the_margin_are_told(x_mm, told):
    plan = plan_of(at(sign(), x_mm, 20.0))
    near = found(plan, "near-edge")
    assert bool(near) == told
    if told:
        line = shapely.box(x_mm, 20, x_mm + 60, 60).exterior
        gap_mm = line.distance(sheet_region(plan.job.sheet).exterior) - plan.job.stock.kerf_mm / 2
        assert f"{gap_mm:.2f} mm" in near[0].message and near[0].x_mm == pytest.approx(x_mm)


def test_the_larger_margin_counts_and_none_is_none():
    job = at(sign(), 3.0, 20.0)
    wide = replace(job, stock=replace(job.stock, edge_margin_mm=5.0))
    assert "stock's margin of 5 mm" in found(plan_of(wide), "near-edge")[0].message
    none = replace(job, machine=replace(job.machine, edge_margin_mm=0.0), stock=replace(job.stock, edge_margin_mm=0.0))
    assert not found(plan_of(at(none, 0.0, 0.0)), "near-edge")


def test_a_line_that_parts_the_sheet_may_run_out_over_its_edge():
    svg = b"""<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
    <g id="cut"><path d="M100 0V200" fill="none" stroke="#f00" stroke-width=".1"/></g></svg>"""
    job = at(new_job(ArtworkSource(name="part.svg", data=svg)), 0.0, 0.0)
    assert not found(plan_of(job), "near-edge")


def test_placing_keeps_the_margin_by_default():
    job = replace(sign(), sheet=Sheet(width_mm=64.16, height_mm=44.16, thickness_mm=3.0))
    plan = plan_of(with_place(job, place_job(plan_of(job))))
    assert not found(plan, "near-edge") and not found(plan, "off-sheet")
    box = job_footprint(plan).burned.bounds
    assert plan.drawing_to_front[4] + box[0] == pytest.approx(2.0, abs=0.01)
    with pytest.raises(NoRoomError):
        place_job(plan_of(replace(job, sheet=replace(job.sheet, width_mm=64.13))))


@pytest.mark.parametrize("turn", ["sideways", "endways"])
@pytest.mark.parametrize("corner", ["top left", "top right", "bottom left", "bottom right"])
def test_zones_of_the_bed_come_to_the_front_as_the_sheet_is_turned(turn, corner):
    clamp = BedZone(kind="clamp", x_mm=10.0, y_mm=5.0, width_mm=30.0, height_mm=15.0)
    job = replace(sign(), turn=turn, stop_corner=corner)
    job = replace(job, machine=replace(job.machine, zones=(clamp,), bed_width_mm=320.0, bed_height_mm=210.0))
    (_, region), = zones_on_front(job)  # fmt: skip
    # by hand: the sheet lies 20 and 10 mm off the bed's left and top edge where the stop is right or at the bottom
    x0 = 10.0 - (20.0 if "right" in corner else 0.0)
    y0 = 5.0 - (10.0 if "bottom" in corner else 0.0)
    expected = [x0, y0, x0 + 30.0, y0 + 15.0]
    if turn == "sideways":
        expected[0], expected[2] = 300.0 - expected[2], 300.0 - expected[0]
    else:
        expected[1], expected[3] = 200.0 - expected[3], 200.0 - expected[1]
    np.testing.assert_allclose(region.bounds, expected)


def test_nothing_is_placed_under_a_clamp_and_what_lies_there_is_told():
    clamp = BedZone(kind="clamp", x_mm=0.0, y_mm=0.0, width_mm=200.0, height_mm=120.0)
    job = at(sign(), 230.0, 10.0)  # turned sideways: at the left on the bed
    job = replace(job, machine=replace(job.machine, zones=(clamp,)))
    (finding,) = found(plan_of(job), "in-zone")
    assert finding.severity == "problem" and "clamp" in finding.message
    placed = plan_of(with_place(job, place_job(plan_of(job))))
    assert not found(placed, "in-zone")
    x0, y0, *_ = box_on_bed(placed)
    assert x0 >= 200.0 or y0 >= 120.0


def test_zones_are_typed_as_they_are_told():
    zones = zones_from("clamp 0,0 30x15; Guide 0,580 900 x 20 mm")
    assert zones_from(zones_text(zones)) == zones and [zone.kind for zone in zones] == ["clamp", "guide"]
    assert zones_from("") == ()
    for wrong in ("clamp 0,0", "hook 0,0 3x3", "clamp a,b 3x3"):
        with pytest.raises(UnreadableError):
            zones_from(wrong)


def sheet_with(*outline):
    x1, y1 = np.max(outline, axis=0)
    return Sheet(width_mm=float(x1), height_mm=float(y1), thickness_mm=3.0, outline=(tuple(outline),))


def test_a_plain_sheet_lies_in_the_stop_by_two_edges():
    lies = at_stop(Sheet(width_mm=300.0, height_mm=200.0, thickness_mm=3.0), "sideways", "top left")
    assert lies.by_edges and lies.corner_there and lies.held
    assert lies.words == "The left and the top edge lie against the stop."


def test_an_l_whose_corner_is_cut_away_lies_by_the_edges_it_has():
    sheet = sheet_with(*ELL)
    # turned sideways the arm that lacks its end lies at the left of the bed: the corner at the bottom left is missing
    lies = at_stop(sheet, "sideways", "bottom left")
    assert not lies.corner_there and lies.by_edges
    assert lies.gap_mm == pytest.approx(110.0)  # from the corner down to the arm, measured on paper
    assert "the left edge from 110 to 200 mm" in lies.words and "the bottom edge from 150 to 260 mm" in lies.words
    assert set(better_corners(sheet, "sideways", lies)) == {"top left", "top right", "bottom right"}
    job = replace(sign(), sheet=sheet, stop_corner="bottom left")
    (finding,) = found(plan_of(at(job, 20.0, 20.0)), "stop-corner-missing")
    assert "cut away" in finding.message and "top left" in finding.message
    assert (finding.x_mm, finding.y_mm) == (260.0, 200.0)
    assert not found(plan_of(at(replace(job, stop_corner="top left"), 20.0, 20.0)), "stop-corner-missing")


def test_three_points_hold_a_sheet_and_two_do_not():
    notched = sheet_with((0, 12), (8, 0), (200, 30), (200, 120), (12, 120), (0, 100), (20, 60))
    lies = at_stop(notched, "endways", "bottom left")  # endways: top and bottom change places
    assert lies.held and not lies.by_edges and "Three points" in lies.words
    ring = [(50 + 50 * np.cos(a), 50 + 50 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 88, endpoint=False)]
    disc = at_stop(sheet_with(*ring), "sideways", "top left")
    assert not disc.held and "can turn" in disc.words
    assert disc.gap_mm == pytest.approx(50 * (np.sqrt(2) - 1), abs=0.05)
    job = replace(sign(20.0, 30.0), sheet=sheet_with(*ring))
    assert found(plan_of(job), "stop-loose")


def pivoted(region, angle_deg):
    """The sheet turned a little and pushed into the corner again: how far it moved back, by brute force."""
    turned = shapely.affinity.rotate(region, angle_deg, origin=(0, 0))
    x0, y0, *_ = turned.bounds
    return shapely.affinity.translate(turned, -x0, -y0)


@pytest.mark.parametrize("outline", [ELL, ((0, 12), (8, 0), (200, 30), (200, 120), (12, 120), (0, 100), (20, 60))])
def test_what_is_held_leaves_the_stop_when_it_is_turned(outline):
    """Independent of the rule: a sheet that is held can't be turned both ways without an area getting in the way.

    Turned by a small angle about any contact, a held sheet runs into a fence: pushed back into the corner, the point
    of contact it began with is gone from the fence.
    """
    sheet = sheet_with(*outline)
    lies = at_stop(sheet, "sideways", "top left")
    region = shapely.affinity.affine_transform(sheet_region(sheet), [-1, 0, 0, 1, sheet.width_mm, 0])

    def reach(angle_deg):
        x0, y0, *_ = shapely.affinity.rotate(region, angle_deg, origin=(0, 0)).bounds
        return max(-x0, -y0)

    both_ways = reach(0.5) > 0.05 and reach(-0.5) > 0.05
    assert lies.held == both_ways or not lies.corner_there


def test_a_place_is_told_by_the_box_and_by_the_pages_own_corner():
    job = replace(sign(), placement=Placement(x_mm=100.0, y_mm=20.0, rotation_deg=90.0, centred=False))
    plan = plan_of(job)
    told = told_of_plan(plan)
    np.testing.assert_allclose(told.box_mm, (60.0, 20.0, 100.0, 80.0), atol=1e-9)
    assert told.page_mm == pytest.approx((100.0, 20.0)) and told.page_corner == "top right"
    assert "now its top right" in told.words and "-0.00" not in told.words
    np.testing.assert_allclose(box_on_bed(plan), (200.0, 20.0, 240.0, 80.0), atol=1e-9)


def test_offers_say_what_each_place_does_to_the_run_time():
    patch = Flaw(kind="patch", points=((0, 0), (300, 0), (300, 47), (0, 47)), surface="clear face")
    sheet = Sheet(width_mm=300.0, height_mm=126.0, thickness_mm=3.0, flaws=(patch,))
    job = replace(sign(120.0, 40.0), sheet=sheet)
    plan = plan_of(job)
    offers = {aim: offer for offer in place_offers(plan) for aim in offer.aims}
    assert set(offers) == {"least flaws", "quickest", "least sheet"}
    assert offers["least flaws"].placed.shown_mm2 == 0.0
    # turned upright 256 x 126 mm are left, else 300 x 82: that shows the flaw, and rows are shorter
    least = offers["least sheet"]
    assert least.placed.rotation_deg in (90.0, 270.0) and least.placed.shown_mm2 > 0
    assert least.placed.rest_mm2 >= max(offer.placed.rest_mm2 for offer in offers.values())
    assert offers["quickest"].placed.rotation_deg in (0.0, 180.0)
    ratio = time_if_at(plan, 90.0).best_s / time_if_at(plan, 0.0).best_s
    assert least.longer_share == pytest.approx(ratio - 1) and least.longer_share > 0.1
    assert least.time_words == f"{(ratio - 1) * 100:.0f} % longer"


def test_options_of_a_job_hold_its_margin_and_its_zones():
    job = sign()
    zones = zones_from("guide 0,0 50x200")
    options = placing_options(replace(job, machine=replace(job.machine, zones=zones, edge_margin_mm=3.0)))
    assert options.edge_mm == 3.0 and options.closed == ((250.0, 0.0, 300.0, 200.0),)
