"""All files of a job, laid over each other by their datum alone, show the same within 0.01 mm."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.errors import JobError
from core.finishing.paints import MaskOptions
from core.finishing.timetable import timetable
from core.job.datum import with_datum
from core.job.jigs import pin_jobs
from core.job.job import new_job
from core.job.job_file import job_file_bytes, job_from_bytes
from core.job.painting.planning import paint_plan
from core.job.prepare import plan_steps, prepare
from core.output.export import export_bytes
from core.output.mask_files import mask_files
from core.output.opening import job_from_artwork
from core.output.run_sheet.writing import run_sheet
from core.sheet.datum import Datum
from core.sheet.placement import Placement, Repeat
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_GLASS_4
from tests.core.finishing.layouts import svg_of
from tests.core.output.laid_files import farthest_mm, laid, read, rigid

LAYOUT = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 30.0, 30.0, 8.0)]
CREST = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"
ODD = Placement(x_mm=120.0, y_mm=30.0, rotation_deg=23.0, centred=False)
ALLOWED_MM = 0.01


def job_of(turn, datum, *, placement=None, repeats=()):
    job = replace(new_job(ArtworkSource(name="layout.svg", data=svg_of(LAYOUT))), turn=turn, repeats=repeats)
    job = job if placement is None else replace(job, placement=placement)
    return with_datum(job, datum)


def datum_points(kind, lines, edge_layer):
    """What a maker can lay a file by: marks, holes, or the edge's outermost places."""
    if kind == "part edge":
        x0, y0, x1, y1 = lines.region(edge_layer).bounds
        return np.array([(x0, y0), (x1, y1)])
    return lines.circles("datum marks" if kind == "marks" else "pin holes")


def files_of(plan):
    """(name, bytes) of the bed files, of all masks."""
    painting = paint_plan(plan)
    bed = [(f"bed{suffix}", export_bytes(plan, suffix)) for suffix in (".svg", ".dxf")]
    masks = [one for suffix in (".svg", ".dxf") for one in mask_files(plan, painting, suffix)]
    return painting, bed, [(one.name, one.data) for one in masks]


def seen_from_the_back(region, job):
    """Turned over by hand: x or y counted from the other side."""
    width, height = job.sheet.width_mm, job.sheet.height_mm
    if job.turn == "sideways":
        return shapely.transform(region, lambda points: points * (-1, 1) + (width, 0))
    return shapely.transform(region, lambda points: points * (1, -1) + (0, height))


CASES = [
    (turn, kind, placement, repeats)
    for turn in ("sideways", "endways")
    for kind in ("part edge", "marks", "pins")
    for placement, repeats in ((None, ()), (ODD, ()), (ODD, (Repeat(x_mm=85.0, y_mm=4.0, rotation_deg=8.0),)))
]


@pytest.mark.parametrize(("turn", "kind", "placement", "repeats"), CASES)
def test_all_files_lie_over_each_other_by_their_datum(turn, kind, placement, repeats):
    job = job_of(turn, Datum(kind=kind, pin_mm=3.0), placement=placement, repeats=repeats)
    plan = prepare(job)
    assert not [one for one in plan.findings if one.severity == "problem"]
    painting, bed_files, masks = files_of(plan)
    bed = read(*bed_files[0])
    target = datum_points(kind, bed, "cut")
    parts = bed.region("cut")
    assert len(masks) == 4 and len(target) == (2 if kind == "part edge" else 3)
    for name, data in [*bed_files, *masks]:
        lines = read(name, data)
        is_bed = name.startswith("bed")
        points = datum_points(kind, lines, "cut" if is_bed else "film edge")
        turned, shift, left = rigid(points, target, in_order=kind == "part edge")
        assert left < ALLOWED_MM
        outline = laid(lines.region("cut" if is_bed else "piece outline"), turned, shift)
        assert farthest_mm(outline, parts) < ALLOWED_MM
        if is_bed:
            assert farthest_mm(laid(lines.region("fill"), turned, shift), bed.region("fill")) < ALLOWED_MM
            continue
        (step,) = [one for one in painting.steps if name.startswith(f"mask-{one.number}-")]
        opening = laid(lines.region("cut"), turned, shift)
        own = seen_from_the_back(step.area.region, job)
        assert shapely.difference(own, opening.buffer(ALLOWED_MM)).area < 1e-9
        waiting = [seen_from_the_back(one.area.region, job) for one in painting.steps if one.number > step.number]
        assert shapely.intersection(shapely.union_all(waiting), opening.buffer(-ALLOWED_MM)).area < 1e-9


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_the_board_of_pins_lies_as_the_bed_file_and_the_film_do(turn):
    job = job_of(turn, Datum(kind="pins", pin_mm=3.0), placement=ODD)
    plan = prepare(job)
    bed = read("bed.svg", export_bytes(plan, ".svg")).circles("pin holes")
    pins, in_sheet, board = pin_jobs(plan, CLEAR_ACRYLIC_3, pin_mm=9.0)  # the job's own pins count
    assert pins.pin_mm == 3.0 and pins.places == plan.datum.places
    for one in (in_sheet, board):
        there = read("x.svg", export_bytes(prepare(one), ".svg")).circles("cut")
        assert rigid(there, bed)[2] < ALLOWED_MM
        assert np.hypot(*(there[:, None] - bed[None]).T).min(axis=0).max() < ALLOWED_MM  # the same place on the bed


