"""Jigs, backers and openings as jobs: what the exported bed face shows, held against the job that they serve."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.errors import JobError, UnreadableError
from core.geometry.affine import apply_to_region
from core.geometry.flattening import flatten
from core.geometry.path import ARC
from core.job.burned import cut_away, inside_cuts
from core.job.decisions import with_keep_size
from core.job.jigs import backer_job, blank_play, corner_stop_job, nest_job, opening_job, pin_jobs, slivers_shown
from core.job.job import new_job
from core.job.prepare import plan_steps, prepare
from core.sheet.backers import backer
from core.sheet.faces import turn_matrix
from core.sheet.kerf import offset
from core.sheet.placement import Placement
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3, MIRRORED_GLASS_4

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
KERF = CLEAR_ACRYLIC_3.kerf_mm
FLAG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">
<path d="M10 10H70L55 25 70 40H10z" fill="none" stroke="#000" stroke-width=".1"/><path d="M16 16h20v14h-20z"/></svg>"""


def flag(turn="sideways", **more):
    source = ArtworkSource(name="flag.svg", data=FLAG)
    return replace(new_job(source), turn=turn, placement=Placement(centred=False), **more)


def bed(plan, region):
    return apply_to_region(turn_matrix(plan.job.turn, plan.job.sheet), region)


def cut_rings(plan):
    """The lines that the beam follows, on the bed."""
    paths = [path for layer in plan.layers if layer.layer.purpose == "cut" for path in layer.paths]
    return [bed(plan, shapely.Polygon(flatten(path, 0.001).points)) for path in paths]


def same_shape(one, other):
    """Area by which they differ with their boxes laid over each other."""
    (x0, y0, *_), (u0, v0, *_) = one.bounds, other.bounds
    return shapely.symmetric_difference(one, shapely.affinity.translate(other, x0 - u0, y0 - v0)).area


@pytest.mark.parametrize(("turn", "clearance"), [("sideways", 0.2), ("endways", 0.1)])
def test_a_nest_on_the_bed_takes_the_blank_as_it_lies_there(turn, clearance):
    plan = next(plan_steps(flag(turn)))
    nest_plan = prepare(nest_job(plan, CLEAR_ACRYLIC_3, clearance_mm=clearance, finger_mm=0.0))
    _, opening = sorted(cut_rings(nest_plan), key=lambda ring: -ring.area)
    opening = offset(opening, KERF / 2)  # what the beam leaves
    blank = bed(plan, inside_cuts(plan.layers))  # front down, as the job itself has it
    x0, y0, *_ = opening.bounds
    lying = shapely.affinity.translate(blank, x0 - blank.bounds[0] + clearance, y0 - blank.bounds[1] + clearance)
    assert opening.buffer(2e-3).contains(lying)
    assert nest_plan.findings == () and nest_plan.job.turn == turn


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_pin_holes_lie_over_each_other_in_sheet_and_board_on_the_bed(turn):
    job = flag(turn)
    plan = next(plan_steps(job))
    pins, in_sheet, board = pin_jobs(plan, CLEAR_ACRYLIC_3, pin_mm=3.0, clearance_mm=0.1)
    holes, board_plan = prepare(in_sheet), prepare(board)
    assert in_sheet.sheet == job.sheet and in_sheet.stock == job.stock
    cut = [offset(ring, KERF / 2) for ring in cut_rings(holes)]
    there = cut_rings(board_plan)
    for hole in cut:
        x0, _, x1, _ = hole.bounds
        pin = min(there, key=lambda one, hole=hole: one.centroid.distance(hole.centroid))
        assert pin.centroid.distance(hole.centroid) < 1e-3 and x1 - x0 in (
            pytest.approx(3.1, abs=5e-3),
            pytest.approx(4.0, abs=5e-3),
        )
        assert offset(pin, KERF / 2).bounds[2] - offset(pin, KERF / 2).bounds[0] == pytest.approx(3.0, abs=5e-3)
        assert not bed(plan, cut_away(plan)).intersects(hole)
    assert all((path.kinds == ARC).all() for layer in holes.layers for path in layer.paths)  # circles stay circles
    assert pins.play.farthest_mm(inside_cuts(plan.layers)) < 0.1


