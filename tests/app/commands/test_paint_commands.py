"""``tain paint`` and ``tain runsheet`` as they are typed."""

import json
from pathlib import Path

import icalendar
import pypdfium2
import pytest

from app.command_line import main
from core.finishing.timetable import timetable
from core.job.job_file import load_job
from core.job.painting.decisions import with_way
from core.job.painting.planning import paint_plan
from core.job.prepare import plan_steps, prepare
from core.output.run_sheet.writing import run_sheet

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
CREST = str(SAMPLES / "crest.svg")


def test_paint_tells_order_masks_and_times_as_json(capsys) -> None:
    assert main(["paint", CREST, "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert sorted(report["order"]) == ["coral", "gold", "navy", "sea"]
    assert report["masking_min"] == pytest.approx(report["best_masking_min"])
    assert report["steps"][-1]["mask"] is None
    assert all(step["opening_mm2"] >= step["area_mm2"] for step in report["steps"] if step["mask"])
    assert report["timetable"]["tasks"][0]["kind"] == "mask"
    assert {amount["paint"] for amount in report["amounts"]} == set(report["order"])
    assert report["inspection"] and report["reasons"]


def test_paint_writes_masks_and_a_calendar(capsys, tmp_path) -> None:
    folder = tmp_path / "masks"
    command = ["paint", CREST, "-o", str(folder), "--start", "2026-03-02T09:00", "--order", "navy,sea,coral,gold"]
    assert main(command) == 0
    assert "1 navy" in capsys.readouterr().out
    names = sorted(path.name for path in folder.iterdir())
    expected = [
        f"mask-{n}-{paint}.{kind}" for n, paint in ((1, "navy"), (2, "sea"), (3, "coral")) for kind in ("dxf", "svg")
    ]
    assert names == sorted([*expected, "timetable.ics"])
    events = icalendar.Calendar.from_ical((folder / "timetable.ics").read_bytes()).walk("VEVENT")
    assert min(event["DTSTART"].dt for event in events).isoformat() == "2026-03-02T09:00:00"
    assert main(command) == 2
    assert "exists already" in capsys.readouterr().err
    assert main([*command, "--force"]) == 0


def test_nothing_to_paint_is_said(capsys, tmp_path) -> None:
    artwork = tmp_path / "line.svg"
    artwork.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">'
        '<rect x="5" y="5" width="40" height="40" fill="none" stroke="#000" stroke-width="0.1"/></svg>'
    )
    assert main(["paint", str(artwork)]) == 1
    assert capsys.readouterr().err.startswith("tain: Nothing in this job is painted.")


@pytest.mark.parametrize("wrong", [["--pieces", "0"], ["--start", "tomorrow"]])
def test_wrong_figures_are_one_line(capsys, wrong: list[str]) -> None:
    assert main(["paint", CREST, *wrong]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_runsheet_writes_a_pdf_and_its_code_finds_the_job(capsys, tmp_path) -> None:
    job = tmp_path / "tags.tain"
    assert main(["prepare", str(SAMPLES / "room-key-tags.svg"), "-o", str(job)]) == 0
    capsys.readouterr()
    pdf = tmp_path / "tags.pdf"
    assert main(["runsheet", str(job), "-o", str(pdf)]) == 0
    code = capsys.readouterr().out.strip().split()[-1]
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert main(["runsheet", str(tmp_path), "--find", code]) == 0
    assert capsys.readouterr().out.strip() == str(job)
    assert main(["runsheet", str(tmp_path), "--find", "9999-9999"]) == 1


def test_runsheet_says_what_is_wrong(capsys, tmp_path) -> None:
    assert main(["runsheet", CREST]) == 2
    assert main(["runsheet", CREST, "-o", str(tmp_path / "a.txt")]) == 2
    pdf = tmp_path / "a.pdf"
    pdf.write_text("mine")
    capsys.readouterr()
    assert main(["runsheet", CREST, "-o", str(pdf)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert pdf.read_text() == "mine"


def test_a_job_laid_by_marks_gets_a_burn_file_and_a_cut_that_comes_last(capsys, tmp_path) -> None:
    folder = tmp_path / "marks"
    assert main(["paint", CREST, "-o", str(folder), "--datum", "marks"]) == 0
    told = capsys.readouterr().out
    assert "three marks in the waste" in told and "behind its mask" in told
    names = {path.name for path in folder.glob("*.svg")}
    assert "cut-last.svg" in names and any(name.startswith("burn-1-") for name in names)


def test_a_colour_is_burned_later_only_through_paint_that_is_known(capsys, tmp_path) -> None:
    folder = tmp_path / "burns"
    command = ["paint", CREST, "--datum", "pins", "--burn-later", "sea", "--json"]
    assert main(command) == 0
    report = json.loads(capsys.readouterr().out)
    first, second = report["burns"]
    assert first["colours"] == ["gold"] and second["under"] == ["gold"] and second["wait_h"] == 12.0
    assert second["clearing_dose_j_mm2"] == pytest.approx(0.29) and not second["learned"]
    assert report["stages"][0].startswith("burn 1") and report["datum"]["kind"] == "pins"
    refused = [finding for finding in report["findings"] if finding["code"] == "burn-refused"]
    assert refused and refused[0]["severity"] == "problem"
    assert main([*command, "-o", str(folder)]) == 1
    assert "must not be burned through" in capsys.readouterr().err
    assert not folder.exists()


def test_the_run_sheet_tells_burns_and_paints_by_turns(capsys, tmp_path) -> None:
    job = tmp_path / "sign.tain"
    assert (
        main(["prepare", CREST, "-o", str(job), "--set", "datum.kind=pins", "--set", "masks.film=transfer tape"]) == 0
    )
    first = next(plan_steps(load_job(job)))
    assert first.job.datum.kind == "pins" and first.job.finishing.masks.film == "transfer tape"
    plan = prepare(with_way(first, "navy", "burn"))
    painting = paint_plan(plan)
    table = timetable(painting.steps, plan.job.finishing)
    assert any("Burn 2 comes before navy" in note for note in table.notes)
    by_paint = {task.link.paint: task for task in reversed(table.tasks)}
    last_before = max(task.end for task in table.tasks if task.link.step < 3)
    assert (by_paint["navy"].start - last_before).total_seconds() >= 12 * 3600
    document = pypdfium2.PdfDocument(run_sheet(plan, painting, table))
    words = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())
    for said in ("Burn and paint by turns", "burn 2: navy", "Put the sheet on its pins", "somebody watches for fire",
                 "Wait 12 h of full cure", "cut, last of all"):  # fmt: skip
        assert said in words, said
