"""Text of lists: dialects told by the text, held against the standard library's writer (RFC 4180)."""

import csv
import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.order.list_reading import read_list
from core.order.list_text import SEPARATORS, decoded, dialect_of, records
from core.order.list_workbook import workbook_cells

words = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=8).filter(str.strip)


@settings(max_examples=40)
@given(st.sampled_from(SEPARATORS), st.lists(st.tuples(words, words, words), min_size=3, max_size=6))
def test_quoted_cells_come_back_as_the_standard_library_wrote_them(separator, rows):
    buffer = io.StringIO()
    csv.writer(buffer, delimiter=separator, quoting=csv.QUOTE_ALL).writerows(rows)
    text = buffer.getvalue()
    dialect = dialect_of(text)
    assert dialect.separator == separator
    assert [record.cells for record in records(text, dialect)] == rows


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_encodings_are_told_by_mark_or_by_bytes(codec):
    text = "Name;Zimmer\nZoë Müller;12\nJosé Núñez;7\n" * 3
    assert decoded(text.encode(codec), name="list.csv")[0] == text


def test_bytes_that_are_no_text_are_refused():
    with pytest.raises(UnreadableError):
        decoded(bytes(range(8)) * 40, name="list.csv")


def test_a_workbook_shows_what_its_cells_show():
    import datetime

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Guests"
    sheet.append(["Name", "Room", "Since"])
    sheet.append(["Anna Bérg", 7, datetime.date(2026, 3, 2)])
    sheet["B2"].number_format = "000"
    buffer = io.BytesIO()
    book.save(buffer)
    title, rows, findings = workbook_cells(buffer.getvalue(), name="guests.xlsx")
    assert title == "Guests" and rows[0] == ("Name", "Room", "Since") and not findings
    assert rows[1][:2] == ("Anna Bérg", "007") and "2026" in rows[1][2]
    with pytest.raises(UnreadableError, match="no sheet"):
        workbook_cells(buffer.getvalue(), name="guests.xlsx", sheet="Rooms")


POLISH, RUSSIAN = "Imię;Nr\nŁucja Żółkiewska;1\nStanisław Bąk;2\n", "n,m\nИван Петров,1\nАнна,2\n"


def test_central_european_bytes_are_told_from_western_ones():
    """Read as Windows-1252, without a word, Łucja became £ucja on the badge."""
    assert decoded(POLISH.encode("cp1250"), name="list.csv") == (POLISH, "Windows-1250")
    western = "Name;Nr\nJürgen Größel-Öztürk;1\nÉlodie Peña Ångström;2\n"
    assert decoded(western.encode("cp1252"), name="list.csv") == (western, "Windows-1252")


@pytest.mark.parametrize(
    ("text", "codec"),
    [(RUSSIAN, "cp1251"), ("n,m\nΜαρία Παπαδοπούλου,1\n", "cp1253"), ("n,m\n日本語の名前,1\n東京,2\n", "shift_jis")],
)
def test_letters_of_no_western_encoding_are_refused_until_it_is_named(text, codec):
    with pytest.raises(UnreadableError, match="make no sense in a Western encoding"):
        decoded(text.encode(codec), name="list.csv")
    assert decoded(text.encode(codec), name="list.csv", encoding=codec)[0] == text


@pytest.mark.parametrize("encoding", ["nonsense", "hex", "", "utf-8\0", "idna"])
def test_what_is_no_encoding_is_one_sentence(encoding):
    with pytest.raises(UnreadableError):
        decoded(RUSSIAN.encode("cp1251"), name="list.csv", encoding=encoding)


def test_an_encoding_that_was_guessed_is_told_with_an_example():
    (told,) = [one for one in read_list(POLISH.encode("cp1250"), name="a.csv").findings if one.code == "list-encoding"]
    assert "it was read as Windows-1250, as in “Imię;Nr”" in told.message and told.severity == "warning"
    for data, encoding in ((POLISH.encode("utf-8"), None), (POLISH.encode("cp1250"), "cp1250")):
        names = read_list(data, name="a.csv", encoding=encoding)
        assert names.rows[0].cells[0] == "Łucja Żółkiewska"
        assert "list-encoding" not in [one.code for one in names.findings]
