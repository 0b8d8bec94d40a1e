"""Wrong use that was once taken, or ended in a traceback: one line, code 2 (or 1), nothing half done."""

import io
import json
import os
import tracemalloc
import zipfile

import pytest
from PIL import Image

from app.command_line import main
from core.errors import UnreadableError
from core.job.job_code import job_code
from core.job.job_file import job_from_bytes
from core.shop_book.store import open_book
from tests.app.commands.attack import ART, EMPTY


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "art.svg").write_bytes(ART)
    (tmp_path / "empty.svg").write_bytes(EMPTY)
    (tmp_path / "plate.svg").write_bytes(
        ART.replace(b"</svg>", b'<text x="5" y="22" font-size="4">{name}</text></svg>')
    )
    Image.radial_gradient("L").resize((24, 16)).save(tmp_path / "dots.png")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        (tmp_path / "nowhere.svg").symlink_to("gone.svg")
    return tmp_path


def run(capsys, *words):
    try:
        code = main([str(word) for word in words])
    except SystemExit as ended:  # the parser's own refusals
        code = ended.code
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    return code, told.out, told.err


@pytest.mark.parametrize(
    ("words", "code", "told"),
    (
        (("cost", "empty.svg"), 0, ""),
        (("read", "x" * 300), 0, None),
        (("prepare", "x" * 300, "-o", "a.svg"), 2, "name too long"),
        (("prepare", "art.svg", "-o", "x" * 300 + ".svg"), 2, "name too long"),
        (("prepare", "art.svg", "-o", "a.svg", "--speed-mm-s", "1e-308"), 2, "Give 0.01 to"),
        (("prepare", "art.svg", "-o", "a.svg", "--place", "1e308,0"), 2, "makes no sense here"),
        (("prepare", "art.svg", "-o", "a.svg", "--lpi", "1e308"), 2, "Give 1 to"),
        (("prepare", "art.svg", "-o", "a.svg", "--sheet", ""), 2, "--sheet is empty"),
        (("prepare", "art.svg", "-o", "a.svg", "--stock="), 2, "--stock is empty"),
        (("prepare", "art.svg", "-o", "a.svg", "--report", "art.svg", "--force"), 2, "End it in .json"),
        (("prepare", "art.svg", "-o", "a.svg", "--report", "/dev/null", "--force"), 2, "End it in .json"),
        (("runsheet", ".", "--find", "AAAA-BBBB"), 1, "No job file under . has the code"),
        (("read", "/dev/zero", "--json"), 2, None),
        (("book", "export", "art.svg", "--force"), 2, "End it in .json"),
        (("day", "art.svg", "--start", "2026-03-02T09:00", "-o", "art.svg", "--force"), 2, "End it in .ics"),
        (("book", "revert", "\udc80", "2026-01-01T00:00:00"), 2, "characters that are none"),
        (("book", "set", "machine", "flatbed", "spot_mm", "0.1", "--standard-error", "1e308"), 2, "Give 0 to 0.3"),
        (("book", "set", "machine", "flatbed", "spot_mm", "0.1", "--standard-error", "-1"), 2, "Give 0 to 0.3"),
        (("book", "done", "art.svg", "--time", "1:99"), 2, "no running time"),
        (("book", "done", "art.svg", "--photo", "none.jpg"), 2, "There is no photo none.jpg"),
        (("trouble", "art.svg", "--seen", "cracked", "--photo", "none.jpg"), 2, "There is no photo none.jpg"),
        (("trouble", "art.svg", "--seen", "cracked", "--photo", "."), 2, "There is no photo ."),
        (("pieces", "art.svg", "-o", "d", "--list", "n.csv", "--spacing", "-1"), 2, "-1 mm makes no sense here"),
        (("pieces", "art.svg", "-o", "d", "--list", "n.csv", "--spacing", "1e9"), 2, "mm makes no sense here"),
        (("prepare", "pipe", "-o", "a.svg"), 2, "pipe is no plain file"),
        (("show", "/dev/tty"), 2, "/dev/tty is no plain file"),
        (("cost", "."), 2, ". is a folder"),
        (("advise", "nowhere.svg"), 2, "nowhere.svg is a link to a file that is not there"),
        (("book", "import", "pipe"), 2, "pipe is no plain file"),
        (("pieces", "plate.svg", "-o", "d", "--list", "pipe"), 2, "pipe is no plain file"),
        (("rack", "add", "P9", "--outline", "pipe", "--stock", "mirrored acrylic 3"), 2, "pipe is no plain file"),
        (("rates", "--currency", "0.01"), 2, "Currency"),
        (
            ("trial", "plan", "art.svg", "--bare", "--factor", "pitch_mm=0.05,0.1", "-o", "d", "--start", "\udc80"),
            2,
            "?",
        ),
    ),
)
def test_it_is_told_in_one_line(shop, capsys, words, code, told):
    ended, _, error = run(capsys, *words)
    assert ended == code or told is None
    lines = [line for line in error.splitlines() if not line.startswith("note:")]
    assert len(lines) == (1 if ended else 0)
    if told:
        assert told in error
    assert not (shop / "a.svg").exists() and (shop / "art.svg").read_bytes() == ART


