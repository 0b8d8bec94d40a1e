"""Cut lines moved for the kerf, and copies of the artwork, through the whole flow from artwork to export."""

import io
import math
from dataclasses import replace
from itertools import pairwise

import ezdxf
import pytest
import shapely
from lxml import etree

from core.artwork.drawing import ArtworkSource
from core.errors import JobError
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import ARC, LINE
from core.job.burned import finished_region
from core.job.decisions import with_keep_size
from core.job.fitting import job_footprint
from core.job.job import new_job, with_overrides
from core.job.job_file import job_file_bytes, job_from_bytes
from core.job.prepare import plan_steps, prepare
from core.output.export import export_bytes
from core.output.opening import job_from_artwork
from core.sheet.placement import Placement, Repeat

KERF = 0.15


def artwork(body, *, size="100mm", box="0 0 100 100"):
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}" height="{size}" viewBox="{box}">'
    return ArtworkSource(name="plate.svg", data=f"{head}{body}</svg>".encode())


def line(shape):
    return shape.replace("/>", ' fill="none" stroke="#000" stroke-width=".1"/>')


PLATE = line('<rect x="10" y="10" width="60" height="40"/>') + line('<circle cx="25" cy="30" r="8"/>')
PLATE += '<path d="M40 20h20v12h-8v8h-12z"/>'


def job_of(body, *, keep_size=True, **more):
    job = replace(new_job(artwork(body)), placement=Placement(centred=False), **more)
    return with_keep_size(job, "cut", keep_size)


def all_cut(job):
    """All lines cut, whatever the sorting makes of them."""
    lines = [shape.id for shape in next(plan_steps(job)).drawing.shapes if shape.fill is None]
    return with_overrides(job, lines, "cut")


def cuts(plan):
    return next(layer for layer in plan.layers if layer.layer.purpose == "cut").paths


def region_of(path):
    return shapely.Polygon(flatten(path, 0.001).points)


def codes(plan):
    return {finding.code for finding in plan.findings}


def test_parts_go_outwards_and_holes_inwards():
    outer, hole = sorted((region_of(path) for path in cuts(prepare(job_of(PLATE)))), key=lambda one: -one.area)
    assert outer.bounds == pytest.approx((10 - KERF / 2, 10 - KERF / 2, 70 + KERF / 2, 50 + KERF / 2), abs=1e-6)
    x0, _, x1, _ = hole.bounds
    assert x1 - x0 == pytest.approx(16 - KERF, abs=2e-3)
    # what comes out, half a kerf burned off all round: the drawn size
    kept = outer.buffer(-KERF / 2).difference(hole.buffer(KERF / 2))
    assert kept.area == pytest.approx(2400 - 64 * math.pi, rel=2e-4)


def test_as_drawn_unless_asked_for():
    plan = prepare(job_of(PLATE, keep_size=False))
    assert sorted(region_of(path).area for path in cuts(plan))[-1] == pytest.approx(2400)
    assert all(layer.enclosed is None for layer in plan.layers)


def test_circles_stay_circles_and_other_curves_run_alongside():
    drawn = line('<path d="M20 50 C20 10 80 10 80 50 S20 90 20 50z"/>')
    (moved,), (still,) = cuts(prepare(job_of(drawn))), cuts(prepare(job_of(drawn, keep_size=False)))
    gap = [shapely.Point(xy).distance(region_of(still).exterior) for xy in flatten(moved).points[::7]]
    assert gap == pytest.approx([KERF / 2] * len(gap), abs=4e-3)
    (circle,) = cuts(prepare(job_of(line('<circle cx="50" cy="50" r="20"/>'))))
    assert (circle.kinds == ARC).all() and path_length_mm(circle) == pytest.approx(math.tau * (20 + KERF / 2))


def test_lines_and_arcs_stay_lines_and_arcs():
    plate = line('<rect x="10" y="10" width="60" height="40" rx="5"/>') + line(
        '<rect x="20" y="20" width="9" height="8"/>'
    )
    plan = prepare(job_of(plate))
    outer, hole = sorted(cuts(plan), key=path_length_mm, reverse=True)
    assert sorted(outer.kinds) == [LINE] * 4 + [ARC] * 4 and list(hole.kinds) == [LINE] * 4
    assert path_length_mm(outer) == pytest.approx(2 * (50 + 30) + math.tau * (5 + KERF / 2))
    assert region_of(hole).area == pytest.approx((9 - KERF) * (8 - KERF))
    exported = ezdxf.read(io.StringIO(export_bytes(plan, ".dxf").decode())).modelspace().query("LWPOLYLINE")
    assert max(len(entity) for entity in exported) == 8  # corners as bulges, not as chords


