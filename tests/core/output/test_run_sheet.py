"""The run sheet: what is on it, how many pages, and that it is the same each time."""

import io
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
from reportlab.pdfgen.canvas import Canvas

from core.errors import Cancelled
from core.finishing.paints import Finishing, Workday, starting_paint
from core.finishing.steps import PaintPlan
from core.finishing.timetable import timetable
from core.job.cautions import LAST_WORD, cautions_for
from core.job.datum import with_datum
from core.job.fitting import place_job, with_piece, with_place
from core.job.job import Job
from core.job.job_code import find_job_files, job_code
from core.job.job_file import save_job
from core.job.painting.day import job_timetable, stage_burns
from core.job.painting.decisions import with_way
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.output.export import proof_of
from core.output.opening import open_job
from core.output.run_sheet.beside import Beside, handed_files
from core.output.run_sheet.face_picture import FacePicture
from core.output.run_sheet.fonts import Fonts, fonts_for
from core.output.run_sheet.pictures import Picture
from core.output.run_sheet.writing import run_sheet
from core.sheet.offcuts import Piece
from core.sheet.placement import Flaw
from tests.quickest import quickest_s

SAMPLES = Path(__file__).parents[3] / "sample_jobs"


@cache
def sample(name: str) -> Plan:
    return prepare(open_job(SAMPLES / name))


@cache
def sheet_of(plan: Plan) -> tuple[bytes, PaintPlan]:
    return made_sheet(plan)


def made_sheet(plan: Plan) -> tuple[bytes, PaintPlan]:
    painting = paint_plan(plan)
    return run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing)), painting


def words_of(data: bytes) -> tuple[str, int]:
    """(all text with single spaces, pages)."""
    document = pypdfium2.PdfDocument(data)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    return " ".join(text.replace("\ufffe", "").split()), len(document)


def test_how_the_file_was_read_back_stands_on_the_sheet() -> None:
    plan = sample("crest.svg")
    painting = paint_plan(plan)
    proof = proof_of(plan)
    assert proof is not None
    data = run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing), read_back=proof)
    assert f"The machine's file, {proof.words}." in words_of(data)[0]
    assert "read back" not in words_of(sheet_of(plan)[0])[0]


def with_finishing(plan: Plan, finishing: Finishing) -> Plan:
    return replace(plan, job=replace(plan.job, finishing=finishing))


def test_the_crest_on_three_pages_at_most() -> None:
    plan = sample("crest.svg")
    data, painting = sheet_of(plan)
    text, pages = words_of(data)
    assert 1 <= pages <= 3
    assert "COATED BACK UP" in text
    assert plan.job.stock.name in text
    assert "300 x 200 x 3 mm" in text
    assert "top right corner of the front lies top left on the bed" in text
    for layer in ("Fill", "Cut"):
        assert layer in text
    assert "600 LPI" in text and "20 %" in text and "800" in text
    assert job_code(plan.job) in text
    for caution in cautions_for(plan.job):
        assert caution.message in text
    assert LAST_WORD in text
    for step in painting.steps:
        assert f"{step.number} {step.area.paint.name}" in text
    assert "Timetable" in text and "cured, may be handled" in text
    assert "Tight places" in text
    assert f"page 1 of {pages}" in text


def test_the_same_job_makes_the_same_sheet() -> None:
    plan = sample("crest.svg")
    assert made_sheet(plan)[0] == sheet_of(plan)[0]


def test_what_is_seen_at_the_machine_has_an_empty_box_whatever_was_ticked() -> None:
    plan = sample("room-key-tags.svg")
    there = frozenset(one.code for one in plan.cautions if one.at_machine)
    assert {"right-face", "focus", "extinguisher", "never-unattended", "enclosure", "film"} <= there
    ticked = replace(plan, job=replace(plan.job, cautions_ticked=there))
    assert sheet_of(ticked)[0] == sheet_of(plan)[0]
    text, _ = words_of(sheet_of(plan)[0])
    assert text.index("Before the files went out") < text.index("At the machine: tick here, by hand")


