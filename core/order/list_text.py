"""Separated cells as text (RFC 4180 and what else is met): encoding, separator and quoting are told by the text."""

import codecs
import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

from core.errors import UnreadableError
from core.order.lists import MAX_ROWS

SEPARATORS = (",", ";", "\t", "|")
_SAMPLE = 400
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig", "UTF-8"),
    (b"\xff\xfe\0\0", "utf-32", "UTF-32"),
    (b"\0\0\xfe\xff", "utf-32", "UTF-32"),
    (b"\xff\xfe", "utf-16", "UTF-16"),
    (b"\xfe\xff", "utf-16", "UTF-16"),
)
_SINGLE_BYTES = (("cp1252", "Windows-1252"), ("mac_roman", "Mac Roman"), ("cp1250", "Windows-1250"))
"""What spreadsheets on either kind of machine write where they do not write UTF-8, for Western and Central Europe."""
GUESSED = frozenset(said for _, said in _SINGLE_BYTES)
"""Nothing in the bytes proves one of these."""
_SIGN_AT_LETTER = re.compile(r"[^\W\d_](?![´’‘“”–—…])[^\x00-\x7f\w\s]|(?![´’‘“”–—…«»¿¡])[^\x00-\x7f\w\s][^\W\d_]")
_CAPITAL_WITHIN = re.compile(r"[^\W\d_][À-ÖØ-ÞŠŽŸŒ](?=[a-zß-ÿšžœ])|[a-z][À-ÖØ-ÞŠŽŸŒ]")
_UNQUOTED = "\0"
_IN_SINGLE = re.compile(r"\s*'[^']*'\s*(?:[,;\t|]\s*'[^']*'\s*)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """separator: empty for one column. quote: the sign round cells. doubled: a quote in a cell is written twice (RFC
    4180, 2.7), else a backslash stands before it."""

    separator: str
    quote: str = '"'
    doubled: bool = True
    quotes_used: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One record: its number from 1, blank ones counted; its cells; whether its quotes close; by which separator it
    was split where that is not the list's."""

    number: int
    cells: tuple[str, ...]
    whole: bool = True
    other_separator: str = ""


def decoded(data: bytes, *, name: str, encoding: str | None = None) -> tuple[str, str]:
    """The text and the name of its encoding: by its mark, else UTF-8, UTF-16 without a mark, or the likeliest of those
    in ``GUESSED``. encoding: what somebody says that it is.

    Raises UnreadableError where it is no text, or in letters that none of these has.
    """
    if encoding is not None:
        return _decoded_as(data, name, encoding)
    for mark, codec, said in _MARKS:
        if data.startswith(mark):
            try:
                return data.decode(codec), said
            except UnicodeDecodeError:
                raise UnreadableError(f"{name} says that it is {said}, but is not.", hint="Save it as UTF-8.") from None
    zeros = [data[start : 2 * _SAMPLE : 2].count(0) for start in (0, 1)]
    half = max(1, len(data[: 2 * _SAMPLE]) // 2)
    for first, codec in ((1, "utf-16-le"), (0, "utf-16-be")):
        if zeros[first] > half / 2 and zeros[1 - first] < half / 8:
            try:
                return data.decode(codec), "UTF-16"
            except UnicodeDecodeError:
                break
    if data.count(0) > len(data) / 50 or b"\0\0\0" in data:
        raise UnreadableError(f"{name} is no list of text.", hint="Save the list as CSV, TSV or XLSX.")
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        found = [(_misfits(text := data.decode(codec, "replace")), text, said) for codec, said in _SINGLE_BYTES]
        _, text, said = min(found, key=lambda one: one[0])  # the first of them where none is likelier
        letters = [letter for letter in text if letter.isalpha()]
        if sum(not letter.isascii() for letter in letters) > len(letters) / 2:  # as Cyrillic, Greek, Japanese come out
            raise UnreadableError(
                f"{name} is not UTF-8, and its letters make no sense in a Western encoding.",
                hint="Save the list as UTF-8, or name its encoding: tain pieces … --encoding cp1251.",
            ) from None
        return text, said


def _decoded_as(data: bytes, name: str, encoding: str) -> tuple[str, str]:
    try:
        return data.decode(encoding).removeprefix("\ufeff"), codecs.lookup(encoding).name
    except UnicodeDecodeError:
        raise UnreadableError(f"{name} is not in {encoding}.", hint="Save the list as UTF-8.") from None
    except (LookupError, ValueError):
        raise UnreadableError(
            f"There is no encoding “{encoding[:40]}”.", hint="Names are utf-8, cp1250, cp1251, shift_jis …"
        ) from None


def _misfits(text: str) -> int:
    """How many letters can't be meant: signs grown together with a letter, capitals within a word of small ones."""
    return len(_SIGN_AT_LETTER.findall(text)) + len(_CAPITAL_WITHIN.findall(text)) + text.count("\ufffd")


def dialect_of(text: str) -> Dialect:
    """The dialect in which most records have equally many cells, more than one; one column where there is none."""
    sample = text[: 200 * _SAMPLE]
    quote, doubled = _quoting(sample)
    best: tuple[float, int, str] = (0.0, 1, "")
    for separator in SEPARATORS:
        if separator not in sample:
            continue
        dialect = Dialect(separator=separator, quote=quote, doubled=doubled)
        found = [record for record in _split(sample, dialect, most=_SAMPLE) if any(record.cells)]
        counts = Counter(len(record.cells) for record in found if record.whole)
        if not counts:
            continue
        cells, often = max(counts.items(), key=lambda item: (item[1], item[0]))
        share = often / len(found)
        if cells == 1:  # most rows have none of these: a sign within a name
            share, cells = 0.0, 1
        if share and (share, cells) > best[:2]:
            best = (share, cells, separator)
    separator = best[2]
    used = any(
        line.lstrip().startswith(quote) or (separator and f"{separator}{quote}" in line) for line in sample.splitlines()
    )
    return Dialect(separator=separator, quote=quote, doubled=doubled, quotes_used=used)


def _quoting(sample: str) -> tuple[str, bool]:
    """The sign round cells, and whether it is doubled within them."""
    lines = [line for line in sample.splitlines() if line.strip()]
    single = sum(bool(_IN_SINGLE.fullmatch(line)) for line in lines)
    if '"' not in sample and lines and single > len(lines) / 2:
        return "'", True
    return '"', not ('\\"' in sample and '""' not in sample)


def records(text: str, dialect: Dialect) -> list[Record]:
    """All records; a record that has another number of cells than most is split by the sign that gives it as many.

    Raises UnreadableError where there are more rows than can be laid.
    """
    found = _split(text, dialect, most=MAX_ROWS + 2)
    if len(found) > MAX_ROWS + 1:
        count = text.count("\n") or text.count("\r")
        raise UnreadableError(
            f"The list has {count + (not text.endswith(chr(10))):,} rows; up to {MAX_ROWS:,} make one order.",
            hint="Split it into several lists.",
        )
    counts = Counter(len(record.cells) for record in found if any(cell.strip() for cell in record.cells))
    usual = max(counts, key=lambda cells: (counts[cells], cells), default=1)
    return [_by_other_sign(record, dialect, usual) for record in found]


def _by_other_sign(record: Record, dialect: Dialect, usual: int) -> Record:
    if len(record.cells) != 1 or usual < 2 or not record.whole:
        return record
    for separator in SEPARATORS:
        other = Dialect(separator=separator, quote=dialect.quote, doubled=dialect.doubled)
        again = _split(record.cells[0], other, most=2)
        if len(again) == 1 and len(again[0].cells) == usual and again[0].whole:
            return Record(number=record.number, cells=again[0].cells, other_separator=separator)
    return record


def _split(text: str, dialect: Dialect, *, most: int) -> list[Record]:
    """Records in order; where a quote is never closed, line by line, so that it costs its own row only."""
    try:
        return [
            Record(number=number, cells=tuple(cells))
            for number, cells in zip(range(1, most + 1), _reader(text, dialect, strict=True), strict=False)
        ]
    except csv.Error:
        pass
    found = []
    for number, line in zip(range(1, most + 1), text.splitlines(), strict=False):
        try:
            cells: list[str] = next(_reader(line, dialect, strict=True), [])
            whole = True
        except csv.Error:
            cells, whole = _plain_cells(line, dialect), False
        found.append(Record(number=number, cells=tuple(cells), whole=whole))
    return found


def _plain_cells(line: str, dialect: Dialect) -> list[str]:
    return line.split(dialect.separator) if dialect.separator else [line]


def _reader(text: str, dialect: Dialect, *, strict: bool):  # type: ignore[no-untyped-def]  # the library's own class
    return csv.reader(
        io.StringIO(text, newline=""),
        delimiter=dialect.separator or _UNQUOTED,
        quotechar=dialect.quote,
        doublequote=dialect.doubled,
        escapechar=None if dialect.doubled else "\\",
        skipinitialspace=dialect.separator != "\t",
        strict=strict,
    )
