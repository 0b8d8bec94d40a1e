"""``tain trouble`` as people type it."""

import json

import pytest

from app.command_line import main
from core.job.job_file import load_job
from core.shop_book.cautions_kept import keep_caution, known_cautions
from core.shop_book.store import open_book
from core.trouble.causes.caution import Condition, LearnedCaution

SIGN = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<rect x="1" y="1" width="58" height="38" fill="none" stroke="#c00" stroke-width="0.1"/>
<rect x="8" y="8" width="20" height="12" fill="#f6f5f0"/></svg>"""


@pytest.fixture
def sign(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    path = tmp_path / "sign.svg"
    path.write_text(SIGN)
    return path


def told(capsys, *words) -> dict:
    assert main(["trouble", *map(str, words), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_job_s_own_figures_speak(sign, capsys):
    found = told(capsys, sign, "--seen", "cracked", "--noted", "between-coats-min=5", "--looked", "lower-soft=yes")
    top = found["causes"][0]
    assert top["code"] == "recoat-too-early" and top["likely"] == "most likely"
    assert any("5 min between coats were noted" in one["words"] for one in top["for"])
    assert top["change"]["words"].startswith("white")
    assert all(cause["source"] for cause in found["causes"])


def test_lines_and_a_change_for_next_time(sign, tmp_path, capsys):
    out = tmp_path / "next.tain"
    wide = tmp_path / "wide.tain"
    assert main(["prepare", str(sign), "-o", str(wide), "--lpi", "300"]) == 0
    capsys.readouterr()
    found = told(capsys, wide, "--seen", "stripes", "--change", "pitch-too-wide", "-o", out)
    assert found["causes"][0]["code"] == "pitch-too-wide"
    pitches = [layer.recipe.pitch_mm for job in (load_job(wide), load_job(out)) for layer in job.layers[:1]]
    assert pitches[1] < 0.064 < pitches[0]


def test_without_a_job_and_with_a_caution_of_the_shop(sign, capsys):
    assert {one["code"] for one in told(capsys, "--seen", "bled")["findings"]} == {"no-job"}
    soon = Condition(figure="wait_min", relation="at most", value=30)
    caution = LearnedCaution(
        about="paint", thing="white", fault="cracked", cause="coat-too-thick", when=(soon,), trial="ABCDE"
    )
    with open_book() as book:
        keep_caution(book, caution)
        keep_caution(book, caution)
    assert known_cautions() == (caution,)
    top = told(capsys, sign, "--seen", "cracked")["causes"][0]
    assert top["code"] == "coat-too-thick"
    assert "trial ABCDE" in top["for"][0]["words"]


@pytest.mark.parametrize(
    "words",
    [
        ("--seen", "zebra"),
        ("--list", "zebra"),
        ("--seen", "cracked", "--noted", "warmth=3"),
        ("--seen", "cracked", "--looked", "zebra=yes"),
        ("no-such-file.tain", "--seen", "cracked"),
    ],
)
def test_what_means_nothing_is_one_line_and_2(sign, capsys, words):
    assert main(["trouble", *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_nothing_to_change_is_1(sign, tmp_path, capsys):
    words = ("trouble", str(sign), "--seen", "pinholes", "--change", "dust-in-paint", "-o", str(tmp_path / "x.tain"))
    assert main(words) == 1
    assert not (tmp_path / "x.tain").exists()


def test_the_list_is_searched(sign, capsys):
    assert main(["trouble", "--list", "scratches"]) == 0
    assert capsys.readouterr().out.startswith("coat-marks")


def test_a_trial_from_plan_to_caution(sign, tmp_path, capsys):
    folder = tmp_path / "trial"
    words = [sign, "--seen", "cracked", "--factor", "wait_min=10,60", "--repeats", 4, "--seed", 3, "--fit", "200x150"]
    plan = ["trial", "plan", *map(str, words), "--start", "2026-12-01T09:00", "-o", str(folder), "--json"]
    assert main(plan) == 0
    trial = json.loads(capsys.readouterr().out)
    code = trial["code"]
    assert {path.suffix for path in folder.iterdir()} == {".svg", ".dxf", ".json", ".pdf", ".ics"}
    assert main(plan) == 2  # the files are there
    capsys.readouterr()
    assert main([*plan, "--force"]) == 0
    capsys.readouterr()
    assert main(["trial", "tick", code, "burn", "--at", "2026-12-01T09:20"]) == 0
    assert "[x]" in capsys.readouterr().out
    bad = {one["patch"]["label"] for one in trial["patches"] if one["levels"] == ["10"]}
    results = [f"{one['patch']['label']}={4 if one['patch']['label'] in bad else 0}" for one in trial["patches"]]
    assert main(["trial", "read", code, *results[:3], "--json"]) == 0
    half = json.loads(capsys.readouterr().out)
    assert not half["complete"] and len(half["unread"]) == 5 and half["cautions"] == []
    assert main(["trial", "read", code, *results[3:], "--json"]) == 0
    whole = json.loads(capsys.readouterr().out)
    assert whole["factors"][0]["found"] and whole["factors"][0]["p"] == pytest.approx(1 / 70)
    caution = whole["cautions"][0]
    assert caution["cause"] == "recoat-too-early" and caution["trial"] == code
    assert caution["when"] == [{"figure": "wait_min", "relation": "at most", "value": 10.0}]
    assert known_cautions()[0].trial == code
    assert main(["trial", "list", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["trials"][0]["found"] == ["wait_min"]
    assert main(["trial", "more", code, "--repeats", "2", "-o", str(folder)]) == 0
    assert (folder / f"trial-{code}-2.bed.svg").exists()


def test_a_trial_about_dose_teaches_the_stock(sign, tmp_path, capsys):
    words = ["--bare", "--seen", "scan-lines", "--factor", "lpi=300,600", "--repeats", "3", "--scale", "fill"]
    assert main(["trial", "plan", *words, "-o", str(tmp_path / "dose"), "--json"]) == 0
    trial = json.loads(capsys.readouterr().out)
    results = [f"{one['patch']['label']}={'1' if one['levels'] == ['0.0847'] else 'clean'}" for one in trial["patches"]]
    assert main(["trial", "read", trial["code"], *results, "--json"]) == 0
    read = json.loads(capsys.readouterr().out)
    assert read["factors"][0]["found"], read
    assert read["learned"] == ["mirrored acrylic 3 mm"], read["not_learned"]
    assert main(["trial", "read", trial["code"], "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["learned"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("plan", "--paint", "no such paint", "--factor", "coats=1,2"),
        ("plan", "--paint", "white spray", "--factor", "zebra=1,2"),
        ("plan", "--paint", "white spray", "--factor", "coats=1,2", "--fit", "0x0"),
        ("plan", "--paint", "white spray", "--factor", "coats=1,2", "--expect", "coats=up"),
        ("plan", "--paint", "white spray", "--factor", "paint=a,b", "--expect", "paint=low"),
        ("plan", "--paint", "white spray", "--factor", "coats=1,2", "--limit", "9"),
        ("plan", "--paint", "white spray", "--factor", "coats=1,2", "--start", "tomorrow"),
        ("read", "ZZZZZ", "A1=0"),
        ("tick", "ZZZZZ", "burn"),
    ],
)
def test_trials_that_mean_nothing_are_2_and_leave_no_file(sign, tmp_path, capsys, words):
    folder = tmp_path / "none"
    assert main(["trial", *words, *(["-o", str(folder)] if words[0] == "plan" else [])]) in (1, 2)
    assert capsys.readouterr().err.count("\n") == 1
    assert not folder.exists() or not list(folder.iterdir())


def test_what_was_found_speaks_up_in_the_next_job_that_would_repeat_it(sign, tmp_path, capsys):
    soon = Condition(figure="wait_min", relation="at most", value=30)
    found = {"about": "paint", "thing": "white", "fault": "cracked", "cause": "recoat-too-early", "trial": "ABCDE"}
    with open_book() as book:
        keep_caution(book, LearnedCaution(when=(soon,), **found))
        keep_caution(book, LearnedCaution(about="stock", thing="another stock", fault="frosted", cause="dose-too-high"))
    assert main(["prepare", str(sign), "-o", str(tmp_path / "a.tain"), "--json"]) == 0
    findings = json.loads(capsys.readouterr().out)["findings"]
    told = [one["message"] for one in findings if one["code"] == "came-out-wrong-before"]
    assert len(told) == 1 and "at most 30 min between coats" in told[0] and "trial ABCDE" in told[0]
    assert not [one for one in findings if one["code"] == "burned-wrong-before"]
    assert main(["paint", str(sign)]) == 0
    assert told[0] in capsys.readouterr().out
    change = ["--seen", "cracked", "--paint", "white", "--noted", "between-coats-min=5", "--change", "recoat-too-early"]
    assert main(["trouble", str(sign), *change, "-o", str(tmp_path / "b.tain")]) == 0
    capsys.readouterr()
    for name, still in (("a.tain", True), ("b.tain", False)):  # 20 min would repeat it, 30 is at most 30, 45 would not
        job = load_job(tmp_path / name)
        waits = {paint.between_coats_min for paint in job.finishing.paints}
        assert main(["prepare", str(tmp_path / name), "-o", str(tmp_path / f"{name}.svg"), "--json"]) == 0
        codes = {one["code"] for one in json.loads(capsys.readouterr().out)["findings"]}
        assert ("came-out-wrong-before" in codes) is (still or min(waits) <= 30)


def test_steps_ticked_off_in_the_job_file_speak(sign, tmp_path, capsys):
    job = tmp_path / "sign.tain"
    assert main(["prepare", str(sign), "-o", str(job)]) == 0
    for coat, clock in ((1, "09:03"), (2, "09:10")):
        assert main(["paint", str(job), "--tick", f"White: coat {coat}", "--at", f"2026-12-01T{clock}"]) == 0
    capsys.readouterr()
    words = [one["words"] for one in told(capsys, job, "--seen", "cracked")["causes"][0]["for"]]
    assert any("4 min between coats were ticked off, 20 asked" in one for one in words)
    for bad in (
        ("--tick", "zebra"),
        ("--tick", "white: coat 1", "--at", "noon"),
        ("--tick", "white: coat 1", "--piece", "9"),
    ):
        assert main(["paint", str(job), *bad]) == 2
    assert main(["paint", str(sign), "--tick", "white: coat 1"]) == 2


def test_a_cause_is_remembered_by_hand_and_a_fault_is_kept(sign, tmp_path, capsys):
    photo = tmp_path / "a.jpg"
    photo.touch()
    words = [sign, "--seen", "cracked", "--paint", "white", "--noted", "between-coats-min=25", "--photo", photo]
    told(capsys, *words, "--remember", "recoat-too-early", "--keep")
    (caution,) = known_cautions()
    assert (caution.about, caution.thing, caution.trial) == ("paint", "white", "")
    assert caution.when == (Condition(figure="wait_min", relation="at most", value=25.0),)
    with open_book() as book:
        kept = book.values("fault")[0]
    assert kept.faults == ("cracked",) and kept.noted.photos == (str(photo),) and kept.job == "sign"
    assert main(["prepare", str(sign), "-o", str(tmp_path / "a.svg"), "--json"]) == 0  # its white waits 20 min
    codes = {one["code"] for one in json.loads(capsys.readouterr().out)["findings"]}
    assert "came-out-wrong-before" in codes
    assert main(["trouble", "--seen", "cracked", "--remember", "recoat-too-early"]) == 1
    told(capsys, sign, "--seen", "scan-lines", "--remember", "pitch-too-wide")
    assert {one.about for one in known_cautions()} == {"paint", "stock"}


def test_a_trial_is_laid_on_a_piece_of_the_rack(sign, tmp_path, capsys):
    assert main(["rack", "add", "A4", "--size", "150x100x3", "--stock", "mirrored acrylic 3 mm"]) == 0
    capsys.readouterr()
    words = [
        "--paint",
        "white spray",
        "--factor",
        "wait_min=10,60",
        "--piece",
        "A4",
        "-o",
        str(tmp_path / "t"),
        "--json",
    ]
    assert main(["trial", "plan", *words]) == 0
    assert json.loads(capsys.readouterr().out)["sizes_mm"] == [[150.0, 100.0]]
    assert main(["trial", "plan", "--paint", "white spray", "--factor", "coats=1,2", "--piece", "Z", "-o", "x"]) == 2


def test_a_trial_s_document_carries_it_to_another_shop(sign, tmp_path, capsys, monkeypatch):
    words = ["--paint", "white spray", "--factor", "wait_min=10,60", "--repeats", "2", "--seed", "1", "--json"]
    words += ["-o", str(tmp_path / "t")]
    assert main(["trial", "plan", *words]) == 0
    code = json.loads(capsys.readouterr().out)["code"]
    document = tmp_path / "t" / f"trial-{code}.json"
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "another"))
    assert main(["trial", "read", code]) == 2
    capsys.readouterr()
    for result, left in (("A1=bad", 3), ("A2=clean", 2)):  # what the book has by now counts, not the document
        assert main(["trial", "read", str(document), result, "--json"]) == 0
        assert len(json.loads(capsys.readouterr().out)["unread"]) == left
    document.write_text("{}")
    assert main(["trial", "read", str(document)]) == 2
    assert main(["trial", "read", str(tmp_path / "none.json")]) == 2


@pytest.mark.parametrize("more", [(), ("--change", "pitch-too-wide", "-o", "next.tain"), ("--keep",)])
def test_a_job_without_what_is_seen_is_not_passed_over(sign, capsys, more):
    """The list came, and the change that was asked for was dropped without a word."""
    assert main(["trouble", str(sign), *more]) == 2
    told = capsys.readouterr()
    assert "--seen" in told.err and told.out == ""


def test_all_that_can_be_seen_is_listed_without_a_job(sign, capsys):
    assert main(["trouble"]) == 0
    assert "scan-lines" in capsys.readouterr().out