def test_ticks_are_printed_and_leave_the_code_alone() -> None:
    plan = sample("room-key-tags.svg")
    ticked = replace(plan, job=replace(plan.job, cautions_ticked=frozenset({"film", "scrap"})))
    assert sheet_of(ticked)[0] != sheet_of(plan)[0]
    assert job_code(ticked.job) == job_code(plan.job)


@pytest.mark.parametrize("name", ["bracket-plate.dxf", "letter-set.svg", "ornament-mirror.svg", "tide-clock.svg"])
def test_other_samples(name: str) -> None:
    text, pages = words_of(sheet_of(sample(name))[0])
    assert pages <= 3
    assert name in text


def test_without_paint_there_is_only_the_burning_part() -> None:
    plan = sample("room-key-tags.svg")
    shape_colours = {shape.fill for shape in plan.drawing.shapes if shape.fill}
    bare = Finishing(paint_of_colour=tuple((colour, "bare") for colour in sorted(shape_colours)))
    text, pages = words_of(sheet_of(with_finishing(plan, bare))[0])
    assert pages == 1
    assert "Paint, from the back" not in text


def test_bonding_and_a_date_are_printed() -> None:
    plan = sample("room-key-tags.svg")
    chosen = Finishing(
        joint="mirror coat", adhesive="transfer tape", workday=Workday(start="2026-03-02T09:00"), pieces=12
    )
    text, pages = words_of(sheet_of(with_finishing(plan, chosen))[0])
    assert "transfer tape on mirror coat: suits" in text
    assert "Mon 2 Mar, 09:00" in text
    assert "pieces 1 to 12" in text
    assert "first 8 pieces" in text
    assert pages <= 3


def test_names_in_any_script_are_printed() -> None:
    plan = sample("room-key-tags.svg")
    named = replace(starting_paint("Тёмно-синяя <b>&", "#222222"), conditions="Ω")
    shape_ids = [shape.id for shape in plan.drawing.shapes]
    finishing = Finishing(paints=(named,), paint_of=tuple((shape, named.name) for shape in shape_ids))
    text, _ = words_of(sheet_of(with_finishing(plan, finishing))[0])
    if fonts_for(named.name) != Fonts():  # a machine without fonts has no letters to print
        assert named.name in text


def test_the_code_finds_the_job_file_again(tmp_path) -> None:
    job: Job = sample("room-key-tags.svg").job
    other = replace(job, turn="endways")
    assert job_code(job) != job_code(other)
    save_job(job, tmp_path / "tags.tain")
    save_job(other, tmp_path / "other.tain")
    (tmp_path / "broken.tain").write_bytes(b"PK nothing")
    paths = sorted(tmp_path.glob("*.tain"))
    assert find_job_files(f" {job_code(job).lower()} ", paths) == (tmp_path / "tags.tain",)
    assert find_job_files("AAAA-AAAA", paths) == ()


ELL = ((0.0, 0.0), (360.0, 0.0), (360.0, 150.0), (150.0, 150.0), (150.0, 260.0), (0.0, 260.0))
HOLE = ((60.0, 200.0), (80.0, 200.0), (80.0, 220.0), (60.0, 220.0))


def on_an_l() -> tuple[Plan, Piece]:
    scratch = Flaw(kind="line", points=((250.0, 20.0), (300.0, 60.0)), width_mm=2.0)
    job = sample("house-number.svg").job
    piece = Piece(
        stock=job.stock.name, thickness_mm=3.0, outline=(ELL, HOLE), film_front="paper", where="shelf 2",
        flaws=(scratch,),
    )  # fmt: skip
    job = replace(with_piece(job, piece, "id", job.stock), stop_corner="bottom left")
    return prepare(with_place(job, place_job(prepare(job)))), piece


