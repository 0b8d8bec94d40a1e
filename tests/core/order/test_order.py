"""An order from its list to jobs: rows counted, parts laid, sheets as jobs, the file."""

import csv
import json
import re
import time
import zipfile
from collections import Counter
from dataclasses import replace
from io import BytesIO, StringIO

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import ReadOptions
from core.artwork.reading import read_artwork
from core.errors import Cancelled, JobError, UnreadableError
from core.geometry.affine import apply_to_region
from core.job.burned import cleared_region, finished_region
from core.order.fields import Field
from core.order.filling import part_bounds_mm
from core.order.laying import Ground, lay, rack_grounds
from core.order.order_file import holds_order, load_work, order_file_bytes, order_from_bytes, save_work
from core.order.part_regions import part_regions
from core.order.parts import parts_of, with_matched_fields
from core.order.running import parse_running
from core.order.sheet_jobs import sheet_job
from core.order.working_out import fill_order, work_out
from core.sheet.flaws import flaw_region
from core.sheet.offcuts import Piece, rectangle, sheet_of
from core.sheet.placement import Flaw, placement_matrix
from tests.core.order.designs import PLATE, order_of

CLUB = "Name,Role,Count\nAnna Berg,Cook,2\nBo Lund,Pilot,1\nKim Lee,Clerk,0\n,,1\nAda Öz,Smith,x\nBo Lund,Pilot,1\n"


def told(findings):
    return [(one.code, one.row) for one in findings]


def test_rows_come_to_parts_or_are_told():
    order = with_matched_fields(order_of(CLUB, count_column="Count", rows_off=(2,)), ["name", "role"])
    parts = parts_of(order)
    assert [(one.row, one.copy, one.words) for one in parts.parts] == [
        (3, 1, "Bo Lund, Pilot"),
        (7, 1, "Bo Lund, Pilot"),
    ]
    assert set(told(parts.findings)) == {
        ("row-off", 2),
        ("row-none", 4),
        ("row-empty", 5),
        ("row-count", 6),
        ("row-doubled", 7),
    }


def test_running_numbers_count_parts():
    fields = (Field(name="name", column="Name"), Field(name="role", running=parse_running("07 to 10")))
    parts = parts_of(order_of("Name,N\nAnna,2\nBo,1\nKim,3\n", count_column="N", fields=fields))
    assert [one.values[1][1] for one in parts.parts] == ["07", "08", "09", "10"]
    assert ("row-no-number", 4) in told(parts.findings)
    alone = order_of(None, fields=(Field(name="role", running=parse_running("A to F")),))
    assert [one.words for one in parts_of(alone).parts] == ["A", "B", "C", "D", "E", "F"]


def test_columns_and_fields_that_do_not_meet():
    order = with_matched_fields(order_of("Name,Shoe size\nAnna,42\nBo,43\n"), ["name", "role"])
    assert {("field-no-column", None), ("column-no-field", None)} <= set(told(parts_of(order).findings))
    with pytest.raises(UnreadableError, match="no column “Nmae”"):
        parts_of(replace(order, fields=(Field(name="name", column="Nmae"),)))
    with pytest.raises(JobError, match="no part at all"):
        parts_of(replace(order, rows_off=(2, 3)))


CELLS = st.sampled_from(["", " ", "Anna", "Bo", "=SUM(A1)", "<b>x</b>", '"', "Kim;Lee", "\u05d3\u05d5\u05d3", "\x07"])
COUNTS = st.sampled_from(["1", "2", "0", "x", "", "-1"])


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.lists(st.tuples(CELLS, CELLS, COUNTS), min_size=1, max_size=8), st.sets(st.integers(2, 9)))
def test_nothing_is_lost(rows, off):
    """Every row of the file comes to as many parts as it asks for, or is told by its number."""
    buffer = StringIO()
    csv.writer(buffer, lineterminator="\n").writerows([("Name", "Role", "Count"), *rows])
    text = buffer.getvalue()
    order = order_of("Name,Role,Count\nx,y,1\n")
    try:
        names = order_of(text).names
        order = replace(order, names=names, count_column="Count", rows_off=tuple(off))
        parts = parts_of(with_matched_fields(order, ["name", "role"]))
    except (JobError, UnreadableError):
        return
    made = Counter(one.row for one in parts.parts)
    said = {one.row for one in parts.findings}
    for number in range(2, len(rows) + 2):
        assert made[number] or number in said, (number, text)
    assert [one.number for one in parts.parts] == list(range(1, len(parts.parts) + 1))


