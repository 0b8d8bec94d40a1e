"""``tain pieces``, ``tain proof`` and ``tain offer`` from the command line, on the sample and on what is wrong."""

import json
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from PIL import Image

from app.command_line import main
from core.order.order_file import load_work
from core.output.opening import open_job

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
BADGE, CLUB = SAMPLES / "club" / "badge.svg", SAMPLES / "club" / "members.csv"
PLATE = """<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="16mm" viewBox="0 0 50 16">
<rect x="0.1" y="0.1" width="49.8" height="15.8" fill="none" stroke="red" stroke-width="0.1"/>
<text x="25" y="10" font-family="DejaVu Sans" font-size="5" text-anchor="middle">{name}</text></svg>"""


@pytest.fixture(autouse=True)
def _home(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))


@pytest.fixture
def plate(tmp_path):
    path = tmp_path / "plate.svg"
    path.write_text(PLATE)
    return path


@pytest.fixture
def names(tmp_path):
    path = tmp_path / "club.csv"
    path.write_text("Name,Count\nAnna,2\nBo,1\n,1\nKim,x\n")
    return path


def run(*words):
    return main(["pieces", *map(str, words)])


def test_sheets_of_an_order_before_do_not_stay_beside_those_of_the_next(plate, names, tmp_path, capsys):
    """Sheet 2 of last week's list lay beside sheet 1 of today's, and would have been burned with it."""
    folder, sheet = tmp_path / "out", ("--sheet", "60x20x3")
    names.write_text("Name\nAnna\nBo\nKim\n")
    assert run(plate, "--list", names, "-o", folder, *sheet) == 0
    begun = {path.name for path in folder.iterdir()}
    assert {"sheet-2.svg", "sheet-3-run.pdf"} <= begun
    own = {"sheet-9.svg": "mine", "notes.txt": "mine", "sheet-2.svg.bak": "mine"}
    for name, text in own.items():
        (folder / name).write_text(text)
    names.write_text("Name\nEva\n")
    assert run(plate, "--list", names, "-o", folder, *sheet) == 2  # nothing is replaced, nothing taken away
    assert {path.name for path in folder.iterdir()} == begun | own.keys()
    capsys.readouterr()
    assert run(plate, "--list", names, "-o", folder, *sheet, "--force") == 0
    left = {path.name for path in folder.iterdir()}
    assert left == {name for name in begun if not name.startswith(("sheet-2", "sheet-3"))} | own.keys()
    told = capsys.readouterr().err
    assert "Taken away, of the order that was there before: sheet-2-run.pdf, sheet-2.dxf" in told


@pytest.mark.parametrize(
    "figures",
    ["[", '{"sheets": 5}', "[1]", '{"sheets": [{"files": ["../keep.svg", "/etc/passwd", "sheet-2.txt", 5]}, 7]}'],
)
def test_figures_that_somebody_wrote_take_nothing_else_away(plate, names, tmp_path, figures):
    (tmp_path / "keep.svg").write_text("mine")
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "pieces.json").write_text(figures)
    (folder / "sheet-2.txt").write_text("mine")
    names.write_text("Name\nEva\n")
    assert run(plate, "--list", names, "-o", folder, "--sheet", "60x20x3", "--force") == 0
    assert (tmp_path / "keep.svg").read_text() == (folder / "sheet-2.txt").read_text() == "mine"


def test_the_sample(tmp_path, capsys):
    folder = tmp_path / "badges"
    fit = ("--fit", "name=two lines:55", "--numbers", "number=01 …", "--sheet", "300x200x3", "--marks")
    assert run(BADGE, "--list", CLUB, "-o", folder, *fit) == 0
    data = json.loads((folder / "pieces.json").read_text())
    assert data["parts"] == 24
    assert len([row for row in data["rows"] if row["parts"]]) == 24
    assert [row["row"] for row in data["rows"]] == list(range(2, 26))
    assert {"sheet-1.svg", "sheet-1.dxf", "sheet-1.tain", "sheet-1-run.pdf"} <= set(data["sheets"][0]["files"])
    assert {path.name for path in folder.iterdir()} >= {"map.pdf", "labels.pdf", "order.tain", "pieces.json"}
    assert sorted(part for sheet in data["sheets"] for part in sheet["parts"]) == list(range(1, 25))
    told = {(row["row"], one["code"]) for row in data["rows"] for one in row["findings"]}
    assert (18, "glyph-missing") in told
    assert all(part["width_mm"] == pytest.approx(71, abs=0.1) for row in data["rows"] for part in row["parts"])
    by_row = {row["row"]: row for row in data["rows"]}
    assert by_row[10]["text"]["name"] == "\u05d3\u05d5\u05d3 \u05db\u05d4\u05df"
    assert by_row[13]["text"]["name"] == 'O\'Neill, Siobhán "Shiv"'
    assert open_job(folder / "sheet-1.tain").overrides
    order = load_work(folder / "order.tain")
    assert order.names.path == str(CLUB.absolute())
    assert len(order.sheets) == len(data["sheets"])
    assert "24 parts on" in capsys.readouterr().out


