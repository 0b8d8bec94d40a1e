"""``tain stop``, ``backer``, ``opening``, ``cost``, ``rates`` and copies on a piece, as the shell sees them."""

import json

import pytest
from lxml import etree

from core.job.job_file import load_job
from core.job.prepare import plan_steps
from core.shop_book.rack import rack_pieces
from core.shop_book.store import open_book
from tests.app.commands.shell import done, told

PLATE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<rect x="1" y="1" width="58" height="38" fill="none" stroke="#000" stroke-width=".1"/>
<path d="M10 10h20v8h-8v12h-12z" fill="#204080"/></svg>"""
TAG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">
<circle cx="25" cy="25" r="20" fill="none" stroke="#000" stroke-width=".1"/><path d="M20 20h10v10h-10z"/></svg>"""


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plate.svg").write_bytes(PLATE)
    (tmp_path / "tag.svg").write_bytes(TAG)


def add_piece(capsys, name="R1", size="400x200x3", **more):
    words = [word for key, value in more.items() for word in (f"--{key}", value)]
    done(capsys, "rack", "add", name, "--size", size, "--stock", "mirrored acrylic 3", *words)


def wrong(job):
    return [f for f in next(plan_steps(job)).findings if f.code in ("off-sheet", "flaw-shows", "copies-overlap")]


@pytest.mark.parametrize("way", [[], ["--rows"], ["--rows", "--share-cuts"]])
def test_copies_on_a_piece(capsys, tmp_path, way):
    add_piece(capsys)
    words = ("place", "plate.svg", "--piece", "R1", "--copies", "6", "--spacing", "2", *way, "-o", "six.tain")
    report = json.loads(done(capsys, *words, "--json"))
    assert report["piece"] == "R1" and report["laid"] == 6 and report["left_over"] == 0
    job = load_job(tmp_path / "six.tain")
    assert len(job.repeats) == 5 and not wrong(job)
    done(capsys, "rack", "done", "six.tain")
    with open_book() as book:
        assert "R1" not in [name for _, name, _ in rack_pieces(book)]


def test_copies_take_the_smallest_piece_that_serves_or_say_how_many_are_left_over(capsys, tmp_path):
    add_piece(capsys, "large", "600x300x3")
    add_piece(capsys, "middle", "200x100x3")
    add_piece(capsys, "small", "61x41x3")
    assert json.loads(done(capsys, "place", "plate.svg", "--copies", "4", "--json"))["piece"] == "middle"
    assert "holds most" in told(capsys, 1, "place", "plate.svg", "--copies", "99", "--piece", "small")
    told(capsys, 2, "place", "plate.svg", "--copies", "0")


def test_several_designs_on_one_piece_are_jobs_of_their_own(capsys, tmp_path):
    add_piece(capsys)
    done(capsys, "rack", "flaw", "R1", "line", "10,10 40,14")
    out = done(capsys, "place", "plate.svg", "tag.svg", "--piece", "R1", "-o", "a.tain", "-o", "b.tain")
    assert "a.tain" in out and "b.tain" in out
    jobs = [load_job(tmp_path / name) for name in ("a.tain", "b.tain")]
    assert jobs[0].piece_id == jobs[1].piece_id and not wrong(jobs[0]) and not wrong(jobs[1])
    assert "1 piece" not in told(capsys, 2, "place", "plate.svg", "tag.svg", "--piece", "R1", "-o", "a.tain")
    # and both together are marked done
    said = done(capsys, "rack", "done", "a.tain", "b.tain")
    assert "R1 was used: " in said
    with open_book() as book:
        ((_, name, piece),) = rack_pieces(book)
    assert name == "R1-a" and len(piece.outline) >= 1
    assert "R1 " in done(capsys, "rack", "undo", "R1")


def test_stops_for_a_job(capsys):
    assert "wrote corner.svg" in done(capsys, "stop", "corner", "plate.svg", "-o", "corner.svg")
    report = json.loads(done(capsys, "stop", "nest", "plate.svg", "-o", "nest.dxf", "--clearance", "0.1", "--json"))
    # a rectangle turns until its long sides meet the nest, and shifts in what is left: √2 times the clearance
    assert report["off_mm"] == pytest.approx(0.1 * 2**0.5, rel=0.01) and 2 < report["sliver_mm2"] < 6
    assert not report["turns_freely"] and 0.1 < report["turn_deg"] < 0.5
    words = ("stop", "pins", "plate.svg", "-o", "holes.svg", "--board", "board.svg", "--stock", "clear acrylic")
    assert "off its place" in done(capsys, *words)
    circles = [list(etree.parse(name).iter("{*}path")) for name in ("holes.svg", "board.svg")]
    assert [len(found) for found in circles] == [3, 3]
    assert "--board" in told(capsys, 2, "stop", "pins", "plate.svg", "-o", "h.svg")
    told(capsys, 1, "stop", "nest", "plate.svg", "-o", "n.svg", "--stock", "mirrored glass")


def test_a_backer_and_an_opening(capsys):
    report = json.loads(done(capsys, "backer", "plate.svg", "-o", "back.svg", "--margin", "4", "--json"))
    assert report["width_mm"] == pytest.approx(66, abs=0.01) and report["line_mm"] == pytest.approx(2 * (56 + 36))
    assert "cut as drawn" in done(capsys, "opening", "plate.svg", "-o", "open.svg")
    done(capsys, "prepare", "plate.svg", "-o", "kept.tain", "--keep-size")
    assert "cut as drawn" not in done(capsys, "opening", "kept.tain", "-o", "open2.svg", "--clearance", "-0.02")


def test_what_a_job_costs(capsys):
    assert "tain rates" in done(capsys, "cost", "plate.svg")
    done(capsys, "rates", "--machine-per-h", "40", "--setup-min", "3", "--handwork-per-h", "30", "--currency", "EUR")
    assert json.loads(done(capsys, "rates", "--json"))["setup_min"] == 3.0
    told(capsys, 2, "rates", "--margin-pct", "-5")
    add_piece(capsys, price="20")
    done(capsys, "place", "plate.svg", "--piece", "R1", "--copies", "2", "-o", "two.tain")
    report = json.loads(done(capsys, "cost", "two.tain", "--json"))
    assert report["copies"] == 2 and "EUR" in report["words"]
    assert {line["what"] for line in report["lines"]} >= {"sheet", "machine", "paint"}
    assert 0 < next(line["amount"] for line in report["lines"] if line["what"] == "sheet") < 20
    told(capsys, 2, "rates", "--breaks", "ten: 5")
    done(capsys, "rates", "--breaks", "10: 5, 50: 12", "--tax-pct", "20", "--least-charge", "30", "--round-to", "0.05")
    report = json.loads(done(capsys, "cost", "two.tain", "--json"))
    assert [one["quantity"] for one in report["prices"]] == [2, 10, 50]
    assert report["prices"][0]["raised"] and report["prices"][0]["gross"] == pytest.approx(36.0)
    assert report["unpriced"] and all(name in report["words"] for name in report["unpriced"])
    text = done(capsys, "cost", "two.tain", "--quantity", "60")
    assert "60 at " in text and "12 % off" in text and "Not reckoned" in text
