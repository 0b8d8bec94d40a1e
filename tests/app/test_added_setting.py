"""One line adds a setting: fields, forms, checks, options, help, schema, exports, run sheet, words, files follow."""

import json
import subprocess
import sys

import pytest

from tests.added_setting import ROOT


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("added")
    command = [sys.executable, "-m", "tests.added_setting", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, timeout=110, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize(
    ("place", "told"),
    (
        ("refused", "Wobble of Cut can't be 3 mm. Give 0 to 2 mm.\n\nexit 2"),
        ("help", "--wobble-mm N"),
        ("help", "wobble_mm"),
        ("show", "air high, wobble 0.25 mm; from: set by hand"),
        ("svg", 'tain:wobble-mm="0.5"'),
        ("svg", '"wobble_mm": 0.25'),
        ("dxf", "1000\nwobble_mm\n1040\n0.25\n"),
        ("run sheet", "wobble 0.5 mm"),
        ("recipe words", "wobble 0.25 mm"),
    ),
)
def test_it_is_told(found, place, told):
    assert told in found[place]


def test_exports_and_job_files_bring_it_back(found):
    assert "exit 0" in found["prepare"] and found["prepare"].count("read back") == 2
    for kind in ("from SVG", "from DXF", "from job"):
        assert found[kind] == {"fill": 0.5, "cut": 0.25, "score": 0.0, "guide": 0.0}


def test_the_schema_has_its_limits(found):
    assert (found["schema"]["minimum"], found["schema"]["maximum"]) == (0, 2)


def test_the_window_has_fields_for_it(found):
    assert found["field"] == [0.0, 2.0, "0.25 mm"]
    assert found["field after a change"] == "1.5 mm"
    assert found["stock form"] == ["0.0 mm", "0.0 mm"]
    assert ["Wobble", "0 mm", "0.25 mm"] in found["compared"]
