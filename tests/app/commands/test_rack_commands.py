"""``tain rack`` and ``tain place`` as the shell sees them."""

import json
from pathlib import Path

import pytest
import shapely
from lxml import etree

from core.job.job_file import load_job
from core.job.prepare import prepare
from core.sheet.offcuts import piece_region
from core.sheet.placement import Flaw
from core.shop_book.rack import rack_pieces
from core.shop_book.store import open_book
from tests.app.commands.shell import done, run, told

PLATE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<rect x="1" y="1" width="58" height="38" fill="none" stroke="#000" stroke-width=".1"/>
<path d="M10 10h20v8h-8v12h-12z"/></svg>"""


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))


@pytest.fixture
def plate(tmp_path):
    path = tmp_path / "plate.svg"
    path.write_bytes(PLATE)
    return path


def test_a_piece_from_the_rack_to_the_job_and_its_rest_back(capsys, plate, tmp_path):
    done(capsys, "rack", "add", "R1", "--corners", "0,0 200,0 200,90 120,120 0,120", "--stock", "mirrored acrylic 3",
         "--price", "8", "--where", "shelf 2", "--film-back", "paper")  # fmt: skip
    done(capsys, "rack", "flaw", "R1", "line", "30,20 60,24", "--from", "back", "--note", "from the saw")
    listed = json.loads(done(capsys, "rack", "list", "--json"))["pieces"]
    assert [piece["name"] for piece in listed] == ["R1"]
    assert listed[0]["area_mm2"] == pytest.approx(200 * 120 - 80 * 30 / 2)
    assert "from the saw" in done(capsys, "rack", "show", "R1")

    out = tmp_path / "placed.tain"
    report = json.loads(done(capsys, "place", plate, "--piece", "R1", "--edge", "0", "-o", out, "--json"))["choices"][0]
    assert report["fits"] and report["shown_mm2"] == 0.0 and 0 < report["cost"] < 8
    job = load_job(out)
    assert job.piece_id == listed[0]["id"] and job.sheet.flaws[0].noted_from == "back"
    assert not [f for f in prepare(job).findings if f.code in ("flaw-shows", "off-sheet")]

    said = done(capsys, "rack", "done", out, "--labels", tmp_path / "labels")
    assert "R1 was used" in said and "R1-a" in said
    label = etree.parse(tmp_path / "labels" / "label-R1-a.svg")
    assert label.getroot().get("width").endswith("mm")
    with open_book() as book:
        ((_, name, piece),) = rack_pieces(book)
    # the rest is what the plate, with half a kerf round it, leaves
    taken = shapely.box(0, 0, 58, 38).buffer(0.075, quad_segs=4).area
    assert name == "R1-a" and piece_region(piece).area == pytest.approx(listed[0]["area_mm2"] - taken, rel=2e-3)

    assert "R1 " in done(capsys, "rack", "undo", "R1")
    with open_book() as book:
        assert [name for _, name, _ in rack_pieces(book)] == ["R1"]


def test_all_pieces_are_ranked_and_nothing_fits_says_by_how_much(capsys, plate):
    assert "no mirrored acrylic" in told(capsys, 1, "place", plate)
    done(capsys, "rack", "add", "small", "--size", "70x37x3", "--stock", "mirrored acrylic 3")
    err = told(capsys, 1, "place", plate)
    assert "small" in err and "2.58 mm larger" in err  # 38.15 mm and twice 2 mm do not fit into 37
    assert "0.58 mm larger" in told(capsys, 1, "place", plate, "--edge", "0")
    done(capsys, "rack", "add", "large", "--size", "600x300x3", "--stock", "mirrored acrylic 3", "--full")
    lines = done(capsys, "place", plate).splitlines()
    assert lines[0].startswith("large") and lines[2].startswith("small")


def test_an_outline_from_a_drawing_with_its_holes(capsys, tmp_path):
    drawing = tmp_path / "offcut.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="70mm" viewBox="0 0 90 70">'
        '<path d="M5 5h80v60h-40l-40-20z" fill="none" stroke="#000" stroke-width=".1"/>'
        '<circle cx="30" cy="25" r="10" fill="none" stroke="#000" stroke-width=".1"/></svg>'
    )
    done(capsys, "rack", "add", "odd", "--outline", drawing, "--stock", "mirrored acrylic 3")
    with open_book() as book:
        ((_, _, piece),) = rack_pieces(book)
    region = piece_region(piece)
    assert region.bounds[:2] == (0.0, 0.0) and len(region.interiors) == 1
    assert region.area == pytest.approx(80 * 60 - 400 - 314.16, rel=1e-3)


def test_flaws_are_taken_off_and_mistakes_are_told(capsys, tmp_path):
    done(capsys, "rack", "add", "R1", "--size", "200x100", "--stock", "mirrored acrylic 3")
    done(capsys, "rack", "flaw", "R1", "point", "20,20", "--surface", "clear-face", "--width", "2")
    with open_book() as book:
        assert rack_pieces(book)[0][2].flaws == (
            Flaw(kind="point", points=((20.0, 20.0),), surface="clear face", width_mm=2.0),
        )
    done(capsys, "rack", "flaw", "R1", "remove", "1")
    told(capsys, 2, "rack", "flaw", "R1", "remove", "1")
    told(capsys, 2, "rack", "flaw", "R1", "patch", "1,1 2,2")
    told(capsys, 2, "rack", "flaw", "R1", "point", "here")
    told(capsys, 2, "rack", "flaw", "R1", "point", "210,20")  # beside the piece
    told(capsys, 2, "rack", "add", " ", "--size", "20x20", "--stock", "mirrored acrylic 3")
    told(capsys, 1, "rack", "add", "r1", "--size", "20x20", "--stock", "mirrored acrylic 3")
    told(capsys, 2, "rack", "add", "R2", "--corners", "0,0 10,10 10,0 0,10", "--stock", "mirrored acrylic 3")
    done(capsys, "rack", "remove", "R1")
    assert "empty" in done(capsys, "rack", "list")
    done(capsys, "rack", "undo", "R1")
    told(capsys, 1, "rack", "undo", "R1")


def test_a_job_that_is_on_no_piece_is_not_done(capsys):
    sample = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"
    assert "no piece" in told(capsys, 1, "rack", "done", sample)


def test_a_job_is_taken_off_no_piece_of_another_thickness_and_once_only(capsys, plate, tmp_path):
    for name, size in (("R1", "90x70x5"), ("R2", "90x70x3")):
        run(capsys, "rack", "add", name, "--size", size, "--stock", "mirrored acrylic 3")
    job = tmp_path / "sign.tain"
    done(capsys, "prepare", plate, "-o", job, "--sheet", "90x70x3")
    assert "sheet of 3 mm, R1 is 5 mm" in told(capsys, 1, "rack", "done", job, "--piece", "R1")
    assert "named twice" in told(capsys, 2, "rack", "done", job, job, "--piece", "R2")
    assert len(json.loads(done(capsys, "rack", "list", "--json"))["pieces"]) == 2
    run(capsys, "rack", "add", "R3", "--size", "90x70x3", "--stock", "back-painted acrylic 3 mm")
    code, _, err = run(capsys, "rack", "done", job, "--piece", "R3")
    assert code == 0 and "R3 is " in err


def test_a_piece_is_kept_for_a_job_until_it_is_done_or_given_back(capsys, plate, tmp_path):
    for name in ("R1", "R2"):
        done(capsys, "rack", "add", name, "--size", "90x70x3", "--stock", "mirrored acrylic 3", "--price", "5")
    placed, other = tmp_path / "sign.tain", tmp_path / "other.tain"
    done(capsys, "place", plate, "--piece", "R1", "-o", placed, "--reserve")
    assert "kept for sign" in done(capsys, "rack", "list")
    other_art = tmp_path / "tile.svg"
    other_art.write_bytes(PLATE)
    names = [one["name"] for one in json.loads(done(capsys, "place", other_art, "--json"))["choices"]]
    assert names == ["R2"]  # another job is not offered it
    code, _, err = run(capsys, "place", other_art, "--piece", "R1", "-o", other)
    assert code == 1 and "kept for sign" in err and not other.exists()
    code, _, err = run(capsys, "rack", "reserve", "R1", "tile")
    assert code == 1 and "kept for sign" in err
    done(capsys, "place", other_art, "--piece", "R2", "-o", other)
    code, _, err = run(capsys, "rack", "done", other, "--piece", "R1")
    assert code == 1 and "kept for sign" in err
    done(capsys, "rack", "done", placed)
    assert "kept for" not in done(capsys, "rack", "list")  # what is left of it is free
    done(capsys, "rack", "reserve", "R2", other)
    assert "free for any job" in done(capsys, "rack", "give-back", "R2")
    code, _, err = run(capsys, "rack", "give-back", "R2")
    assert code == 1 and "kept for no job" in err
    code, _, err = run(capsys, "place", other_art, "--reserve")
    assert code == 2
