"""Lists as they come: dialects, encodings, headers, workbooks, and rows that something is wrong with."""

import csv
import io
from dataclasses import replace

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.order.list_reading import load_list, pasted_list, read_list
from core.order.lists import MAX_ROWS
from core.order.parts import parts_of, with_matched_fields
from tests.core.order.designs import order_of


def read(text, **options):
    data = text if isinstance(text, bytes) else text.encode()
    return read_list(data, name="club.csv", **options)


def cells(names):
    return [row.cells for row in names.rows]


def codes(names):
    return [(finding.code, finding.row) for finding in names.findings]


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("Name,Role\nÄnne Öz,Treasurer\nBo,Cook\n", ","),
        ("Name;Role\nÄnne Öz;Treasurer\nBo;Cook\n", ";"),
        ("Name\tRole\nÄnne Öz\tTreasurer\nBo\tCook\n", "\t"),
        ("Name|Role\nÄnne Öz|Treasurer\nBo|Cook\n", "|"),
        ('Name;Role\n"Änne Öz";"Treasurer, deputy"\nBo;Cook\n', ";"),
    ],
)
def test_the_separator_is_found_and_shown(text, separator):
    names = read(text)
    assert names.form.separator == separator
    assert names.columns == ("Name", "Role")
    assert cells(names)[0][0] == "Änne Öz"
    assert [row.number for row in names.rows] == [2, 3]
    assert "separated by" in names.form.words


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8"),
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "UTF-16"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_the_encoding_is_found_and_shown(encoding, said):
    names = read("Name;Room\nJürgen Größel;12\nŽofie;13\n".replace("Ž", "Ž").encode(encoding))
    assert names.form.encoding == said
    assert said in names.form.words
    assert cells(names) == [("Jürgen Größel", "12"), ("Žofie", "13")]


def test_no_header_is_told_and_columns_get_letters():
    names = read("Anna Berg,12\nBo Lund,13\n")
    assert names.columns == ("column A", "column B")
    assert len(names.rows) == 2
    assert ("list-no-header", None) in codes(names)
    assert read("Anna Berg\nBo Lund\n").columns == ("column A",)


def test_a_field_that_heads_a_column_makes_a_header():
    text = "Gast\nAnna Berg\nBo Lund\n"
    assert len(read(text).rows) == 3
    assert read(text, wanted=["gast"]).columns == ("Gast",)
    assert len(read(text, has_header=False, wanted=["gast"]).rows) == 3


def test_single_quotes_and_backslashes():
    assert cells(read("'Name','Role'\n'Berg, Anna','Cook'\n")) == [("Berg, Anna", "Cook")]
    assert cells(read('Name,Role\n"Anna \\"Sunny\\" Berg",Cook\n')) == [('Anna "Sunny" Berg', "Cook")]


def test_mixed_separators_are_read_and_told():
    names = read("Name;Role\nAnna;Cook\nBo,Pilot\nKim;Clerk\n")
    assert cells(names) == [("Anna", "Cook"), ("Bo", "Pilot"), ("Kim", "Clerk")]
    assert codes(names) == [("list-separators", 3)]


def test_rows_with_faults_are_told_with_their_row():
    names = read('Name,Role\nAnna,Cook\n\n"Bo,Pilot\nKi\x07m,=SUM(A1)\n<b>Lu</b>,Clerk,extra\n')
    assert [row.number for row in names.rows] == [2, 5, 6]
    assert set(codes(names)) == {
        ("list-empty-row", 3),
        ("list-unreadable-row", 4),
        ("list-control", 5),
        ("list-formula", 5),
        ("list-markup", 6),
        ("list-ragged", 6),
    }
    assert names.rows[2].cells[0] == "<b>Lu</b>"


def test_line_breaks_within_a_cell():
    names = read('Name,Role\n"Anna\r\nBerg",Cook\n')
    assert cells(names) == [("Anna Berg", "Cook")]
    assert codes(names) == [("list-line-break", 2)]


