"""The cells of a workbook (.xlsx) as text, as they are shown: no date as a number, no number without its zeros."""

import datetime
import io
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterable
from typing import Any
from xml.etree.ElementTree import ParseError

from core.errors import UnreadableError
from core.order.lists import MAX_COLUMNS, MAX_ROWS
from core.order.row_findings import RowFinding

_MOST_UNPACKED_BYTES = 200 * 1024 * 1024
_ERRORS = ("#REF!", "#N/A", "#NAME?", "#VALUE!", "#DIV/0!", "#NULL!", "#NUM!")


def workbook_cells(
    data: bytes, *, name: str, sheet: str | None = None
) -> tuple[str, list[tuple[str, ...]], list[RowFinding]]:
    """The name of the sheet that was read (the first that holds anything unless said), its rows, and findings.

    Raises UnreadableError for what is no workbook, is locked, has no such sheet or more rows than can be laid.
    """
    values, formulas = (_opened(data, name, results=results) for results in (True, False))
    names = [one.title for one in values.worksheets]
    if sheet is not None and sheet not in names:
        raise UnreadableError(f"{name} has no sheet “{sheet}”.", hint=f"It has: {', '.join(names)}.")
    for title in [sheet] if sheet is not None else names:
        rows, findings = _rows(values[title], formulas[title], name)
        if any(any(row) for row in rows):
            return title, rows, findings
    raise UnreadableError(f"{name} holds no cells.", hint="Save the list again.")


def _opened(data: bytes, name: str, *, results: bool) -> Any:
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(entry.file_size for entry in archive.infolist()) > _MOST_UNPACKED_BYTES:
                raise UnreadableError(f"{name} holds far more than a list.", hint="Save the list alone.")
        with warnings.catch_warnings():  # of parts that the library does not keep, which nobody asked for
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(io.BytesIO(data), data_only=results, read_only=True, keep_links=False)
    except (zipfile.BadZipFile, zlib.error, KeyError, ValueError, TypeError, AttributeError, OSError, EOFError,
            IndexError, NotImplementedError, RuntimeError, SyntaxError, ParseError):  # fmt: skip
        raise UnreadableError(
            f"{name} is no workbook that can be read here.", hint="Save it unlocked as .xlsx, or as CSV."
        ) from None


def _rows(values: Any, formulas: Any, name: str) -> tuple[list[tuple[str, ...]], list[RowFinding]]:
    rows: list[tuple[str, ...]] = []
    findings: list[RowFinding] = []
    try:
        pairs = zip(_cells(values), _cells(formulas), strict=False)
        for number, (shown, written) in enumerate(pairs, start=1):
            if number > MAX_ROWS + 1 and any(cell.value is not None for cell in shown):
                raise UnreadableError(
                    f"{name} has more than {MAX_ROWS:,} rows; up to so many make one order.",
                    hint="Split it into several lists.",
                )
            rows.append(tuple(_text(cell) for cell in shown[:MAX_COLUMNS]))
            findings += _formula_findings(number, shown, written)
    except (KeyError, ValueError, TypeError, AttributeError, IndexError, zipfile.BadZipFile, zlib.error, SyntaxError,
            ParseError):  # fmt: skip
        raise UnreadableError(f"{name} is damaged.", hint="Save it again, or as CSV.") from None
    while rows and not any(rows[-1]):
        rows.pop()
    width = max((len(row) for row in rows), default=0)
    return [row + ("",) * (width - len(row)) for row in rows], findings


def _cells(sheet: Any) -> Iterable[Any]:
    sheet.reset_dimensions()  # what a file says of its own size is not always true
    rows: Iterable[Any] = sheet.iter_rows()
    return rows


def _formula_findings(number: int, shown: Any, written: Any) -> list[RowFinding]:
    found = []
    for cell, formula in zip(shown, written, strict=False):
        if getattr(formula, "data_type", "") == "f" and cell.value is None:
            message = f"Row {number}: a cell holds a formula whose result was not kept. Save the workbook again."
            found.append(RowFinding(code="list-formula", message=message, severity="warning", row=number))
        elif cell.value in _ERRORS:
            message = f"Row {number}: a cell shows the fault {cell.value}."
            found.append(RowFinding(code="list-formula", message=message, severity="warning", row=number))
    return found


def _text(cell: Any) -> str:
    value = cell.value
    if value is None or value in _ERRORS:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        whole = float(value).is_integer() and abs(value) < 1e15
        zeros = re.fullmatch(r"0+", getattr(cell, "number_format", "") or "")
        if whole:
            return f"{int(value):0{len(zeros.group()) if zeros else 1}d}"
        return f"{value:.10g}"
    if isinstance(value, datetime.datetime):
        return f"{value:%Y-%m-%d}" if value.time() == datetime.time() else f"{value:%Y-%m-%d %H:%M}"
    return str(value)
