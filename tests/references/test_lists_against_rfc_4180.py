"""Separated values: Y. Shafranovich, RFC 4180, Common Format and MIME Type for CSV Files (2005), clause 2."""

import csv
import io

import pytest

from core.order.list_reading import read_list

EXAMPLES = {
    "2.1 each record on a line of its own": "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
    "2.2 no line break behind the last": "aaa,bbb,ccc\r\nzzz,yyy,xxx",
    "2.5 with and without quotes": '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
    "2.7 a quote in a cell is doubled": '"aaa","b""bb","ccc"\r\nzzz,yyy,xxx\r\n',
}


@pytest.mark.parametrize("text", EXAMPLES.values(), ids=EXAMPLES)
def test_examples_of_the_clause(text):
    names = read_list(text.encode(), name="example.csv", has_header=False)
    by_the_library = [tuple(row) for row in csv.reader(io.StringIO(text, newline=""))]
    assert [row.cells for row in names.rows] == by_the_library
    assert len(by_the_library) == 2


def test_a_header_line():
    """2.3, the example's own words; its three names are one, and are told apart."""
    text = "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"
    names = read_list(text.encode(), name="example.csv", has_header=True)
    assert names.columns == ("field_name", "field_name 2", "field_name 3")
    assert [row.cells for row in names.rows] == [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


def test_a_line_break_in_quotes():
    """2.6: a cell with a line break in it stays one cell; a name has one line, so it is read as a space, and told."""
    text = '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx'
    names = read_list(text.encode(), name="example.csv", has_header=False)
    assert [row.cells for row in names.rows] == [("aaa", "b bb", "ccc"), ("zzz", "yyy", "xxx")]
    assert [finding.code for finding in names.findings if finding.row] == ["list-line-break"]