@pytest.mark.parametrize("power", ("0", "5e-324", "1e-300"))
def test_no_power_at_all_reaches_nothing(shop, capsys, power):
    code, out, _ = run(capsys, "prepare", "art.svg", "-o", "a.svg", "--power-pct", power)
    assert code == 0 and "Not reached" in out


def on_a_piece(capsys, *pieces):
    for name in pieces:
        assert run(capsys, "rack", "add", name, "--size", "60x50x3", "--stock", "mirrored acrylic 3")[0] == 0
    assert run(capsys, "prepare", "art.svg", "-o", "job.tain", "--sheet", "60x50x3")[0] == 0


def test_a_piece_is_used_only_by_its_whole_label(shop, capsys):
    on_a_piece(capsys, "P1-a")
    code, _, error = run(capsys, "rack", "done", "job.tain", "--piece", "P1")
    assert code == 2 and "No piece on the rack is labelled “P1”. Near it: P1-a." in error
    assert run(capsys, "rack", "done", "job.tain", "--piece", "p1-A")[0] == 0


def test_a_job_is_taken_only_off_a_piece_that_holds_it_whole(shop, capsys):
    on_a_piece(capsys, "P1")
    assert run(capsys, "prepare", "art.svg", "-o", "far.tain", "--sheet", "300x200x3", "--place", "40,30")[0] == 0
    code, _, error = run(capsys, "rack", "done", "far.tain", "--piece", "P1")
    assert code == 1 and "does not lie whole on P1" in error
    code, _, error = run(capsys, "rack", "done", "job.tain", "--piece", "P1", "--least", "-5")
    assert code == 2 and "-5 mm makes no sense here" in error
    with open_book() as book:
        assert [entry.name for entry in book.entries("piece")] == ["P1"]


def test_spacings_are_bounded(shop, capsys):
    on_a_piece(capsys, "P1")
    for spacing in ("1e9", "-1", "nan"):
        code, _, error = run(capsys, "place", "job.tain", "--piece", "P1", "--copies", "3", "--spacing", spacing)
        assert code == 2 and spacing in error.replace("1e+09", "1e9")


def test_a_piece_of_another_thickness_than_its_stock_is_told(shop, capsys):
    code, _, error = run(capsys, "rack", "add", "P5", "--size", "60x50x5", "--stock", "mirrored acrylic 3")
    assert code == 0 and "it is 5 mm thick, mirrored acrylic 3 mm is 3 mm" in error


@pytest.mark.parametrize("command", (("cost",), ("rack", "done")))
def test_a_job_on_a_piece_that_is_unknown_here_says_what_to_do(shop, capsys, monkeypatch, command):
    on_a_piece(capsys, "P1")
    assert run(capsys, "place", "job.tain", "--piece", "P1", "-o", "placed.tain")[0] == 0
    monkeypatch.setenv("TAIN_HOME", str(shop / "elsewhere"))
    code, _, error = run(capsys, *command, "placed.tain")
    assert code == 1 and "not in this shop book. Name one of yours: --piece NAME." in error


def job_file(job: bytes, **members: bytes) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("job.json", job)
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def test_a_small_file_that_unpacks_to_very_much_is_not_parsed():
    bomb = job_file(b'{"tain_job": 1, "artwork": null, "job": [' + b"[]," * 7_000_000 + b"[]]}")
    assert len(bomb) < 100_000
    tracemalloc.start()
    with pytest.raises(UnreadableError, match="holds more than can be read here"):
        job_from_bytes(bomb, name="bomb.tain")
    assert tracemalloc.get_traced_memory()[1] < 100 * 2**20
    tracemalloc.stop()


@pytest.mark.parametrize(
    ("data", "told"),
    (
        (job_file(b'{"tain_job": 1, "artwork": null, "job": {}, "order": {}}'), "saved by a newer Tain: “order”"),
        (job_file(b'{"tain_job": 1, "artwork": null, "job": {}}', rows=b"a"), "saved by a newer Tain: “rows”"),
        (job_file(b'{"tain_job": 1, "artwork": "a.svg", "job": {}}'), "no whole job file"),
        (job_file(b'{"tain_job": 1, "artwork": null, "job": NaN}'), "no JSON"),
        (job_file(b'{"tain_job": 2, "artwork": null, "job": {}}'), "saved by a newer Tain"),
        (job_file(b"[" * 100_000), "no JSON"),
        (b"PK\x03\x04 and no more", "no whole job file"),
    ),
)
def test_a_job_file_that_is_none_is_told_in_a_sentence(data, told):
    with pytest.raises(UnreadableError, match=told):
        job_from_bytes(data, name="a.tain")


