"""Figures beyond their limits are refused by every command: one sentence, code 2, at once, and nothing is written."""

import json
import time

import pytest

from app.command_line import main
from tests.added_setting import SAMPLE
from tests.app.commands.shell import told

STOCK = "mirrored acrylic 3 mm"
PREPARE = ("prepare", SAMPLE, "-o", "OUT")
REFUSED = [
    (*PREPARE, "--speed-mm-s", "1e300"),
    (*PREPARE, "--speed-mm-s=-1"),
    (*PREPARE, "--lpi", "0.01"),
    (*PREPARE, "--lpi", "25400"),
    (*PREPARE, "--lpi", "nan"),
    (*PREPARE, "--pitch-mm", "inf"),
    (*PREPARE, "--power-pct", "101"),
    (*PREPARE, "--passes", "0"),
    (*PREPARE, "--passes", "1e9"),
    (*PREPARE, "--set", "cut.power_pct=nan"),
    (*PREPARE, "--set", "sheet.width_mm=1e12"),
    (*PREPARE, "--set", "machine.spot_mm=0"),
    (*PREPARE, "--set", "stock.kerf_mm=-0.1"),
    (*PREPARE, "--sheet", "1e300x3x3"),
    (*PREPARE, "--place", "nan,3"),
    (*PREPARE, "--width-mm=-5"),
    ("place", "JOB", "-o", "OUT.tain", "--spacing=-1"),
    ("place", "JOB", "-o", "OUT.tain", "--edge", "nan"),
    ("place", "JOB", "-o", "OUT.tain", "--copies", "0"),
    ("stop", "corner", "JOB", "-o", "OUT", "--pin", "inf"),
    ("stop", "corner", "JOB", "-o", "OUT", "--clearance=-1"),
    ("stop", "nest", "JOB", "-o", "OUT", "--count", "-1"),
    ("backer", "JOB", "-o", "OUT", "--margin", "1e9"),
    ("opening", "JOB", "-o", "OUT", "--clearance", "1e300"),
    ("book", "set", "machine", "CO2 flatbed", "spot_mm", "1e300"),
    ("book", "set", "machine", "CO2 flatbed", "spot_mm", "nan"),
    ("book", "set", "stock", STOCK, "kerf_mm", "0.2", "--standard-error", "nan"),
    ("book", "set", "stock", STOCK, "kerf_mm", "0.2", "--standard-error=-1"),
    ("rates", "--machine-per-h=-1"),
    ("rates", "--machine-per-h", "nan"),
    ("rack", "add", "x", "--size", "1e9x400", "--stock", STOCK),
    ("coupon", "line-widths", "-o", "OUT", "--fit", "nanx80"),
]


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    path = tmp_path_factory.mktemp("job") / "job.tain"
    assert main(["prepare", str(SAMPLE), "-o", str(path)]) == 0
    return path


@pytest.mark.parametrize("words", REFUSED, ids=lambda words: " ".join(str(word) for word in words if word != SAMPLE))
def test_a_figure_beyond_its_limits_is_refused_in_a_sentence(words, job, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    out = tmp_path / "out.svg"
    names = {"JOB": str(job), "OUT": str(out), "OUT.tain": str(tmp_path / "out.tain")}
    begun_s = time.process_time()
    told(capsys, 2, *(names.get(str(word), word) for word in words))
    assert time.process_time() - begun_s < 10
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == []


@pytest.mark.parametrize(("figure", "value"), (("kerf_mm", 1e300), ("kerf_mm", -1), ("thickness_mm", 0)))
def test_a_book_s_export_with_such_a_figure_brings_nothing_in(figure, value, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "home"))
    file = tmp_path / "book.json"
    assert main(["book", "export", str(file)]) == 0
    book = json.loads(file.read_text("utf-8"))
    stock = next(one for one in book["entries"] if one["kind"] == "stock" and one["name"] == STOCK)
    stock["data"][figure], stock["stamp"] = value, "2026-01-01T00:00:00.000000Z"
    file.write_text(json.dumps(book), "utf-8")
    capsys.readouterr()
    assert main(["book", "import", str(file)]) == 1
    out = capsys.readouterr().out
    assert "problem: " in out and "of mirrored acrylic 3 mm can't be" in out
    assert main(["book", "show", "stock", STOCK, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["data"][figure] != value


def test_an_error_that_is_no_number_is_refused_wherever_it_stands(job):
    from dataclasses import replace

    from core.errors import UnreadableError
    from core.figures import check_figures
    from core.output.opening import open_job
    from core.sheet.recipes import Origin

    stock = open_job(job).stock
    for error in (float("nan"), -1.0, 1e300):
        with pytest.raises(UnreadableError, match="Standard error"):
            check_figures(replace(stock, figure_origins=(("kerf_mm", Origin(standard_error=error)),)))