def test_a_flawed_l_is_drawn_as_it_is_with_its_label_and_the_edges_at_the_stop() -> None:
    plan, piece = on_an_l()
    painting = paint_plan(plan)
    beside = Beside(label="R7", piece=piece, files=handed_files(plan, painting))
    data = run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing), beside=beside)
    text, _ = words_of(data)
    assert "Piece R7, shelf 2. Film: front paper, back unknown." in text
    assert "the sheet's corner there is cut away" in text and "Black corner" not in text
    assert "the left edge from 110 to 260 mm and the bottom edge from 210 to 360 mm" in text
    assert "house-number.svg" in text and "house-number.dxf" in text and text.count("read back:") == 2


def test_the_outline_of_an_l_is_not_closed_to_a_box() -> None:
    """Rendered by PDFium, the front has ink where the L's inner corner lies and none where the box would go on."""
    plan, _ = on_an_l()
    picture = FacePicture(plan, bed=False, width=360.0, height=260.0)
    page = io.BytesIO()
    canvas = Canvas(page, pagesize=(380.0, 280.0))
    picture.drawOn(canvas, 10.0, 10.0)
    canvas.save()
    dark = np.asarray(pypdfium2.PdfDocument(page.getvalue())[0].render(scale=1.0).to_pil().convert("L")) < 128

    def ink(x_mm: float, y_mm: float) -> bool:
        row, column = round(10 + y_mm), round(10 + x_mm)
        return bool(dark[row - 1 : row + 2, column - 1 : column + 2].any())

    assert ink(0, 200) and ink(250, 150) and ink(150, 200) and ink(70, 200)  # edges, and the hole's rim
    assert not ink(360, 200) and not ink(250, 260)  # the box round it
    assert ink(275, 40)  # the scratch


def test_thousands_of_rings_are_drawn_ring_by_ring() -> None:
    """Taken at once, 10,000 of these took over ten minutes and 20 GB."""
    angles = np.linspace(0.0, 2.0 * np.pi, 100, endpoint=False)
    radii = 1.6 + 0.3 * np.sin(9 * angles)
    star = np.column_stack((radii * np.cos(angles), radii * np.sin(angles)))
    places = np.array([(5 + 4.6 * (i % 125), 5 + 4.6 * (i // 125)) for i in range(3000)])
    region = shapely.multipolygons(shapely.polygons(star[None] + places[:, None]))
    picture = Picture((0.0, 0.0, 600.0, 400.0), 400.0, 300.0)

    def draw() -> None:
        picture.canv = Canvas(io.BytesIO())
        picture.region(region, fill=0.2)

    assert quickest_s(draw, within_s=5.0) <= 5.0
    assert sum(line.count(" m ") for line in picture.canv._code) == 3000


def test_the_run_sheet_can_be_given_up() -> None:
    plan, told = sample("crest.svg"), []

    def progress(share: float, doing: str) -> None:
        told.append(share)
        if share > 0.2:
            raise Cancelled

    painting = paint_plan(plan)
    with pytest.raises(Cancelled):
        run_sheet(plan, painting, timetable(painting.steps, plan.job.finishing), progress=progress)
    assert told == sorted(told) and told[0] < 0.2 < told[-1] < 1.0


def test_painting_goes_on_below_what_spills_over_from_the_first_part() -> None:
    """Pins and later burns need more cautions than a page holds: no page is left nearly empty."""
    job = open_job(SAMPLES / "crest.svg")
    job = with_datum(job, replace(job.datum, kind="pins", places=()))
    plan = prepare(with_way(next(plan_steps(job)), "navy", "burn"))
    painting = paint_plan(plan)
    table = job_timetable(plan, painting, stage_burns(plan, painting))
    document = pypdfium2.PdfDocument(run_sheet(plan, painting, table))
    pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
    assert len(pages) == 3
    assert "On the sheet, none of these" in pages[1] and "Paint, from the back, in this order" in pages[1]
    masks = next(page for page in pages if "Masks, as seen from the back" in page)
    assert "mm to cut" in masks  # with the words below the pictures
