"""Copies of a sample and several samples on one scratched offcut, out to the exported file."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.errors import JobError
from core.geometry.affine import apply_to_region
from core.job.copying import copies_on_sheet, jobs_on_sheet, single_plan, with_copies, without_copies
from core.job.fitting import job_footprint, with_piece
from core.job.job import new_job
from core.job.painting.colouring import colouring
from core.job.prepare import plan_steps, prepare
from core.output.export import export_bytes
from core.output.opening import job_from_artwork
from core.sheet.copies import Layout
from core.sheet.ground import PlacingOptions
from core.sheet.offcuts import Piece
from core.sheet.placement import Flaw
from core.sheet.stock import MIRRORED_ACRYLIC_3

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
PIECE = Piece(
    stock=MIRRORED_ACRYLIC_3.name,
    thickness_mm=3.0,
    outline=(((0.0, 0.0), (420.0, 10.0), (430.0, 240.0), (300.0, 300.0), (210.0, 262.0), (20.0, 292.0)),),
    flaws=(
        Flaw(kind="line", points=((100.0, 60.0), (160.0, 75.0)), note="saw"),
        Flaw(kind="point", points=((250.0, 150.0),), width_mm=3.0, surface="clear face", noted_from="back"),
    ),
)


def sample(name):
    return with_piece(new_job(load_source(SAMPLES / name)), PIECE, "piece", MIRRORED_ACRYLIC_3)


def wrong(plan):
    return [f for f in plan.findings if f.code in ("off-sheet", "flaw-shows", "copies-overlap")]


@pytest.mark.parametrize(("way", "count"), [("rows", 2), ("nested", 3)])
def test_copies_lie_apart_on_the_piece_and_clear_of_flaws(way, count):
    job = sample("room-key-tags.svg")
    layout = copies_on_sheet(job, count, way=way, spacing_mm=2.0)
    assert layout.left_over == 0
    plan = next(plan_steps(with_copies(job, layout)))
    assert not wrong(plan)
    regions = copy_regions(plan)
    assert len(regions) == count
    assert min(a.distance(b) for i, a in enumerate(regions) for b in regions[:i]) >= 2.0 - 1e-6
    assert shapely.symmetric_difference(
        shapely.union_all(regions), shapely.transform(job_footprint(plan).burned, lambda xy: moved(plan, xy))
    ).area == pytest.approx(0.0, abs=0.05)  # the layout is what the job burns


def copy_regions(plan):
    """All that each copy burns, front frame, the first one first."""
    once = job_footprint(single_plan(plan.job)).burned
    return [apply_to_region(matrix, once) for matrix in plan.copies_to_front]


def moved(plan, points):
    a, b, c, d, e, f = plan.drawing_to_front
    return points @ [[a, b], [c, d]] + [e, f]


def test_copies_are_exported_read_back_and_painted():
    job = sample("house-number.svg")
    plan = prepare(with_copies(job, copies_on_sheet(job, 2)))
    one = prepare(job)
    assert sum(layer.area_mm2 for layer in plan.layers) == pytest.approx(2 * sum(la.area_mm2 for la in one.layers))
    again = prepare(job_from_artwork(ArtworkSource(name="out.svg", data=export_bytes(plan, ".svg"))))
    for before, after in zip(plan.layers, again.layers, strict=False):
        off_mm2 = shapely.symmetric_difference(before.region, after.region).area
        assert off_mm2 <= 1e-6 * before.region.length, before.region.length  # coordinates are written to 1e-6 mm
    painted = sum(area.region.area for area in colouring(plan).areas)
    assert painted == pytest.approx(2 * sum(area.region.area for area in colouring(one).areas), rel=1e-6)


def test_too_many_say_how_many_are_left_over_and_the_best_so_far_is_heard():
    job, heard = sample("house-number.svg"), []
    layout = copies_on_sheet(job, 60, better=heard.append)
    assert layout.left_over > 0 and heard[-1] == layout
    assert len(with_copies(job, layout).repeats) == len(layout.copies) - 1
    with pytest.raises(JobError, match="Not one copy"):
        with_copies(job, Layout(copies=(), left_over=1, density=0, width_mm=0, height_mm=0, strip_mm2=0))


def test_copies_again_start_from_one():
    job = scratched(200.0, 130.0)
    once = copies_on_sheet(job, 2)
    twice = with_copies(job, once)
    assert copies_on_sheet(twice, 2) == once
    assert without_copies(twice).repeats == ()


def test_several_designs_share_a_piece():
    jobs = [sample("bracket-plate.dxf"), sample("room-key-tags.svg"), sample("name-plate.svg")]
    placed = jobs_on_sheet(jobs, jobs[0].sheet, spacing_mm=2.0)
    plans = [next(plan_steps(job)) for job in placed]
    assert not [finding for plan in plans for finding in wrong(plan)]
    regions = [region for plan in plans for region in copy_regions(plan)]
    assert min(a.distance(b) for i, a in enumerate(regions) for b in regions[:i]) >= 2.0 - 1e-6
    with pytest.raises(JobError, match="found no room"):
        jobs_on_sheet(jobs, replace(jobs[0].sheet, width_mm=150.0, height_mm=100.0, outline=()))


def test_shared_cuts_are_burned_once():
    svg = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
    <rect width="40" height="30" fill="none" stroke="#000" stroke-width=".1"/></svg>"""
    job = replace(new_job(ArtworkSource(name="tile.svg", data=svg)), sheet=replace(new_job().sheet, width_mm=121.0,
                  height_mm=31.0))  # fmt: skip
    layout = copies_on_sheet(job, 9, way="rows", share_cuts=True, options=PlacingOptions())
    plan = prepare(with_copies(job, layout))
    assert len(layout.copies) == 3 and not wrong(plan)
    assert sum(layer.length_mm for layer in plan.layers) == pytest.approx(3 * 140 - 2 * 30, abs=0.01)


