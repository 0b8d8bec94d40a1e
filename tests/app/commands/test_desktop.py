"""``tain desktop`` in a scratch home, read back by parsers that are not ours."""

import configparser
import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from app.command_line import main
from app.commands.desktop import MIME_TYPE, desktop_entry

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="freedesktop.org's places")


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    return tmp_path / "share"


def entry_of(text: str) -> configparser.SectionProxy:
    parser = configparser.RawConfigParser(strict=True, delimiters=("=",))
    parser.optionxform = str  # type: ignore[method-assign,assignment]
    parser.read_string(text)
    return parser["Desktop Entry"]


def exec_words(value: str) -> list[str]:
    """Exec as a desktop reads it: string escapes first, then quoting, then the codes."""
    words = shlex.split(value.replace("\\\\", "\\"))  # of what is special in quotes shlex knows two
    return [word.replace("\\$", "$").replace("\\`", "`").replace("%%", "%") for word in words]


def test_add_puts_entry_icon_and_type_where_the_desktop_looks(home, capsys):
    assert main(["desktop", "add", "--json"]) == 0
    files = [Path(name) for name in json.loads(capsys.readouterr().out)["files"]]
    assert all(file.is_file() and file.is_relative_to(home) for file in files) and len(files) == 4
    entry = entry_of((home / "applications" / "tain.desktop").read_text("utf-8"))
    assert (entry["Type"], entry["Name"], entry["Icon"], entry["Terminal"]) == ("Application", "Tain", "tain", "false")
    assert MIME_TYPE in entry["MimeType"].split(";") and entry["MimeType"].endswith(";")
    words = exec_words(entry["Exec"])
    assert words[-1] == "%f" and os.access(words[0], os.X_OK)
    icon = ElementTree.parse(home / "icons" / "hicolor" / "scalable" / "apps" / "tain.svg").getroot()
    assert icon.tag.endswith("svg")


def test_qt_finds_the_type_of_a_job_file_in_it(home, tmp_path):
    pytest.importorskip("PySide6.QtCore", exc_type=ImportError)
    main(["desktop", "add"])
    code = (
        "from PySide6.QtCore import QMimeDatabase\n"
        "kind = QMimeDatabase().mimeTypeForFile('sign.tain', QMimeDatabase.MatchMode.MatchExtension)\n"
        "print(kind.name(), kind.comment(), kind.iconName())"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert told.stdout.split() == [MIME_TYPE, "Tain", "job", MIME_TYPE.replace("/", "-")]


def test_remove_takes_away_what_add_put_there_and_nothing_else(home, capsys):
    other = home / "applications" / "other.desktop"
    other.parent.mkdir(parents=True)
    other.write_text("[Desktop Entry]\n", "utf-8")
    main(["desktop", "add"])
    main(["desktop", "add"])  # once more is no harm
    assert main(["desktop", "remove"]) == 0
    assert "took away" in capsys.readouterr().out
    assert [path.name for path in home.rglob("*tain*")] == [] and other.is_file()
    assert main(["desktop", "remove"]) == 0
    assert "nothing of Tain was there" in capsys.readouterr().out


@pytest.mark.parametrize("word", ["/opt/two words/tain", '/opt/a"b/tain', "/opt/a$b`c/tain", "/opt/100%/t", "/o\\p/t"])
def test_a_strange_place_is_quoted_as_the_specification_has_it(word):
    words = exec_words(entry_of(desktop_entry((word, "-m", "app")))["Exec"])
    assert words == [word, "-m", "app", "%f"]


def test_elsewhere_than_on_linux_it_says_so(home, monkeypatch, capsys):
    monkeypatch.setattr(sys, "platform", "darwin")
    assert main(["desktop", "add"]) == 1
    assert "Linux" in capsys.readouterr().err and not home.exists()


def test_a_folder_that_can_not_be_written_is_one_line(home, capsys):
    home.write_text("a file, not a folder", "utf-8")
    assert main(["desktop", "add"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
