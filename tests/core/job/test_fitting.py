"""Jobs on pieces of the rack: the samples on a scratched offcut of odd shape, marked done, undone."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from core.artwork.reading import load_source
from core.errors import JobError
from core.geometry.affine import apply_to_region
from core.job.burned import cut_away, finished_region, marked_region
from core.job.fitting import job_footprint, place_job, with_piece, with_place
from core.job.job import new_job
from core.job.job_code import job_code
from core.job.job_file import job_file_bytes, job_from_bytes
from core.job.prepare import plan_steps
from core.output.settings_document import check_document, settings_document
from core.sheet.offcuts import Piece, sheet_region
from core.sheet.placement import Flaw
from core.sheet.remainders import remainders
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.rack import add_piece, put_back, rack_pieces, undo_put_back
from core.shop_book.store import open_book

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
ODD = (
    ((0.0, 8.0), (300.0, 0.0), (418.0, 40.0), (430.0, 255.0), (360.0, 300.0), (240.0, 262.0), (60.0, 292.0)),
    ((330.0, 30.0), (350.0, 30.0), (350.0, 50.0), (330.0, 50.0)),
)


def scratch(*points, **more):
    return Flaw(kind="point" if len(points) == 1 else "line", points=points, **more)


FLAWS = (
    scratch((30.0, 30.0), (95.0, 44.0), note="from the rack"),
    scratch((400.0, 100.0), (392.0, 170.0), noted_from="back"),
    scratch((120.0, 280.0), surface="clear face", width_mm=3.0),
    scratch((310.0, 150.0), (330.0, 152.0), surface="clear face", noted_from="back"),
    Flaw(kind="patch", points=((395.0, 230.0), (425.0, 235.0), (410.0, 250.0)), note="cloudy"),
)
OFFCUT = Piece(stock=MIRRORED_ACRYLIC_3.name, thickness_mm=3.0, outline=ODD, flaws=FLAWS, price=12.0)


def plan_of(job):
    return next(plan_steps(job))


def on_the_offcut(name, piece=OFFCUT):
    return with_piece(new_job(load_source(SAMPLES / name)), piece, "piece-1", MIRRORED_ACRYLIC_3)


def test_a_flaw_that_shows_and_an_edge_that_is_crossed_are_found():
    job = on_the_offcut("name-plate.svg")
    job = replace(job, placement=replace(job.placement, x_mm=0.0, y_mm=0.0, centred=False))
    found = [finding for finding in plan_of(job).findings if finding.code in ("off-sheet", "flaw-shows")]
    assert {finding.code for finding in found} == {"off-sheet", "flaw-shows"}
    shows = next(finding for finding in found if finding.code == "flaw-shows")
    assert "from the rack" in shows.message


def test_done_leaves_the_remainders_on_the_rack_and_undone_brings_the_piece_back(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        piece = add_piece(book, "R7", OFFCUT)
        plan = plan_of(with_piece(new_job(load_source(SAMPLES / "name-plate.svg")), OFFCUT, piece.uuid,
                                  MIRRORED_ACRYLIC_3))  # fmt: skip
        plan = plan_of(with_place(plan.job, place_job(plan)))
        left = remainders(OFFCUT, cut_away(plan), marked=marked_region(plan))
        entries = put_back(book, piece.uuid, left, job_name="name plate")
        names = {name for _, name, _ in rack_pieces(book)}
        assert names == {entry.name for entry in entries} and "R7-a" in names
        with pytest.raises(JobError, match="not on the rack"):
            put_back(book, piece.uuid, left, job_name="name plate")
        again = undo_put_back(book, piece.uuid)
        assert again.value == OFFCUT and [name for _, name, _ in rack_pieces(book)] == ["R7"]
        # and once more, with a remainder used in between: the later job has to be undone first
        first, *_ = put_back(book, piece.uuid, left, job_name="name plate")
        nothing_left = remainders(first.value, shapely.box(-1, -1, 999, 999))
        put_back(book, first.uuid, nothing_left, job_name="another")
        with pytest.raises(JobError, match="used or changed"):
            undo_put_back(book, piece.uuid)
        undo_put_back(book, first.uuid)
        with pytest.raises(JobError, match="nothing to undo"):
            undo_put_back(book, first.uuid)
        # the later one undone, the earlier one can be
        assert undo_put_back(book, piece.uuid).value == OFFCUT
        assert [name for _, name, _ in rack_pieces(book)] == ["R7"]


def test_the_job_file_keeps_the_piece_and_old_jobs_keep_their_code():
    job = on_the_offcut("crest.svg")
    assert job_from_bytes(job_file_bytes(job), name="job") == job
    plain = new_job(load_source(SAMPLES / "crest.svg"))
    assert b"piece_id" not in job_file_bytes(plain) and job_code(plain) != job_code(job)
    document = check_document(settings_document(plan_of(job)))
    assert len(document["sheet"]["flaws"]) == len(FLAWS)


def test_the_footprint_does_not_depend_on_where_the_job_lies():
    job = on_the_offcut("house-number.svg")
    turned = replace(job, placement=replace(job.placement, x_mm=200.0, y_mm=20.0, rotation_deg=90.0, centred=False))
    one, two = job_footprint(plan_of(job)), job_footprint(plan_of(turned))
    assert shapely.symmetric_difference(one.burned, two.burned).area < 1e-6
    plan = plan_of(turned)
    assert shapely.symmetric_difference(
        apply_to_region(plan.drawing_to_front, one.finished), finished_region(plan.layers)
    ).area == pytest.approx(0.0, abs=1e-6)


def test_a_sheet_of_another_size_has_no_outline_any_more():
    sheet = on_the_offcut("crest.svg").sheet
    other = replace(sheet, width_mm=500.0)
    assert sheet_region(other).equals(shapely.box(0, 0, 500.0, sheet.height_mm))