def test_the_corner_stop_is_for_the_corner_that_meets_the_machines_stop():
    for corner in ("top left", "bottom right"):
        plan = prepare(corner_stop_job(flag(stop_corner=corner), CLEAR_ACRYLIC_3, arm_mm=60.0, width_mm=15.0))
        (angle,) = cut_rings(plan)
        inner = shapely.box(25, 25, 60, 60) if corner == "top left" else shapely.box(10, 10, 45, 45)
        assert not angle.intersects(inner) and plan.findings == ()


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_a_backer_lies_as_it_is_seen_from_the_front_and_its_lines_are_hidden(turn):
    plan = next(plan_steps(flag(turn)))
    upper = inside_cuts(plan.layers)
    plate = backer(upper, margin_mm=4.0)
    there = prepare(backer_job(plan, plate, CLEAR_ACRYLIC_3))
    (ring,) = cut_rings(there)
    assert same_shape(offset(ring, -KERF / 2), plate.region) < 0.5  # not turned: the face that is glued lies up
    scores = next(layer for layer in there.layers if layer.layer.purpose == "score")
    assert scores.length_mm == pytest.approx(plate.lines.length, rel=1e-6) and there.findings == ()
    lines = bed(there, shapely.MultiLineString([flatten(path).points for path in scores.paths]))
    x0, y0, *_ = offset(ring, -KERF / 2).bounds
    laid = shapely.affinity.translate(upper, x0 - plate.region.bounds[0], y0 - plate.region.bounds[1])
    assert laid.buffer(-1.0 + 0.01).contains(lines)


@pytest.mark.parametrize("clearance", [0.1, -0.03])
def test_a_piece_let_into_a_plate_has_the_clearance_that_was_asked_for(clearance):
    job = with_keep_size(flag(), "cut", True)
    plan = prepare(job)
    (insert,) = cut_rings(plan)
    insert = offset(insert, -KERF / 2)
    plate = prepare(opening_job(plan, CLEAR_ACRYLIC_3, clearance_mm=clearance))
    _, opening = sorted(cut_rings(plate), key=lambda ring: -ring.area)
    opening = offset(opening, KERF / 2)
    # the piece turned front up again lies in the opening as it is seen from the front
    front_up = bed(plan, insert)
    x0, y0, *_ = opening.bounds
    lying = shapely.affinity.translate(
        front_up, x0 - front_up.bounds[0] + clearance, y0 - front_up.bounds[1] + clearance
    )
    assert shapely.symmetric_difference(offset(lying, clearance), opening).area < 0.05  # corners of half a kerf stay
    assert opening.contains(lying) == (clearance > 0)


def test_what_must_not_be_cut_is_refused():
    plan = next(plan_steps(flag()))
    with pytest.raises(JobError, match="must not be cut"):
        nest_job(plan, MIRRORED_GLASS_4)
    with pytest.raises(UnreadableError, match="frame"):
        opening_job(plan, CLEAR_ACRYLIC_3, frame_mm=-5.0)
    nothing = replace(flag(), layers=tuple(replace(layer, purpose="score") if layer.purpose == "cut" else layer
                                           for layer in flag().layers))  # fmt: skip
    with pytest.raises(JobError, match="cuts nothing out"):
        nest_job(next(plan_steps(nothing)), CLEAR_ACRYLIC_3)


def test_what_a_second_pass_in_a_nest_shows():
    crest = next(plan_steps(new_job(load_source(SAMPLES / "crest.svg"), stock=MIRRORED_ACRYLIC_3)))
    near, far = (slivers_shown(crest, blank_play(crest, clearance)) for clearance in (0.1, 0.2))
    assert 1.0 < near.area_mm2 < far.area_mm2 < 2.2 * near.area_mm2 and 0.1 <= near.off_mm < far.off_mm