@pytest.fixture(scope="module")
def worked():
    names = "Name,Role\n" + "".join(f"Anna {letter},Cook\n" for letter in "ABCDEFG")
    return work_out(order_of(names, marks=True, spacing_mm=2.0))


def test_all_parts_lie_on_sheets_in_list_order(worked):
    numbers = [place.part for sheet in worked.sheets for place in sheet.laid.places]
    assert numbers == list(range(1, 8))
    assert [len(sheet.laid.places) for sheet in worked.sheets] == [5, 2]
    for sheet in worked.sheets:
        finished = finished_region(sheet.plan.layers)
        assert len(shapely.get_parts(finished)) == len(sheet.laid.places)
        assert finished.area == pytest.approx(len(sheet.laid.places) * (49.8 * 15.8 - (4 - 3.14159) * 4), rel=1e-3)
        assert sheet.plan.complete
        assert not [one for one in sheet.plan.findings if one.severity == "problem"]


def test_a_sheet_burns_what_its_parts_burn(worked):
    sheet = worked.sheets[0]
    expected = []
    for place in sheet.laid.places:
        part = worked.filled.filled[place.part]
        alone = sheet_job(
            worked.order,
            replace(sheet.laid, places=(replace(place, x_mm=0.0, y_mm=0.0, rotation_deg=0.0),)),
            worked.filled.parts,
            {place.part: part},
            box_mm=(0, 0, 50, 16),
            name="one",
        )
        from core.job.prepare import plan_steps

        region = cleared_region(next(plan_steps(alone)).layers)
        expected.append(apply_to_region(placement_matrix(place.x_mm, place.y_mm, place.rotation_deg), region))
    cleared = cleared_region(sheet.plan.layers)
    assert shapely.union_all(expected).symmetric_difference(cleared).area < 1e-3 * cleared.area


def test_part_numbers_are_scored_beside_the_parts(worked):
    score = next(layer for layer in worked.sheets[0].plan.layers if layer.layer.purpose == "score")
    assert len(score.paths) >= 4
    finished = finished_region(worked.sheets[0].plan.layers)
    for path in score.paths:
        assert not finished.intersects(shapely.MultiPoint(path.start_points))
    plain = work_out(replace(worked.order, marks=False))
    assert not next(layer for layer in plain.sheets[0].plan.layers if layer.layer.purpose == "score").paths


def test_titles_tell_whose_part_it_is(worked):
    drawing = read_artwork(worked.sheets[0].job.source, ReadOptions())
    assert any("Anna A, Cook" in name for shape in drawing.shapes for name in shape.names)


def test_densest_lays_at_least_as_many(worked):
    dense = work_out(replace(worked.order, way="densest", marks=False, sheets=()))
    assert sorted(place.part for sheet in dense.sheets for place in sheet.laid.places) == list(range(1, 8))
    assert len(dense.sheets) <= len(worked.sheets)


def piece(width_mm, height_mm, *, full=False, flaws=()):
    stock = order_of(CLUB).design.stock.name
    return Piece(stock=stock, thickness_mm=3.0, outline=rectangle(width_mm, height_mm), full=full, flaws=flaws)


def test_densest_lays_no_fewer_where_some_take_more_room():
    rows = "".join(f"{'Maximiliane-Charlotte von Tannenberg' if n % 5 == 0 else 'Bo'},Cook\n" for n in range(20))
    fields = (Field(name="name", column="Name"), Field(name="role", column="Role"))
    order = order_of(f"Name,Role\n{rows}", sheet=(300.0, 120.0), fields=fields)
    filled = fill_order(order)
    first = {
        way: len(lay(replace(filled.order, way=way), filled.parts, filled.filled, ()).order.sheets[0].places)
        for way in ("list order", "densest")
    }
    assert first["densest"] >= first["list order"] > 0


