"""Settings of an exported file that are not the shop's are shown side by side by every command that takes the file."""

import ast
from pathlib import Path

import pytest

import app.commands
from app.command_line import main
from core.job.job_file import load_job
from core.shop_book.store import open_book
from tests.app.commands.attack import ART as WIDE_ART

ART = WIDE_ART.replace(b"M8 8h12v8h-12z", b"M8 8h3v2h-3z")
OPENERS = {"open_job", "begin_job", "open_order", "job_from_artwork"}
"""What opens a file that may be an export; ``load_job`` reads job files only."""
NOTE = "sent.svg brings settings that are not the shop's"
SIDE_BY_SIDE = "Layer Fill, speed: 200 mm/s in the file, 800 mm/s in the shop"


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """An export with another speed than the shop's, made once."""
    folder = tmp_path_factory.mktemp("sent")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAIN_HOME", str(folder / "home"))
        patch.chdir(folder)
        Path("art.svg").write_bytes(ART)
        words = ["prepare", "art.svg", "-o", "sent.svg", "--speed-mm-s", "200", "--sheet", "60x50x3"]
        assert main(words) == 0
        return Path("sent.svg").read_bytes()


@pytest.fixture
def shop(sent, tmp_path, monkeypatch):
    """A shop with a piece on the rack that the export fits on."""
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    Path("sent.svg").write_bytes(sent)
    assert main(["rack", "add", "P1", "--size", "60x50x3", "--stock", "mirrored acrylic 3"]) == 0
    return tmp_path


@pytest.mark.parametrize(
    "words",
    (
        "prepare sent.svg -o a.svg",
        "place sent.svg --piece P1",
        "cost sent.svg",
        "paint sent.svg",
        "day sent.svg",
        "runsheet sent.svg -o a.pdf",
        "stop corner sent.svg -o a.svg",
        "backer sent.svg -o a.svg",
        "opening sent.svg -o a.svg",
        "proof sent.svg -o a.pdf",
        "offer sent.svg -o a.pdf",
        "trouble sent.svg --seen cracked",
        "trial plan sent.svg --bare --factor pitch_mm=0.05,0.1 -o trial",
        "pieces sent.svg -o parts",
        "rack done sent.svg --piece P1",
        "book done sent.svg",
        "book keep fine sent.svg Fill",
    ),
)
def test_every_command_shows_them(shop, capsys, words):
    main(words.split())
    told = capsys.readouterr().err
    assert NOTE in told and SIDE_BY_SIDE in told


def test_the_shop_book_keeps_them_only_where_that_is_said(shop, capsys):
    asked = ["book", "keep", "fine", "sent.svg", "Fill"]

    def kept():
        with open_book() as book:
            return [entry.value.recipe.speed_mm_s for entry in book.entries("recipe")]

    assert main(asked) == 1 and kept() == []
    assert "--settings file" in capsys.readouterr().err
    assert main([*asked, "--settings", "file"]) == 0 and kept() == [200]


def test_the_shops_own_are_taken_by_any_command_that_writes_a_job(shop, capsys):
    assert main(["place", "sent.svg", "--piece", "P1", "-o", "own.tain", "--settings", "shop"]) == 0
    assert NOTE not in capsys.readouterr().err
    assert [one.recipe.speed_mm_s for one in load_job(Path("own.tain")).layers if one.purpose == "fill"] == [800]


def test_no_command_opens_a_file_by_another_door():
    found = []
    for path in sorted(Path(app.commands.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = {alias.name for alias in node.names} if isinstance(node, ast.ImportFrom) else set()
            found += [path.name] if names & OPENERS else []
    assert set(found) == {"files_in.py"}
