"""``tain read`` on drawings with one part that can't be worked out, and on very large ones."""

import json
import math

import pytest
import shapely

from app.command_line import main
from core.artwork import painting
from core.geometry.engine import TooTangledError


def read(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict:
    assert main(["read", "--json", "--regions", *arguments]) == 0
    return json.loads(capsys.readouterr().out)["files"][0]


def test_one_tangled_path_costs_itself_only_and_is_named(tmp_path, capsys, monkeypatch) -> None:
    real = painting.enclosed

    def tangled_beyond_ten_rings(rings, rule, *, group_count):
        if len(rings.points) > 30:
            raise TooTangledError
        return real(rings, rule, group_count=group_count)

    monkeypatch.setattr(painting, "enclosed", tangled_beyond_ten_rings)
    points = " ".join(f"{5 + 4 * math.cos(i):.3f},{5 + 4 * math.sin(i):.3f}" for i in range(60))
    svg = f'<polygon id="knot" points="{points}"/><rect x="20" width="4" height="5"/>'
    path = tmp_path / "art.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="10mm" viewBox="0 0 30 10">{svg}</svg>', "utf-8"
    )
    data = read(capsys, str(path))
    assert data["error"] is None and len(data["shapes"]) == 2
    (finding,) = [one for one in data["findings"] if one["code"] == "too-tangled"]
    assert "“knot”" in finding["message"]
    assert shapely.from_wkb(data["fill_wkb"]).area == pytest.approx(20)


def test_small_drawings_are_read_in_their_own_tolerance(tmp_path, capsys) -> None:
    path = tmp_path / "dot.svg"
    circle = '<circle cx=".5" cy=".5" r=".4"/>'
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="1mm" height="1mm" viewBox="0 0 1 1">{circle}</svg>', "utf-8"
    )
    area_mm2 = shapely.from_wkb(read(capsys, str(path))["fill_wkb"]).area
    assert area_mm2 == pytest.approx(math.pi * 0.16, rel=2e-3)  # a tolerance of 0.01 mm would miss 3 per cent


def test_letters_of_a_building_are_not_flattened_to_hundredths_of_a_millimetre(tmp_path, capsys) -> None:
    words = "0 SECTION 2 HEADER 9 $INSUNITS 70 6 0 ENDSEC 0 SECTION 2 ENTITIES 0 LINE 8 0 10 0 20 0 11 90 21 60"
    words += " 0 TEXT 8 0 10 1 20 1 40 2 1 SOS 0 ENDSEC 0 EOF"
    path = tmp_path / "house.dxf"
    path.write_text(words.replace(" ", "\n"), "utf-8")
    region = shapely.from_wkb(read(capsys, str(path))["fill_wkb"])
    assert 100 < shapely.get_num_coordinates(region) < 1000  # over 4,000 at 0.01 mm