FILLED = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<rect width="60" height="60" fill="none" stroke="#000" stroke-width=".1"/><path d="M10 10h40v40h-40z"/></svg>"""


def scratched(width_mm, height_mm, *scratches, surface="coat"):
    """A sheet that is just large enough, with scratches across its middle."""
    flaws = tuple(Flaw(kind="line", points=points, surface=surface) for points in scratches)
    job = new_job(ArtworkSource(name="tile.svg", data=FILLED))
    return replace(job, sheet=replace(job.sheet, width_mm=width_mm, height_mm=height_mm, flaws=flaws))


NO_MARGIN = PlacingOptions(edge_mm=0.0)


@pytest.mark.parametrize("way", ["rows", "nested"])
def test_copies_hide_scratches_of_the_coat_under_their_fills(way):
    """Two tiles of 60 mm on 124 mm, a scratch of 10 mm under the place of each fill."""
    job = scratched(124.0, 62.0, ((25.0, 30.0), (35.0, 30.0)), ((90.0, 30.0), (98.0, 32.0)))
    layout = copies_on_sheet(job, 2, way=way, options=NO_MARGIN)
    assert layout.left_over == 0
    plan = next(plan_steps(with_copies(job, layout)))
    assert not wrong(plan)
    one, other = copy_regions(plan)
    assert one.distance(other) >= 1.0 - 1e-6
    on_face = scratched(124.0, 62.0, ((25.0, 30.0), (35.0, 30.0)), surface="clear face")
    assert copies_on_sheet(on_face, 2, way=way, options=NO_MARGIN).left_over  # there no fill hides it


def test_a_scratch_longer_than_a_fill_is_not_hidden():
    job = scratched(62.0, 62.0, ((3.0, 30.0), (59.0, 30.0)))
    assert copies_on_sheet(job, 1, options=NO_MARGIN).left_over == 1


def test_several_designs_hide_scratches_too():
    job = scratched(124.0, 62.0, ((25.0, 30.0), (35.0, 30.0)))
    other = replace(job, source=ArtworkSource(name="other.svg", data=FILLED.replace(b"M10 10", b"M11 10")))
    placed = jobs_on_sheet([job, other], job.sheet, options=NO_MARGIN)
    plans = [next(plan_steps(one)) for one in placed]
    assert not [finding for plan in plans for finding in wrong(plan)]
    regions = [region for plan in plans for region in copy_regions(plan)]
    assert regions[0].distance(regions[1]) >= 1.0 - 1e-6