def test_a_name_of_bytes_that_are_no_letters_goes_all_the_way(shop, capsys):
    """As a file's name may be on Linux; words given on the command line come in the same form."""
    name = "sign\udc80.svg"
    (shop / name).write_bytes(ART)
    run(capsys, "rates", "--machine-per-h", "30")
    for words in (
        ("prepare", name, "-o", "j\udc80.tain", "-o", "b.svg", "-o", "b.dxf", "--report", "r\udc80.json"),
        ("runsheet", "j\udc80.tain", "-o", "r.pdf"),
        ("offer", name, "-o", "o\udc80.pdf", "--number", "a\udc80", "--customer", "\udc80"),
        ("proof", name, "-o", "p.pdf", "--customer", "\udc80"),
        ("day", name, "j\udc80.tain", "--start", "2026-03-02T09:00", "-o", "d\udc80.ics"),
        ("show", "b.svg"),
    ):
        assert run(capsys, *words)[0] == 0, words


@pytest.mark.parametrize(
    ("more", "told"),
    (
        (("--date", "9999-12-31"), "of the year 9999"),
        (("--what", "x" * 20_000), "At most 1000"),
        (("--customer", "x" * 201), "At most 200"),
        (("--number", "x" * 81), "At most 80"),
    ),
)
def test_an_offer_that_no_page_and_no_calendar_holds_is_told(shop, capsys, more, told):
    run(capsys, "rates", "--machine-per-h", "30")
    code, _, error = run(capsys, "offer", "art.svg", "-o", "o.pdf", *more)
    assert code == 2 and told in error and not (shop / "o.pdf").exists()
    most = ("--what", "W" * 1000, "--customer", "W" * 200, "--number", "W" * 80)
    assert run(capsys, "offer", "art.svg", "-o", "o.pdf", *most)[0] == 0


def test_a_report_may_not_take_the_place_of_anything_but_a_report(shop, capsys):
    (shop / "old.json").write_text("{}")
    assert run(capsys, "prepare", "art.svg", "-o", "a.svg", "--report", "old.json")[0] == 2
    assert run(capsys, "prepare", "art.svg", "-o", "a.svg", "--report", "old.json", "--force")[0] == 0
    assert json.loads((shop / "old.json").read_text())["artwork"] == "art.svg"


def test_settings_of_a_file_that_are_not_the_shops_are_shown_before_they_are_taken(shop, capsys):
    assert run(capsys, "prepare", "art.svg", "-o", "sent.svg", "--speed-mm-s", "200")[0] == 0
    asked = ("prepare", "sent.svg", "--force", "--json", "-o", "a.svg")

    def speed(*more):
        code, out, error = run(capsys, *asked, *more)
        fill = next(layer for layer in json.loads(out)["layers"] if layer["purpose"] == "fill")
        assert code == 0
        return fill["recipe"]["speed_mm_s"], error

    taken, told = speed()
    assert taken == 200 and "sent.svg brings settings that are not the shop's" in told
    assert "Layer Fill, speed: 200 mm/s in the file, 800 mm/s in the shop" in told
    assert speed("--settings", "file") == (200, "")
    assert speed("--settings", "shop") == (800, "")
    assert run(capsys, "prepare", "art.svg", "-o", "plain.svg")[0] == 0
    assert run(capsys, "prepare", "plain.svg", "-o", "a.svg", "--force")[2] == ""


def test_a_screen_too_coarse_for_its_picture_is_worked_out(shop, capsys):
    code, out, error = run(
        capsys, "prepare", "dots.png", "-o", "a.svg", "--width-mm", "9", "--screen", "dots", "--pitch-mm", "12"
    )
    assert code == 0 and "nan" not in out + error


def test_no_folder_is_walked_through_for_ever(shop, capsys, monkeypatch):
    for number in range(20):
        (shop / "jobs" / f"{number}").mkdir(parents=True)
    assert run(capsys, "prepare", "art.svg", "-o", "jobs/7/sign.tain")[0] == 0
    code = job_code(job_from_bytes((shop / "jobs/7/sign.tain").read_bytes(), name="sign.tain"))
    ended, out, _ = run(capsys, "runsheet", "jobs", "--find", code)
    assert ended == 0 and out.split() == ["jobs/7/sign.tain"]
    monkeypatch.setattr("core.job.job_code.MOST_LOOKED_THROUGH", 15)
    ended, _, error = run(capsys, "runsheet", "jobs", "--find", code)
    assert ended == 2 and "jobs holds more than 15 files" in error and len(error.splitlines()) == 1