def test_a_part_inside_a_hole_is_a_part():
    nested = "".join(line(f'<rect x="{a}" y="{a}" width="{90 - 2 * a}" height="{90 - 2 * a}"/>') for a in (5, 15, 25))
    plan = prepare(job_of(f'<g id="cut">{nested}</g>'))
    widths = sorted(region_of(path).bounds[2] - region_of(path).bounds[0] for path in cuts(plan))
    assert widths == pytest.approx([40 + KERF, 60 - KERF, 80 + KERF], abs=1e-6)


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (line('<path d="M10 10h40v30"/>'), "kerf-open-lines"),
        (PLATE + line('<rect x="50" y="14" width="6" height="0.1"/>'), "kerf-lost-holes"),
        (PLATE + line('<rect x="70.1" y="10" width="20" height="20"/>'), "kerf-too-near"),
        (PLATE + line('<circle cx="25" cy="30" r="7.9"/>'), "kerf-too-near"),
    ],
)
def test_what_the_kerf_does_not_allow_is_found(body, code):
    assert code in codes(prepare(all_cut(job_of(body))))
    assert code not in codes(prepare(all_cut(job_of(body, keep_size=False))))


def test_parts_a_kerf_apart_and_holes_side_by_side_are_no_fault():
    body = PLATE + line('<rect x="70.15" y="10" width="20" height="20"/>') + line('<circle cx="41.1" cy="44" r="3"/>')
    assert not {code for code in codes(prepare(job_of(body))) if code.startswith("kerf")}


def test_the_export_holds_the_moved_lines_and_reads_back_the_same():
    plan = prepare(job_of(PLATE))
    svg, dxf = export_bytes(plan, ".svg"), export_bytes(plan, ".dxf")
    groups = {group.get("id"): group for group in etree.fromstring(svg).iter("{*}g")}
    assert groups["cut"].get("{urn:tain:job:1}lines-moved-for-kerf-mm") == "0.15"
    assert "{urn:tain:job:1}lines-moved-for-kerf-mm" not in groups["fill"].attrib
    layer = ezdxf.read(io.StringIO(dxf.decode())).layers.get("Cut")
    assert ("lines_moved_for_kerf_mm", KERF) in list(pairwise(tag.value for tag in layer.get_xdata("TAIN")))
    for data, name in ((svg, "out.svg"), (dxf, "out.dxf")):
        again = job_from_artwork(ArtworkSource(name=name, data=data))
        assert not any(layer.keep_size for layer in again.layers)  # moved once, never twice
        with pytest.raises(JobError, match="were moved for the kerf when"):
            with_keep_size(again, "cut", True)
        there = sum(region_of(path).area for path in cuts(prepare(again)))
        assert there == pytest.approx(sum(region_of(path).area for path in cuts(plan)), rel=1e-5)


def test_the_job_file_keeps_it_and_plain_jobs_keep_their_bytes():
    job = replace(job_of(PLATE), repeats=(Repeat(x_mm=70.0, y_mm=0.0, rotation_deg=90.0),))
    assert job_from_bytes(job_file_bytes(job), name="job") == job
    plain = job_file_bytes(new_job(artwork(PLATE)))
    assert b"keep_size" not in plain and b"repeats" not in plain


def test_copies_are_burned_placed_and_timed():
    one = prepare(job_of(PLATE, keep_size=False))
    job = job_of(PLATE, keep_size=False, repeats=(Repeat(x_mm=62.0, y_mm=0.0), Repeat(x_mm=180.0, y_mm=110.0,
                 rotation_deg=180.0)))  # fmt: skip
    plan = prepare(job)
    assert len(cuts(plan)) == 3 * len(cuts(one))
    fill = {layer.layer.id: layer for layer in plan.layers}["fill"]
    assert fill.area_mm2 == pytest.approx(3 * 336) and fill.coverage.left_over_pct < 0.5
    assert finished_region(plan.layers).area == pytest.approx(3 * finished_region(one.layers).area, rel=1e-6)
    assert plan.time_s > 2 * one.time_s
    # the third is the first, turned by half a turn about (90, 55)
    turned = shapely.affinity.rotate(finished_region(one.layers), 180, origin=(90, 55))
    assert finished_region(plan.layers).buffer(1e-6).contains(turned)
    assert len(plan.copies_to_front) == 3


def test_copies_move_as_one_and_off_the_sheet_is_found():
    job = job_of(PLATE, keep_size=False, repeats=(Repeat(x_mm=260.0, y_mm=0.0),))
    assert "off-sheet" in codes(next(plan_steps(job)))
    moved = replace(job, placement=Placement(x_mm=7.0, y_mm=5.0, centred=False))
    here, there = (job_footprint(next(plan_steps(one))).burned for one in (job, moved))
    assert shapely.symmetric_difference(here, there).area < 1e-6


