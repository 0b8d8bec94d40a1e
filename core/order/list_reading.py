"""Any list to a NameList: what the bytes are, whether the first row names the columns, what is wrong with which row."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from core.errors import UnreadableError
from core.order.list_text import GUESSED, Dialect, Record, decoded, dialect_of, records
from core.order.list_workbook import workbook_cells
from core.order.lists import MAX_CELL_LETTERS, MAX_COLUMNS, SEPARATOR_WORDS, ListForm, ListRow, NameList
from core.order.row_findings import RowFinding
from core.plain_file import plain_file_bytes

MAX_LIST_BYTES = 32 * 1024 * 1024
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_KNOWN_NAMES = frozenset(
    word
    for words in (
        "name names first firstname surname lastname forename given family title role job department team company club",
        "number no nr count quantity qty pieces room door table text line note size city street date time",
        "vorname nachname anzahl nummer titel zeile stück menge nom prénom nombre numéro quantité apellido nombres",
        "cognome numero voornaam achternaam aantal",
    )
    for word in words.split()
)
"""Words that head columns, common practice, no source."""
_SHOWN = 60
_NOTHING = " ,;|\t\r\n\u00a0\ufeff"
_NUMBER = re.compile(r"[-+]?[\d\s.,/:-]*\d[\d\s.,/:-]*%?")
_MARKUP = re.compile(r"</?[A-Za-z][^>]*>|&[a-z]+;|&#\d+;")


def load_list(
    path: Path,
    *,
    wanted: Iterable[str] = (),
    has_header: bool | None = None,
    sheet: str | None = None,
    encoding: str | None = None,
) -> NameList:
    """The list in a CSV, TSV, text or XLSX file. wanted: names of fields, which tell a header when they head columns.

    has_header, encoding: None finds it out. sheet: of a workbook. Raises UnreadableError.
    """
    data = plain_file_bytes(path, most_bytes=MAX_LIST_BYTES, wanted="Name a CSV, TSV or XLSX file.")
    name = path.name.encode("utf-8", "replace").decode()
    read = read_list(data, name=name, wanted=wanted, has_header=has_header, sheet=sheet, encoding=encoding)
    return replace(read, path=str(path.absolute()).encode("utf-8", "replace").decode())


def read_list(
    data: bytes,
    *,
    name: str,
    wanted: Iterable[str] = (),
    has_header: bool | None = None,
    sheet: str | None = None,
    encoding: str | None = None,
) -> NameList:
    """The list in a file's bytes; as ``load_list``."""
    if not data.strip(b"\0 \t\r\n"):
        raise UnreadableError(f"{name} is empty.", hint="Save the list again.")
    if data.startswith(_OLD_WORKBOOK):
        raise UnreadableError(f"{name} is a workbook of an old kind, or locked.", hint="Save it as .xlsx or CSV.")
    if data.startswith(b"PK\x03\x04"):
        if encoding is not None:
            raise UnreadableError(f"{name} is a workbook, so it is in no encoding.", hint="Leave it out.")
        title, rows, findings = workbook_cells(data, name=name, sheet=sheet)
        found = [Record(number=number, cells=cells) for number, cells in enumerate(rows, start=1)]
        form = ListForm(kind="workbook", sheet=title)
        return _listed(found, form, name, wanted, has_header, findings)
    for magic in (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8"):
        if data.startswith(magic):
            raise UnreadableError(f"{name} is no list.", hint="Save the list as CSV, TSV or XLSX.")
    if sheet is not None:
        raise UnreadableError(f"{name} is no workbook, so it has no sheet “{sheet}”.", hint="Leave the sheet out.")
    text, said = decoded(data, name=name, encoding=encoding)
    guessed = [_guessed(text, said, name)] if said in GUESSED else []
    return _from_text(text, ListForm(kind="text", encoding=said), name, wanted, has_header, guessed)


def _guessed(text: str, encoding: str, name: str) -> RowFinding:
    shown = next((line for line in text.splitlines() if not line.isascii()), "").strip()
    message = (
        f"{name} is not UTF-8; it was read as {encoding}, as in “{shown[:_SHOWN]}”. If a letter is wrong, "
        "save the list as UTF-8 or name its encoding."
    )
    return RowFinding(code="list-encoding", message=message, severity="warning")


def pasted_list(text: str, *, wanted: Iterable[str] = (), has_header: bool | None = None) -> NameList:
    """The list in cells that were copied elsewhere. Raises UnreadableError."""
    if not text.strip():
        raise UnreadableError("There are no cells to paste.", hint="Copy the cells of the list first.")
    return _from_text(text, ListForm(kind="pasted cells"), "pasted cells", wanted, has_header)


def _from_text(
    text: str,
    form: ListForm,
    name: str,
    wanted: Iterable[str],
    has_header: bool | None,
    findings: Sequence[RowFinding] = (),
) -> NameList:
    dialect = dialect_of(text)
    found = records(text, dialect)
    form = replace(form, separator=dialect.separator, quote=dialect.quote if dialect.quotes_used else "")
    return _listed(found, form, name, wanted, has_header, [*findings, *_separator_findings(found, dialect)])


def _separator_findings(found: Sequence[Record], dialect: Dialect) -> list[RowFinding]:
    result = []
    for record in found:
        if record.other_separator:
            words = SEPARATOR_WORDS[record.other_separator], SEPARATOR_WORDS[dialect.separator]
            message = f"Row {record.number} is {words[0]}, the others are {words[1]}; it was read so."
            result.append(RowFinding(code="list-separators", message=message, severity="warning", row=record.number))
    return result


def _listed(
    found: Sequence[Record],
    form: ListForm,
    name: str,
    wanted: Iterable[str],
    has_header: bool | None,
    findings: list[RowFinding],
) -> NameList:
    findings = list(findings)
    filled = [record for record in found if any(cell.strip(_NOTHING) for cell in record.cells)]
    if not filled:
        raise UnreadableError(f"{name} holds no cells.", hint="Save the list again.")
    width = max(len(record.cells) for record in filled)
    if width > MAX_COLUMNS:
        raise UnreadableError(f"{name} has {width:,} columns; a list has up to {MAX_COLUMNS}.")
    header = _is_header(filled, frozenset(one.casefold() for one in wanted)) if has_header is None else has_header
    columns = _columns(filled[0].cells if header else (), width)
    usual = len(filled[0].cells)
    rows = []
    for record in found:
        if header and record.number == filled[0].number:
            continue
        row, told = _row(record, width, usual, columns)
        findings += told
        if row is not None:
            rows.append(row)
    if not header:
        message = f"No row of {name} names its columns; they are called {columns[0]}" + (
            f" to {columns[-1]}." if width > 1 else "."
        )
        findings.append(RowFinding(code="list-no-header", message=message, severity="note"))
    findings.sort(key=lambda one: one.row or 0)
    return NameList(
        name=name, columns=columns, rows=tuple(rows), form=replace(form, has_header=header), findings=tuple(findings)
    )


def _is_header(filled: Sequence[Record], wanted: frozenset[str]) -> bool:
    """By names that are looked for, by words that head columns, or by a word over nothing but numbers."""
    first, *others = filled
    cells = [cell.strip().casefold() for cell in first.cells]
    if not others or not first.whole:
        return bool(wanted.intersection(cells))
    if wanted.intersection(cells):
        return True
    if len(set(cells)) < len(cells) or any(_NUMBER.fullmatch(cell) for cell in cells):
        return False
    words = [set(re.findall(r"[^\W\d_]+", cell)) for cell in cells]
    if sum(bool(said & _KNOWN_NAMES) for said in words) * 2 >= len(cells):
        return True
    for at, cell in enumerate(cells):
        below = [record.cells[at].strip() for record in others if at < len(record.cells) and record.cells[at].strip()]
        if cell and len(below) > 1 and all(_NUMBER.fullmatch(one) for one in below):
            return True
    return False


def _columns(names: Sequence[str], width: int) -> tuple[str, ...]:
    """A name for every column, each once; A, B, C where the list does not say."""
    result: list[str] = []
    for at in range(width):
        plain = _clean(names[at])[0] if at < len(names) else ""
        called = plain or f"column {_letters(at)}"
        number = 2
        while called.casefold() in (one.casefold() for one in result):
            called, number = f"{plain or 'column'} {number}", number + 1
        result.append(called)
    return tuple(result)


def _letters(at: int) -> str:
    return chr(65 + at) if at < 26 else _letters(at // 26 - 1) + chr(65 + at % 26)


def _row(record: Record, width: int, usual: int, columns: Sequence[str]) -> tuple[ListRow | None, list[RowFinding]]:
    """The row with as many cells as there are columns, None where nothing is made of it; and what is told of it."""
    number, told = record.number, []
    if not any(cell.strip(_NOTHING) for cell in record.cells):
        message = f"Row {number} is empty."
        return None, [RowFinding(code="list-empty-row", message=message, severity="note", row=number)]
    if not record.whole:
        message = f"Row {number} can't be read: a quote in it is never closed. Nothing is made of it."
        return None, [RowFinding(code="list-unreadable-row", message=message, severity="warning", row=number)]
    if len(record.cells) != usual:
        many = "1 cell" if len(record.cells) == 1 else f"{len(record.cells)} cells"
        message = f"Row {number} has {many}, the first one has {usual}."
        told.append(RowFinding(code="list-ragged", message=message, severity="warning", row=number))
    cells = []
    for cell, column in zip((*record.cells, *[""] * (width - len(record.cells))), columns, strict=True):
        plain, faults = _clean(cell)
        for code, fault in faults:
            message = f"Row {number}, {column}: {fault}"
            told.append(_cell_finding(code, message, number, column))
        cells.append(plain)
    return ListRow(number=number, cells=tuple(cells)), told


def _cell_finding(code: str, message: str, number: int, column: str) -> RowFinding:
    return RowFinding(
        code=code, message=message, severity="note" if code == "list-markup" else "warning", row=number, column=column
    )


def _clean(cell: str) -> tuple[str, list[tuple[str, str]]]:
    """A cell on one line, without signs that show nothing, and what was wrong with it: (code, words)."""
    faults = []
    lines = [line.strip() for line in re.split(r"[\r\n\v\f\u0085\u2028\u2029]+", cell)]
    text = " ".join(line for line in lines if line)
    if sum(bool(line) for line in lines) > 1:
        faults.append(("list-line-break", "a line break in the cell was read as a space."))
    plain = "".join(letter for letter in text.replace("\t", " ").replace("\u00a0", " ") if not _is_control(letter))
    if len(plain) < len(text):
        faults.append(("list-control", "control characters in the cell were left out."))
    if "\ufffd" in plain:
        faults.append(("list-bad-letters", "letters of the cell were lost before it came here; look at the name."))
    plain = " ".join(plain.split(" ")).strip()
    if re.match(r"=\s*[A-Za-z(+\-\d\"]", plain):
        faults.append(("list-formula", f"“{plain[:40]}” is a formula, and is set as it stands."))
    if _MARKUP.search(plain):
        faults.append(("list-markup", f"“{plain[:40]}” looks like markup, and is set letter by letter."))
    if len(plain) > MAX_CELL_LETTERS:
        faults.append(("list-long-cell", f"the cell has {len(plain):,} letters; {MAX_CELL_LETTERS} were kept."))
        plain = plain[:MAX_CELL_LETTERS]
    return plain, faults


def _is_control(letter: str) -> bool:
    kind = unicodedata.category(letter)
    return kind in ("Cc", "Cs") or letter == "\ufeff"