@pytest.mark.parametrize("kind", ["part edge", "marks", "pins"])
def test_an_export_read_back_has_the_same_datum_and_burns_it_once(kind):
    plan = prepare(job_of("sideways", Datum(kind=kind, pin_mm=3.0, marks_burned="cleared"), placement=ODD))
    for suffix in (".svg", ".dxf"):
        data = export_bytes(plan, suffix)
        again = prepare(job_from_artwork(ArtworkSource(name=f"out{suffix}", data=data)))
        assert again.job.datum.kind == kind and again.datum.places == plan.datum.places
        first, second = (read(f"x{suffix}", one) for one in (data, export_bytes(again, suffix)))
        assert {name: len(lines) for name, lines in first.layers.items()} == {
            name: len(lines) for name, lines in second.layers.items()
        }


def test_the_run_sheet_and_the_masks_say_what_they_are_laid_by():
    plan = prepare(job_of("endways", Datum(kind="marks"), placement=ODD))
    painting, _, masks = files_of(plan)
    document = pypdfium2.PdfDocument(run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing)))
    words = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())
    assert "three marks in the waste" in words and "Lay film by the three marks" in words
    x, y = plan.datum.places[0]
    assert f"{x:.1f} / {y:.1f}" in words
    for name, data in masks:
        text = data.decode()
        assert "this side up" in text and "laid by: marks" in text and "turned endways" in text, name


def test_a_job_keeps_its_datum_and_one_without_keeps_its_bytes():
    job = job_of("sideways", Datum(kind="pins", places=((5.0, 5.0), (290.0, 190.0), (5.0, 190.0))))
    assert job_from_bytes(job_file_bytes(job), name="job") == job
    assert b"datum" not in job_file_bytes(job_of("sideways", Datum()))


def test_no_room_for_a_datum_stops_the_job_and_says_what_to_do():
    tight = replace(job_of("sideways", Datum(kind="pins")), placement=Placement(centred=True))
    tight = replace(tight, sheet=replace(tight.sheet, width_mm=72.0, height_mm=72.0))
    plan = next(plan_steps(tight))
    (found,) = [one for one in plan.findings if one.code == "no-datum"]
    assert found.severity == "problem" and "choose the part's edge" in found.message
    with pytest.raises(JobError, match="no room in the waste"):
        export_bytes(prepare(tight), ".svg")
    glass = next(plan_steps(replace(job_of("sideways", Datum(kind="pins")), stock=MIRRORED_GLASS_4)))
    assert "can't have holes cut" in next(one.message for one in glass.findings if one.code == "no-datum")


def test_film_by_the_edge_is_the_part_and_by_marks_holds_them_with_a_border():
    crest = new_job(load_source(CREST))
    by_edge, by_marks = (
        paint_plan(next(plan_steps(with_datum(crest, Datum(kind=kind))))) for kind in ("part edge", "marks")
    )
    assert by_edge.ground.film.symmetric_difference(by_edge.colouring.outline).area < 1e-6
    plan = next(plan_steps(with_datum(crest, Datum(kind="marks"))))
    inner = by_marks.ground.film.buffer(-MaskOptions().border_mm, join_style="mitre")
    assert all(inner.buffer(1e-6).contains(shapely.Point(place).buffer(3.0)) for place in plan.datum.places)