def long_and_short(count, every=5):
    rows = "".join(f"{'Maximiliane-Charlotte von Tannenberg' if n % every == 2 else 'Bo'},Cook\n" for n in range(count))
    fields = (Field(name="name", column="Name"), Field(name="role", column="Role"))
    return order_of(f"Name,Role\n{rows}", sheet=(300.0, 120.0), fields=fields)


@pytest.mark.parametrize("marks", [False, True])
def test_parts_that_take_more_room_keep_their_place_in_list_order(marks):
    filled = fill_order(replace(long_and_short(60), marks=marks))
    made = lay(filled.order, filled.parts, filled.filled, ())
    assert [place.part for sheet in made.order.sheets for place in sheet.places] == list(range(1, 61))
    assert not made.findings
    room = shapely.box(0.0, 0.0, 300.0, 120.0)
    for sheet in made.order.sheets:
        boxes = []
        for place in sheet.places:
            box = shapely.box(*part_bounds_mm(filled.filled[place.part]))
            boxes.append(apply_to_region(placement_matrix(place.x_mm, place.y_mm, place.rotation_deg), box))
        assert all(room.covers(box) for box in boxes)
        apart = [one.distance(two) for at, one in enumerate(boxes) for two in boxes[:at]]
        assert min(apart) >= filled.order.spacing_mm - 1e-6
        rows = [round(box.bounds[1]) for box in boxes]
        assert rows == sorted(rows)


def test_what_an_offcut_can_t_hold_waits_for_the_next_piece_and_is_told():
    filled = fill_order(long_and_short(8))
    rack = [("u1", "R1", piece(64, 70)), ("u2", "F1", piece(200, 100, full=True))]
    made = lay(filled.order, filled.parts, filled.filled, rack_grounds(rack, filled.order.design))
    assert [[place.part for place in sheet.places] for sheet in made.order.sheets] == [[1, 2, 4], [3, 5, 6, 7, 8]]
    assert [(one.code, one.row, "sheet 2 (F1)" in one.message) for one in made.findings] == [("part-later", 4, True)]


def test_list_order_is_kept_round_a_flaw_that_would_show():
    flaw = Flaw(kind="line", points=((20.0, 5.0), (90.0, 30.0)), width_mm=1.0, surface="clear face")
    filled = fill_order(long_and_short(12))
    scratched = piece(300, 120, full=True, flaws=(flaw,))
    made = lay(filled.order, filled.parts, filled.filled, rack_grounds([("u", "F1", scratched)], filled.order.design))
    places = made.order.sheets[0].places
    assert [place.part for place in places] == list(range(1, 13))
    region = flaw_region(flaw, made.order.sheets[0].sheet)
    for place in places:
        finished = part_regions(filled.order.design, filled.filled[place.part])[0]
        laid = apply_to_region(placement_matrix(place.x_mm, place.y_mm, place.rotation_deg), finished)
        assert not laid.intersects(region)


def test_five_hundred_parts_of_two_sizes_are_laid_quickly():
    filled = fill_order(long_and_short(500))
    start = time.process_time()
    made = lay(filled.order, filled.parts, filled.filled, ())
    assert time.process_time() - start < 10.0  # 68 s by trying each where rows have room for it
    assert [place.part for sheet in made.order.sheets for place in sheet.places] == list(range(1, 501))


def test_offcuts_come_first_and_what_has_no_room_is_told():
    order = order_of("Name,Role\n" + "".join(f"Anna {letter},Cook\n" for letter in "ABCD"))
    rack = [("u1", "F1", piece(120, 24, full=True)), ("u2", "R7", piece(60, 24)), ("u3", "R9", piece(30, 10))]
    grounds = rack_grounds(rack, order.design)
    assert [one.label for one in grounds] == ["R9", "R7", "F1"]
    made = work_out(order, grounds, {uuid: one for uuid, _, one in rack})
    assert [(sheet.laid.label, len(sheet.laid.places)) for sheet in made.sheets] == [("R7", 1), ("F1", 2)]
    assert [sheet.job.piece_id for sheet in made.sheets] == ["u2", "u1"]
    assert [(one.code, one.row) for one in made.findings if one.severity == "problem"] == [("part-no-room", 5)]


