"""``tain day``: jobs that share hands and machine, as the shell sees them."""

import json
import shutil
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import icalendar
import pytest

from app.command_line import main
from core.job.prepare import prepare
from core.output.opening import open_job

SAMPLES = Path(__file__).parents[3] / "sample_jobs"


@pytest.fixture(autouse=True)
def _folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("crest.svg", "house-number.svg"):
        shutil.copy(SAMPLES / name, tmp_path)


def done(capsys, *words):
    assert main(["day", *words]) == 0
    return capsys.readouterr().out


def test_two_jobs_never_take_hands_or_the_machine_at_once(capsys):
    out = done(capsys, "crest.svg", "house-number.svg", "--start", "2026-03-02T08:00", "--json", "-o", "day.ics")
    tasks = json.loads(out)["tasks"]
    assert {task["job"] for task in tasks} == {"crest", "house-number"}
    at = sorted((datetime.fromisoformat(task["start"]), datetime.fromisoformat(task["end"])) for task in tasks)
    assert all(before[1] <= after[0] for before, after in pairwise(at))  # burns are watched
    for job, name in (("crest", "crest.svg"), ("house-number", "house-number.svg")):
        burn = next(task for task in tasks if task["job"] == job and task["kind"] == "burn")
        took_s = (datetime.fromisoformat(burn["end"]) - datetime.fromisoformat(burn["start"])).total_seconds()
        assert took_s == pytest.approx(prepare(open_job(Path(name))).time_s, abs=0.01)
        assert all(task["start"] >= burn["end"] for task in tasks if task["job"] == job and task is not burn)
    events = icalendar.Calendar.from_ical(Path("day.ics").read_bytes()).walk("VEVENT")
    assert any("crest, " in str(event["SUMMARY"]) for event in events)


def test_hands_that_leave_the_machine_do_other_work_meanwhile(capsys):
    words = ("crest.svg", "house-number.svg", "--start", "2026-03-02T08:00", "--json")
    watched, left = (json.loads(done(capsys, *words, *more)) for more in ((), ("--hands-leave",)))
    assert max(left["done"]) <= max(watched["done"])
    assert not any(during_a_burn(watched["tasks"])) and any(during_a_burn(left["tasks"]))


def during_a_burn(tasks):
    burns = [task for task in tasks if task["kind"] == "burn"]
    return [task for burn in burns for task in tasks if burn["start"] < task["start"] < burn["end"]]


def test_one_job_twice_and_words_for_people(capsys):
    text = done(capsys, "crest.svg", "crest.svg", "--pieces", "2")
    assert "crest (2), burn 1" in text and "pieces 1 to 2" in text and "crest, cured, may be handled" in text


@pytest.mark.parametrize("words", [("none.svg",), ("crest.svg", "-o", "a.ics"), ("crest.svg", "--start", "soon"),
                                   ("crest.svg", "--pieces", "0")])  # fmt: skip
def test_what_makes_no_sense_is_said_in_a_line(capsys, words):
    assert main(["day", *words]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and not Path("a.ics").exists()
