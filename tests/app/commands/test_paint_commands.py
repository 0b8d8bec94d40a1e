"""``tain paint`` and ``tain runsheet`` as they are typed."""

import json
from pathlib import Path

import icalendar
import pytest

from app.command_line import main

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