def test_a_flaw_lies_under_a_fill_or_in_no_part():
    """A stain of the coat under what is cleared does not cost the place; one that would show does."""
    svg = PLATE.replace("<text", '<rect x="3" y="3" width="44" height="10"/><text', 1).replace("{role}", "")
    text = "Name,Role\nAnna,Cook\nBo,Cook\n"
    hidden = Flaw(kind="point", points=((30.0, 12.0),), width_mm=2.0, surface="coat")
    shown = replace(hidden, surface="clear face")
    counts = []
    for flaw in (hidden, shown):
        one = piece(60, 24, flaws=(flaw,))
        order = order_of(text, svg=svg)
        grounds = [Ground(sheet=sheet_of(one), label="R1", piece_id="u"), Ground(sheet=order.design.sheet)]
        made = work_out(order, grounds, {"u": one})
        counts.append([len(sheet.laid.places) for sheet in made.sheets])
        assert not [f for sheet in made.sheets for f in sheet.plan.findings if f.code == "flaw-shows"]
    assert counts == [[1, 1], [2]]


def test_one_part_that_fits_on_no_sheet_keeps_no_other_from_its_place():
    made = work_out(order_of("Name,Role\nAnna,Cook\n" + "Bo " * 300 + ",Cook\nCleo,Cook\n"))
    assert [place.part for sheet in made.sheets for place in sheet.laid.places] == [1, 3]
    (told,) = [one for one in made.findings if one.severity == "problem"]
    assert (told.code, told.row) == ("part-no-room", 3)
    assert re.fullmatch(r"Row 3: Bo Bo [Bo ]+… takes 943 x 16 mm and fits on no such sheet\.", told.message)


def test_what_fits_on_no_sheet_is_said():
    with pytest.raises(JobError, match="Not one part fits"):
        work_out(order_of(CLUB, sheet=(30.0, 30.0)))


def test_whoever_cancels_is_heard():
    calls = []

    def stop(share, doing):
        calls.append(share)
        if share > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        work_out(order_of(CLUB), progress=stop)
    assert calls == sorted(calls)


def test_text_that_is_too_long_is_told_with_its_row_and_takes_its_room():
    fields = (Field(name="name", column="Name"),)
    made = fill_order(order_of("Name\nMaximiliane-Charlotte von Tannenberg\nBo\n", fields=fields))
    assert ("text-too-long", 2) in told(made.findings)
    assert made.size_mm(1)[0] > 60
    laid = work_out(order_of("Name\nMaximiliane-Charlotte von Tannenberg\nBo\n", fields=fields, sheet=(300.0, 60.0)))
    assert len(laid.sheets) == 1


def test_the_file_holds_the_order(worked, tmp_path):
    path = tmp_path / "club.tain"
    save_work(worked.order, path)
    assert load_work(path) == worked.order
    data = path.read_bytes()
    assert holds_order(data)
    assert data == order_file_bytes(worked.order)
    with pytest.raises(UnreadableError, match="no whole order"):
        order_from_bytes(data[:-20], name="club.tain")
    content = json.loads(zipfile.ZipFile(BytesIO(data)).read("order.json"))
    for change, said in (
        ({"tain_order": 2}, "newer Tain"),
        ({"more": 1}, "newer Tain"),
        ({"tain_order": "x"}, "no order"),
    ):
        buffer = BytesIO()
        with zipfile.ZipFile(buffer, "w") as archive:
            archive.writestr("order.json", json.dumps(content | change))
            archive.writestr("artwork/original", b"x")
        with pytest.raises(UnreadableError, match=said):
            order_from_bytes(buffer.getvalue(), name="club.tain")
