"""Text of lists: dialects told by the text, held against the standard library's writer (RFC 4180)."""

import csv
import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
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