def test_rows_counts_and_figures(plate, names, tmp_path, capsys):
    folder = tmp_path / "out"
    assert run(plate, "--list", names, "--count", "count", "-o", folder, "--sheet", "120x60x3", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data == json.loads((folder / "pieces.json").read_text())
    assert [(row["row"], len(row["parts"])) for row in data["rows"]] == [(2, 2), (3, 1), (4, 0), (5, 0)]
    assert all(row["parts"] or row["findings"] for row in data["rows"])
    part = data["rows"][1]["parts"][0]
    assert (part["sheet"], part["number"]) == (1, 3)
    assert set(part["place"]) == {"x_mm", "y_mm", "rotation_deg"}
    assert data["sheets"][0]["time_s"] > 0
    assert data["cost"]["unpriced"]


def test_an_order_is_worked_out_again(plate, names, tmp_path, capsys):
    folder = tmp_path / "out"
    assert run(plate, "--list", names, "-o", folder, "--sheet", "120x60x3", "--fit", "name=smaller:50") == 0
    order = load_work(folder / "order.tain")
    assert (order.fields[0].fit, order.fields[0].limit_pct) == ("smaller", 50.0)
    assert run(folder / "order.tain", "-o", folder) == 2
    assert "exists already" in capsys.readouterr().err
    assert run(folder / "order.tain", "-o", folder, "--force") == 0
    assert load_work(folder / "order.tain") == order
    assert main(["prepare", str(folder / "order.tain"), "-o", str(tmp_path / "x.svg")]) == 2
    assert "order of many parts" in capsys.readouterr().err
    assert main(["show", str(folder / "order.tain")]) == 2
    assert "order of many parts" in capsys.readouterr().err


def test_pieces_of_the_rack(plate, names, tmp_path, capsys):
    words = ("--list", names, "-o", tmp_path / "out", "--rack")
    assert run(plate, *words) == 1
    assert "No piece on the rack" in capsys.readouterr().err
    assert main(["rack", "add", "R7", "--size", "60x40x3", "--stock", "mirrored acrylic 3 mm"]) == 0
    assert run(plate, *words) == 1
    assert "there is no room left for Kim" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
    assert main(["rack", "add", "R8", "--size", "120x40x3", "--stock", "mirrored acrylic 3 mm"]) == 0
    assert run(plate, *words) == 0
    data = json.loads((tmp_path / "out" / "pieces.json").read_text())
    assert [sheet["piece"] for sheet in data["sheets"]] == ["R7", "R8"]


@pytest.mark.parametrize(
    ("text", "extra", "code", "said"),
    [
        ("Shoe\n42\n43\n", (), 2, "The field {name} is in no column"),
        ("Name\nAnna\n", ("--field", "name=Nmae"), 2, "no column “Nmae”"),
        ("Name\nAnna\n", ("--field", "nme=Name"), 2, "no field “nme”"),
        ("Name\nAnna\n", ("--count", "Number"), 2, "no column “Number”"),
        ("Name\nAnna\n", ("--fit", "name=wider"), 2, "no way to fit"),
        ("Name\nAnna\n", ("--fit", "name=smaller:x"), 2, "no number"),
        ("Name\nAnna\n", ("--off", "a"), 2, "are no rows"),
        ("Name\nAnna\n", ("--off", "2"), 1, "no part at all"),
        ("Name\nAnna\n", ("--pick", "9=x"), 2, "no text number 9"),
        ("Name\nAnna\n", ("--sheet", "20x10x3"), 1, "Not one part fits"),
        ("Name\n" + "Anna\n" * 100_000, (), 2, "100,001 rows"),
        ("", (), 2, "is empty"),
        ("Name,Count\nAnna,1\nBo,1e9\n", ("--count", "Count"), 1, "With row 3, 1,000,000,000 times, the list comes to"),
    ],
)
def test_what_is_wrong_is_one_line_and_nothing_is_written(plate, tmp_path, capsys, text, extra, code, said):
    path = tmp_path / "list.csv"
    path.write_text(text)
    folder = tmp_path / "out"
    assert run(plate, "--list", path, "-o", folder, "--header", "yes", *extra) == code
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not folder.exists()


def test_a_list_in_an_encoding_that_is_named(plate, tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_bytes("Name,No\nИван,1\nАнна,2\n".encode("cp1251"))
    words = (plate, "--list", path, "-o", tmp_path / "out", "--sheet", "300x60x3", "--json")
    assert run(*words) == 2 and "name its encoding" in capsys.readouterr().err
    assert run(*words, "--encoding", "koi8-r2") == 2 and "no encoding" in capsys.readouterr().err
    assert run(*words, "--encoding", "cp1251") == 0
    data = json.loads(capsys.readouterr().out)
    assert [row["text"]["name"] for row in data["rows"]] == ["Иван", "Анна"]


def test_what_is_strange_is_told_and_made(plate, tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_text('Name,Age\n=SUM(A1),1\n<b>Bo</b>,2\nK\x07im,3\nLu;4\n"Anna,5\n')
    assert run(plate, "--list", path, "-o", tmp_path / "out", "--sheet", "300x60x3", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    told = {(row["row"], one["code"]) for row in data["rows"] for one in row["findings"]}
    expected = {"list-formula": 2, "list-markup": 3, "list-control": 4, "list-separators": 5, "list-unreadable-row": 6}
    assert {(row, code) for code, row in expected.items()} <= told
    assert [one["code"] for one in data["findings"]] == ["column-no-field"]
    assert [len(row["parts"]) for row in data["rows"]] == [1, 1, 1, 1, 0]


@pytest.fixture
def order(plate, names, tmp_path):
    assert run(plate, "--list", names, "-o", tmp_path / "out", "--sheet", "120x60x3", "--count", "Count") == 0
    return tmp_path / "out" / "order.tain"


def words_of(path):
    with pikepdf.open(path) as document:
        assert document.docinfo["/Author"] == "Tain"
        pages = len(document.pages)
    pdf = pypdfium2.PdfDocument(path)
    try:
        return pages, "\n".join(page.get_textpage().get_text_range() for page in pdf)
    finally:
        pdf.close()


def test_a_proof_shows_every_name_and_asks_for_a_signature(order, tmp_path, capsys):
    capsys.readouterr()
    assert main(["proof", str(order), "-o", str(tmp_path / "p.pdf"), "--customer", "Rowing club", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {
        "design": "plate.svg",
        "quantity": 3,
        "names": ["Anna", "Anna", "Bo"],
    }
    pages, words = words_of(tmp_path / "p.pdf")
    assert pages == 1
    for said in ("Proof", "for Rowing club", "true size", "49.8 x 15.8 mm", "mirrored acrylic 3 mm", "3 pieces",
                 "check every letter", "What may differ", "checked and agreed", "black"):  # fmt: skip
        assert said in words
    assert main(["proof", str(order), "-o", str(tmp_path / "p.png")]) == 0
    with Image.open(tmp_path / "p.png") as picture:
        assert picture.size == (1191, 1684)
    assert main(["proof", str(order), "-o", str(tmp_path / "p.txt")]) == 2


def test_a_proof_of_a_job_too_large_for_the_page_tells_its_scale(tmp_path):
    sign = tmp_path / "sign.svg"
    large = PLATE.replace('width="50mm" height="16mm"', 'width="500mm" height="160mm"').replace('"0.1"/>', '"0.01"/>')
    sign.write_text(large.replace("{name}", "Oak"))
    assert main(["proof", str(sign), "-o", str(tmp_path / "p.pdf")]) == 0
    _, words = words_of(tmp_path / "p.pdf")
    assert "scale 1 : 2.7" in words or "scale 1 : 2.8" in words
    assert "498.0 x 158.0 mm" in words


def test_an_offer_follows_from_the_cost(order, tmp_path, capsys):
    target = tmp_path / "offer.pdf"
    assert main(["offer", str(order), "-o", str(target)]) == 1
    assert "no price to offer" in capsys.readouterr().err
    assert not target.exists()
    assert main(["rates", "--machine-per-h", "60", "--currency", "EUR", "--tax-pct", "20", "--breaks", "10: 10"]) == 0
    head = ("--name", "Gullwick Signs", "--address", "3 Landing Stage; Gullwick", "--valid-days", "14")
    assert main(["letterhead", *head]) == 0
    capsys.readouterr()
    day = ("--date", "2026-03-02", "--number", "7", "--customer", "Rowing club", "--json")
    assert main(["offer", str(order), "-o", str(target), *day]) == 0
    data = json.loads(capsys.readouterr().out)
    price = data["price"]
    assert price["quantity"] == 3
    assert price["net"] == pytest.approx(3 * price["each"])
    assert price["tax"] == pytest.approx(0.2 * price["net"], abs=0.006)
    assert [one["quantity"] for one in data["breaks"]] == [10]
    pages, words = words_of(target)
    assert pages == 1
    for said in ("Offer 7", "for Rowing club", "Gullwick Signs", "3 Landing Stage", "2026-03-16", "Tax, 20 %",
                 f"{price['gross']:.2f} EUR", "Other quantities"):  # fmt: skip
        assert said in words
    assert main(["offer", str(order), "-o", str(tmp_path / "o.pdf"), "--date", "tomorrow"]) == 2
