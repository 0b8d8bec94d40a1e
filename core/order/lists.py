"""A list: its columns and rows as they were read, and how it was read, so that the maker can see it."""

from dataclasses import dataclass, field
from typing import Literal

from core.order.row_findings import RowFinding

MAX_ROWS = 5_000
"""More rows than this make no order: it is as many parts as are laid at once."""
MAX_COLUMNS = 200
MAX_CELL_LETTERS = 500

Kind = Literal["text", "workbook", "pasted cells"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListForm:
    """How a list was read. encoding and separator are empty for a workbook, separator also for a single column.

    quote: the sign that cells are put in, empty where none is. sheet: of a workbook, the sheet that was read.
    """

    kind: Kind
    encoding: str = ""
    separator: str = ""
    quote: str = ""
    has_header: bool = False
    sheet: str = ""

    @property
    def words(self) -> str:
        """All of it in words, as the maker is shown it."""
        header = "the first row names the columns" if self.has_header else "no row names the columns"
        if self.kind == "workbook":
            return f"workbook, sheet “{self.sheet}”, {header}"
        separator = SEPARATOR_WORDS.get(self.separator, f"separated by “{self.separator}”")
        quoting = f"cells quoted with {self.quote}" if self.quote else "cells not quoted"
        return ", ".join(part for part in (self.encoding, separator, quoting, header) if part)


SEPARATOR_WORDS = {
    "": "one column",
    ",": "separated by commas",
    ";": "separated by semicolons",
    "\t": "separated by tabs",
    "|": "separated by upright bars",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ListRow:
    """One row: its number as its program counts it (from 1, the header included), and its cells, one a column."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NameList:
    """A list as it was read. Rows that hold nothing, or that can't be read, are told in ``findings`` and left out.

    name: of the file, or what stands for it; path: where it was read, to read it again; empty for pasted cells.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[ListRow, ...]
    form: ListForm
    findings: tuple[RowFinding, ...] = field(default=(), metadata={"omit_default": True})
    path: str = field(default="", metadata={"omit_default": True})

    def cell(self, row: ListRow, column: str) -> str:
        """What a row says in the column of that name, empty for a column that is not there."""
        return row.cells[self.columns.index(column)] if column in self.columns else ""