def test_pasted_cells():
    names = pasted_list("Name\tRole\nAnna\tCook\n")
    assert (names.form.kind, names.columns, cells(names)) == ("pasted cells", ("Name", "Role"), [("Anna", "Cook")])
    with pytest.raises(UnreadableError, match="no cells to paste"):
        pasted_list(" \n")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is empty"),
        (b"\n ,,\n,,\n", "no cells"),
        (b"%PDF-1.4 ...", "no list"),
        (b"\xd0\xcf\x11\xe0rest", "old kind"),
        (b"PK\x03\x04rest", "no workbook"),
        (bytes(range(256)) * 20 + b"\0\0\0", "no list of text"),
        (b"Name\n" + b"Anna\n" * 100_000, "100,0"),
    ],
)
def test_what_is_no_list_is_one_sentence(data, said):
    with pytest.raises(UnreadableError, match=said) as caught:
        read(data)
    assert "\n" not in str(caught.value)


def workbook(rows, **formats):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    for place, number_format in formats.items():
        sheet[place].number_format = number_format
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def test_a_workbook():
    data = workbook([["Name", "Room"], ["Jürgen Größel", 7], [None, None], ["Bo", 12.0]], B2="000")
    names = read_list(data, name="club.xlsx")
    assert cells(names) == [("Jürgen Größel", "007"), ("Bo", "12")]
    assert [row.number for row in names.rows] == [2, 4]
    assert codes(names) == [("list-empty-row", 3)]
    assert "workbook, sheet “Sheet”" in names.form.words
    with pytest.raises(UnreadableError, match="no sheet “Two”"):
        read_list(data, name="club.xlsx", sheet="Two")


def test_a_formula_without_its_result():
    names = read_list(workbook([["Name", "Room"], ["=A5&B5", 7], ["Bo", 8]]), name="club.xlsx")
    assert ("list-formula", 2) in codes(names)


def test_too_many_rows_of_a_workbook():
    with pytest.raises(UnreadableError, match="more than 5,000 rows"):
        read_list(workbook([["Name"], *[["Anna"]] * (MAX_ROWS + 2)]), name="club.xlsx")


def test_a_file_is_remembered_by_its_path(tmp_path):
    path = tmp_path / "club.csv"
    path.write_text("Name\nAnna\n")
    assert load_list(path).path == str(path)
    with pytest.raises(UnreadableError, match="There is no file"):
        load_list(tmp_path / "none.csv")
    with pytest.raises(UnreadableError, match="is a folder"):
        load_list(tmp_path)


WORDS = st.text(alphabet="abc äß,;'|.\"", min_size=1, max_size=8).map(lambda text: f"x{text}".strip())


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=3, max_size=8), st.sampled_from(",;\t"))
def test_what_the_standard_library_writes_is_read_back(rows, separator):
    """Python's csv writer, every cell quoted: the cells come back as they went in, or their row is told."""
    buffer = io.StringIO()
    csv.writer(buffer, delimiter=separator, quoting=csv.QUOTE_ALL).writerows([("Name", "Role", "Room"), *rows])
    names = read(buffer.getvalue())
    assert cells(names) == [tuple(" ".join(cell.split(" ")) for cell in row) for row in rows]
    assert names.form.separator == separator


def test_a_thousand_rows_come_to_a_thousand_parts():
    rows = [("Name", "Role"), *((f"Jürgen Größel {number}", f"Rower {number % 7}") for number in range(1000))]
    text = "".join(";".join(row) + "\n" for row in rows)
    for names in (read(text), read_list(workbook(rows), name="club.xlsx")):
        assert len(names.rows) == 1000 and names.findings == ()
        order = replace(order_of(None), names=names)
        assert len(parts_of(with_matched_fields(order, ["name", "role"])).parts) == 1000


@pytest.mark.parametrize(
    ("codec", "said", "names"),
    [
        ("mac_roman", "Mac Roman", ("Ärzte-Übung", "Jürgen Müller", "René Groß", "Åse Ødegård")),
        ("mac_roman", "Mac Roman", ("Anna Berg", "Jörg Bäcker", "Zoë")),
        ("cp1252", "Windows-1252", ("Ärzte-Übung", "Jürgen Müller", "René Groß", "Åse Ødegård")),
        ("cp1252", "Windows-1252", ("Šime Žižka", "O’Brien – “Ned”", "œuvre", "20 €", "ÄRZTE ÜBUNG", "MÜLLER & Söhne")),
        ("cp1252", "Windows-1252", ("«Soleil»", "¡Olé!", "Haus 5½", "Straße 7a")),
    ],
)
def test_names_saved_in_one_byte_a_letter_come_out_right(codec, said, names):
    made = read_list("\r\n".join(("Name;Role", *(f"{name};x" for name in names))).encode(codec), name="club.csv")
    assert [row.cells[0] for row in made.rows] == list(names)
    assert made.form.encoding == said