def test_neighbours_share_the_line_between_them():
    tile = line('<rect x="10" y="10" width="40" height="30"/>')
    row = tuple(Repeat(x_mm=40.0 * k, y_mm=0.0) for k in (1, 2))
    plan = prepare(job_of(tile, keep_size=False, repeats=row))
    assert sum(path_length_mm(path) for path in cuts(plan)) == pytest.approx(3 * 140 - 2 * 30, abs=0.01)
    assert finished_region(plan.layers).area == pytest.approx(3 * 1200)
    # and with the size kept: a kerf apart, the moved lines coincide
    row = tuple(Repeat(x_mm=(40.0 + KERF) * k, y_mm=0.0) for k in (1, 2))
    kept = prepare(job_of(tile, repeats=row))
    assert sum(path_length_mm(path) for path in cuts(kept)) == pytest.approx(
        3 * (140 + math.tau * KERF / 2) - 2 * 30, abs=0.01
    )
    assert finished_region(kept.layers).area == pytest.approx(3 * 1200, rel=1e-4)
    assert not {code for code in codes(kept) if code.startswith(("kerf", "copies"))}


def test_copies_over_each_other_stop_the_job():
    plan = next(plan_steps(job_of(PLATE, repeats=(Repeat(x_mm=30.0, y_mm=0.0),))))
    assert "copies-overlap" in codes(plan)


SLOT = '<path d="M10 10h60v40h-30v-20h-{width}v20h-{rest}z" fill="none" stroke="#000" stroke-width=".1"/>'
TWO_ROOMS = (
    '<path d="M15 15h10v{down}h20v-{down}h10v10h-10v-{up}h-20v{up}h-10z" fill="none" stroke="#000" stroke-width=".1"/>'
)
TILE = line('<rect x="10" y="10" width="40" height="30"/>')


def test_a_slot_from_the_edge_that_closes_is_told_as_holes_are():
    closed, narrow = (SLOT.format(width=width, rest=30 - width) for width in (0.14, 0.2))
    assert "kerf-lost-slots" in codes(prepare(all_cut(job_of(closed))))
    assert "kerf-lost-slots" not in codes(prepare(all_cut(job_of(narrow))))
    neck, wide = (line_of_rooms(gap) for gap in (0.14, 0.4))
    assert "kerf-lost-slots" in codes(prepare(all_cut(job_of(neck))))
    assert "kerf-lost-slots" not in codes(prepare(all_cut(job_of(wide))))
    # what the round beam leaves in a corner is no slot
    star = line('<path d="M50 10 L58 40 L88 48 L58 56 L50 86 L42 56 L12 48 L42 40z"/>')
    assert "kerf-lost-slots" not in codes(prepare(all_cut(job_of(star))))


def line_of_rooms(gap):
    """A hole of two rooms with a passage between them."""
    return line('<rect x="10" y="10" width="60" height="40"/>') + TWO_ROOMS.format(down=5 - gap / 2, up=5 - gap / 2)


@pytest.mark.parametrize("other", ['<rect x="50" y="10" width="40" height="30"/>',
                                   '<rect x="50" y="15" width="40" height="10"/>'])  # fmt: skip
def test_parts_that_share_a_line_are_refused_with_what_to_do(other):
    plan = prepare(all_cut(job_of(TILE + line(other))))
    (told,) = [finding for finding in plan.findings if finding.code == "kerf-shared-lines"]
    assert told.severity == "problem" and "0.15 mm apart" in told.message
    assert "kerf-open-lines" not in codes(plan)
    with pytest.raises(JobError, match="share a cut line"):
        export_bytes(plan, ".svg")
    as_drawn = prepare(all_cut(job_of(TILE + line(other), keep_size=False)))
    assert export_bytes(as_drawn, ".svg") and "kerf-shared-lines" not in codes(as_drawn)


def test_copies_that_share_a_line_or_stand_too_near_are_told():
    def told(apart):
        return codes(next(plan_steps(job_of(TILE, repeats=(Repeat(x_mm=apart, y_mm=0.0),)))))

    assert "kerf-shared-lines" in told(40.0) and "kerf-too-near" in told(40.05)
    assert not {code for code in told(40.0 + KERF) if code.startswith("kerf")}


@pytest.mark.parametrize("around", ['<rect x="10" y="10" width="60" height="40"/>', '<circle cx="50" cy="30" r="40"/>'])
def test_a_hole_that_touches_the_outline_stays_a_hole_and_is_told(around):
    plan = prepare(all_cut(job_of(line(around) + line('<circle cx="20" cy="30" r="10"/>'))))
    hole = min((region_of(path) for path in cuts(plan)), key=lambda one: one.area)
    assert hole.bounds[2] - hole.bounds[0] == pytest.approx(20 - KERF, abs=2e-3)
    assert "hole-at-the-edge" in codes(plan) and "kerf-too-near" not in codes(plan)
