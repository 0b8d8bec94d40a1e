"""What can be had on a sheet, ready to be shown: what is burned where, whose stock, which question was asked."""

from dataclasses import replace

import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.errors import JobError
from core.geometry.affine import apply_to_region
from core.job.fitting import job_footprint
from core.job.job import new_job
from core.job.laid_out import (
    burned_at,
    copies_laid_out,
    designs_laid_out,
    pieces_that_serve,
    same_question,
    with_artwork_of,
)
from core.job.prepare import plan_steps
from core.progress import silent
from core.sheet.ground import Placed, PlacingOptions
from core.sheet.offcuts import Piece
from core.sheet.placement import Placement, Sheet, placement_matrix
from core.sheet.stock import MIRRORED_ACRYLIC_3

COARSE = PlacingOptions(cell_mm=0.25, angles_deg=(0.0,))


def tag(name="tag.svg", width_mm=30):
    svg = f"""<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="20mm" viewBox="0 0 {width_mm} 20">
    <rect id="cut" x=".1" y=".1" width="{width_mm - 0.2}" height="19.8" fill="none" stroke="#f00" stroke-width=".1"/>
    <rect x="8" y="8" width="9" height="4"/></svg>"""
    job = new_job(ArtworkSource(name=name, data=svg.encode()))
    return replace(job, sheet=Sheet(width_mm=80.0, height_mm=50.0, thickness_mm=3.0))


@pytest.fixture(scope="module")
def plan():
    return next(plan_steps(tag()))


def test_what_is_burned_is_put_where_it_was_placed(plan):
    placed = Placed(x_mm=40.0, y_mm=9.0, rotation_deg=90.0, shown_mm2=0.0, rest_mm2=0.0)
    expected = apply_to_region(placement_matrix(40.0, 9.0, 90.0), job_footprint(plan).burned)
    assert burned_at(plan, placed).equals(expected)
    assert burned_at(plan, replace(placed, x_mm=41.0)).distance(shapely.box(*expected.bounds)) == 0.0


def test_pieces_of_the_stock_alone_are_tried_and_what_does_not_fit_comes_last(plan):
    def piece(width_mm, height_mm, stock=MIRRORED_ACRYLIC_3.name):
        outline = ((0.0, 0.0), (width_mm, 0.0), (width_mm, height_mm), (0.0, height_mm))
        return Piece(stock=stock, thickness_mm=3.0, outline=(outline,))

    rack = (("a", "A", piece(20.0, 20.0)), ("b", "B", piece(70.0, 40.0)), ("c", "C", piece(70.0, 40.0, "slate")))
    told = []
    served = pieces_that_serve(plan, rack, COARSE, silent, told.append)
    assert [one.piece for one in served] == [rack[1][2], rack[0][2]] and [len(one) for one in told] == [1, 2]
    assert served[1].burned is None and shapely.box(0, 0, 70, 40).buffer(1e-6).contains(served[0].burned)


def test_copies_are_told_as_they_get_better_and_the_last_is_what_comes_back():
    told = []
    laid = copies_laid_out(
        tag(), 3, way="rows", spacing_mm=1.0, share_cuts=False, options=COARSE, progress=silent, tell=told.append
    )
    assert len(laid.layout.copies) == 3 and len(shapely.get_parts(laid.burned)) == 3
    assert all(one.layout.rank >= laid.layout.rank for one in told)


def test_designs_of_one_stock_lie_apart_on_one_sheet():
    job, other = tag(), tag("other.svg", 24)
    laid = designs_laid_out(job, [("other", other)], spacing_mm=2.0, options=COARSE, progress=silent)
    assert [one.source.name for one in laid.jobs] == ["tag.svg", "other.svg"]
    one, two = shapely.get_parts(laid.burned)
    assert one.distance(two) >= 2.0 - 1e-6 and shapely.box(0, 0, 80, 50).buffer(1e-5).contains(laid.burned)
    strange = replace(other, stock=replace(other.stock, name="slate"))
    with pytest.raises(JobError, match=r"strange is for slate"):
        designs_laid_out(job, [("strange", strange)], spacing_mm=2.0, options=COARSE, progress=silent)


def test_settings_go_with_other_artwork_but_what_was_decided_shape_by_shape_does_not(plan):
    other = tag("other.svg")
    job = replace(plan.job, turn="endways", repairs=("join-ends",))
    taken = with_artwork_of(job, other)
    assert taken.source == other.source and taken.turn == "endways"
    assert taken.repairs == taken.overrides == taken.repeats == ()


def test_the_question_of_the_best_place_is_the_same_wherever_the_artwork_lies(plan):
    moved = replace(plan.job, placement=Placement(x_mm=3.0, y_mm=4.0, centred=False))
    assert same_question(plan, replace(plan, job=moved))
    assert same_question(plan, replace(plan, job=replace(moved, cautions_ticked=frozenset({"fumes"}))))
    assert not same_question(plan, replace(plan, job=replace(moved, turn="endways")))
