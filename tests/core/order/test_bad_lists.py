"""What may be wrong with a list, case by case: one sentence each, with its row; the others are made all the same."""

import io
from dataclasses import replace

import ezdxf
import pytest

from core.artwork.drawing import ArtworkSource
from core.errors import UnreadableError
from core.job.job import new_job
from core.order.fields import Field
from core.order.working_out import fill_order
from tests.core.order.designs import order_of

FIELDS = (Field(name="name"), Field(name="role"))
LONG = "Maximiliane-Charlotte von Tannenberg-Hohenlinden"


def said_of(text, **options):
    filled = fill_order(order_of(text, fields=FIELDS, **options))
    return filled, [(one.code, one.row, one.message) for one in filled.findings]


@pytest.mark.parametrize(
    ("text", "code", "row", "words", "parts"),
    [
        ("Name,Role\nAnna,Cook\nBo;Pilot\nKim,Clerk\n", "list-separators", 3, "separated by semicolons", 3),
        ("Name,Role\nAnna,Cook\n=SUM(A1:A9),Pilot\n", "list-formula", 3, "is a formula", 2),
        ("Name,Role\nAn\x07na,Cook\nBo,Pilot\n", "list-control", 2, "control characters", 2),
        ("Name,Role\n<b>Anna</b>,Cook\nBo,Pilot\n", "list-markup", 2, "looks like markup", 2),
        ("Name,Role,Age\nAnna,Cook,7\nBo,Pilot,8\n", "column-no-field", None, "No field uses column Age", 2),
        ("Name,Age\nAnna,7\nBo,8\n", "field-no-column", None, "{role} is in no column", 2),
        ('Name,Role\nAnna,Cook\n"Bo,Pilot\nKim,Clerk\n', "list-unreadable-row", 3, "never closed", 2),
        ("Name,Role\nAnna,Cook\n,\nBo,Pilot\n", "list-empty-row", 3, "is empty", 2),
        ("Name,Role\nAnna,Cook\nBo,Pilot\nANNA,cook\n", "row-doubled", 4, "the same as row 2", 3),
        (f"Name,Role\nAnna,Cook\n{LONG},Pilot\n", "text-too-long", 3, "there is room for", 2),
        ("Name,Role\nAnna,Cook\nBo \U0001fae8,Pilot\n", "glyph-missing", 3, "No installed font", 2),
        ("Name,Role\nAnna,Cook\nBo,Pilot,extra\n", "list-ragged", 3, "has 3 cells", 2),
        ("Name,Role\nAnna,Cook\nBo\ufffdrn,Pilot\n", "list-bad-letters", 3, "were lost", 2),
    ],
)
def test_one_sentence_with_its_row(text, code, row, words, parts):
    filled, told = said_of(text)
    of_code = [one for one in told if one[0] == code]
    assert len(of_code) == 1, told
    assert of_code[0][1] == row and words in of_code[0][2]
    assert of_code[0][2].endswith(".") and "\n" not in of_code[0][2]
    assert len(filled.parts) == parts
    rows = [number or 0 for _, number, _ in told]
    assert rows == sorted(rows)


def test_no_header_is_one_sentence():
    fields = (Field(name="name", column="column A"), Field(name="role", column="column B"))
    filled = fill_order(order_of("Anna Berg,Cook on deck\nBo Lund,Pilot\n", fields=fields))
    assert [(one.code, one.row) for one in filled.findings] == [("list-no-header", None)]
    assert [one.row for one in filled.parts] == [1, 2]


def test_too_many_rows_are_one_sentence():
    with pytest.raises(UnreadableError, match="100,00") as caught:
        order_of("Name\n" + "Anna\n" * 100_000)
    assert "\n" not in str(caught.value)


def test_findings_of_all_steps_stand_in_list_order():
    rows = f"{LONG},Cook\nBo,Pilot\n,\n<i>x</i>,Clerk\nBo,Pilot\n=A1,Cook\n"
    order = order_of(f"Name,Role,Idle\n{rows}", fields=FIELDS)
    filled = fill_order(replace(order, rows_off=(3,)))
    rows = [one.row or 0 for one in filled.findings]
    assert rows == sorted(rows) and {2, 3, 4, 5, 7} <= set(rows)
    assert all(str(one.row) in one.message for one in filled.findings if one.row)


def test_a_text_within_a_dimension_of_a_dxf_is_told_and_the_others_are_filled():
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 4
    model = drawing.modelspace()
    model.add_lwpolyline([(0, 0), (60, 0), (60, 20), (0, 20)], close=True)
    model.add_linear_dim(base=(5, 3), p1=(5, 5), p2=(25, 5), text="{role}").render()
    model.add_text("{name}", height=5).set_placement((5, 10))
    stream = io.StringIO()
    drawing.write(stream)
    source = ArtworkSource(name="plate.dxf", data=stream.getvalue().encode())
    order = order_of("Name,Role\nAnna,Cook\n")
    filled = fill_order(replace(order, design=new_job(source), fields=()))
    told = [one for one in filled.findings if one.code == "field-out-of-reach"]
    assert len(told) == 1 and "“role”" in told[0].message and "Write it beside" in told[0].message
    assert [one.values for one in filled.parts] == [(("name", "Anna"),)]
