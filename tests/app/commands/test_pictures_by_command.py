"""Pictures by the command line: read, traced, screened, refused in one sentence with code 2."""

import json
from pathlib import Path

import pytest
from PIL import Image

from app.command_line import main
from tests.core.artwork.pictures.made_pictures import file_bytes, square
from tests.core.artwork.pictures.test_hostile import cases


@pytest.fixture
def logo(tmp_path: Path) -> Path:
    path = tmp_path / "logo.png"
    path.write_bytes(file_bytes(square(120, (30, 30, 90, 90)), dpi=(254, 254)))
    return path


def read(*arguments: str, capsys: pytest.CaptureFixture[str]) -> dict:
    assert main(["read", "--json", *arguments]) == 0
    (file,) = json.loads(capsys.readouterr().out)["files"]
    return file


def test_read_traces(logo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = read(str(logo), capsys=capsys)
    assert data["width_mm"] == pytest.approx(12.0, rel=1e-3)
    assert sum(shape["area_mm2"] for shape in data["shapes"]) == pytest.approx(36.0, rel=5e-3)
    wide = read(str(logo), "--width-mm", "120", "--trace", "50%", capsys=capsys)
    assert sum(shape["area_mm2"] for shape in wide["shapes"]) == pytest.approx(3600.0, rel=5e-3)


@pytest.mark.parametrize("how", ["auto", "50%", "128", "0.5", "4", "3-levels"])
def test_ways_to_trace(logo: Path, how: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert read(str(logo), "--trace", how, capsys=capsys)["shapes"]


@pytest.mark.parametrize("how", ["0", "255", "1", "nan", "-3", "300%", "99999999999999999999", "lots"])
def test_ways_that_are_none(logo: Path, how: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read", str(logo), f"--trace={how}"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize("name", list(cases()))
def test_bad_pictures_end_with_code_2(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.png"
    path.write_bytes(cases()[name][0])
    assert main(["read", str(path)]) == 2
    assert capfd.readouterr().err.count("\n") == 1  # decoders' own lines would count too
    assert main(["prepare", str(path), "-o", str(tmp_path / "out.svg")]) == 2
    assert not (tmp_path / "out.svg").exists()


def test_prepare_screens_and_a_job_keeps_the_bytes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(file_bytes(Image.linear_gradient("L"), "JPEG", quality=90))
    screen = ["--width-mm", "10", "--screen", "lines", "--ruling", "60", "--bared-is", "dark", "--lpi", "300"]
    outputs = [word for name in ("bed.svg", "bed.dxf", "kept.tain") for word in ("-o", str(tmp_path / name))]
    assert main(["prepare", str(photo), *screen, *outputs, "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    (fill,) = [layer for layer in report["layers"] if layer["purpose"] == "fill"]
    bared = fill["area_mm2"] - fill["coverage"]["left_over_mm2"]
    assert bared == pytest.approx(100 * 0.4675, rel=0.05)  # half dark, but for what is over 75 %: 0.5 - 0.25 * 0.25 / 2
    assert {finding["code"] for finding in report["findings"]} >= {"picture-tones", "picture-clipped"}
    from core.job.job_file import load_job

    job = load_job(tmp_path / "kept.tain")
    assert job.source is not None and job.source.data == photo.read_bytes()
    assert job.reading.picture.way == "screen" and job.reading.picture.screen.lines_per_inch == 60
    again = ["prepare", str(tmp_path / "kept.tain"), "-o", str(tmp_path / "again.svg"), "--json"]
    assert main(again) == 0
    assert json.loads(capsys.readouterr().out)["layers"] == report["layers"]


def test_a_ruling_goes_with_a_screen(logo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read", str(logo), "--ruling", "60"]) == 2
    assert "--screen" in capsys.readouterr().err


def test_many_spans_share_paths_and_a_dxf_too_large_names_the_ruling(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    photo = tmp_path / "photo.png"
    photo.write_bytes(file_bytes(Image.linear_gradient("L")))
    screen = ["--width-mm", "30", "--screen", "lines", "--ruling", "80", "--bared-is", "dark", "--lpi", "300"]
    bed = tmp_path / "bed.svg"
    assert main(["prepare", str(photo), *screen, "-o", str(bed), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["read_back"]["largest_difference_mm"] < 1e-4
    assert len(bed.read_bytes()) < 60 * 20_000 + 20_000 and bed.read_text().count("<path") < 60
    monkeypatch.setattr("core.output.export.MOST_DXF_BYTES", 1_000_000)
    assert main(["prepare", str(photo), *screen, "-o", str(tmp_path / "bed.dxf")]) == 1
    assert "Screen it at" in capsys.readouterr().err
    assert not (tmp_path / "bed.dxf").exists()


def test_specks_go_by_what_the_recipe_clears(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    image = square(400, (100, 100, 300, 300))
    image.paste(0, (20, 20, 27, 27))  # 0.07 mm at 2540 dots an inch: more than one line clears at the start
    path = tmp_path / "speck.png"
    path.write_bytes(file_bytes(image))
    shapes = []
    for power in ("20", "40"):  # 0.063 and 0.103 mm
        words = ["prepare", str(path), "--width-mm", "4", "--power-pct", power, "-o", str(tmp_path / f"{power}.tain")]
        assert main([*words, "--json"]) == 0
        report = json.loads(capsys.readouterr().out)
        shapes.append(any(finding["code"] == "picture-specks" for finding in report["findings"]))
    assert shapes == [False, True]
