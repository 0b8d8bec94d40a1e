"""The parts of an order: what each row of its list comes to, and what is told of rows that come to none."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.errors import JobError, UnreadableError
from core.order.fields import Field, check_field, matched
from core.order.lists import MAX_ROWS, ListRow, NameList
from core.order.order import Order
from core.order.row_findings import RowFinding

MAX_PARTS = MAX_ROWS
"""As many copies as are laid at once."""
_FOLDED = str.maketrans({"\u00a0": " "})


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedPart:
    """One part: its number from 1, the row it comes from (0: there is no list), which of the row's parts it is, from 1,
    and what its fields say."""

    number: int
    row: int
    copy: int
    values: tuple[tuple[str, str], ...]

    @property
    def words(self) -> str:
        """What it says, on one line."""
        return ", ".join(value for _, value in self.values if value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """All parts in list order, and what was found on the way: no row goes without a part or a word."""

    parts: tuple[OrderedPart, ...]
    findings: tuple[RowFinding, ...]


def with_matched_fields(order: Order, names: Sequence[str]) -> Order:
    """The order with a field for each of these names: as it was, else filled from the column of the same name."""
    columns = order.names.columns if order.names else ()
    known = {one.name: one for one in order.fields}
    fields = tuple(known.get(name) or Field(name=name) for name in names)
    fields = tuple(
        one if one.column or one.running else replace(one, column=matched(one.name, columns)) for one in fields
    )
    return replace(order, fields=fields)


def parts_of(order: Order) -> Parts:
    """The parts. Raises UnreadableError for figures or columns that make no sense, JobError for too many or none."""
    for one in order.fields:
        check_field(one)
    _check_columns(order)
    findings = [*(order.names.findings if order.names else ()), *_column_findings(order)]
    parts: list[OrderedPart] = []
    seen: dict[tuple[tuple[str, str], ...], int] = {}
    for row, count in _rows(order, findings):
        before = len(parts)
        for copy in range(1, count + 1):
            values = _values(order, row, len(parts))
            if isinstance(values, RowFinding):
                findings.append(values)
                break
            if len(parts) >= MAX_PARTS:
                raise JobError(
                    f"{_where(row, count)} the list comes to more than {MAX_PARTS:,} parts.",
                    hint="Split it into several orders.",
                )
            parts.append(
                OrderedPart(number=len(parts) + 1, row=row.number if row else 0, copy=copy, values=tuple(values))
            )
        if row is not None and len(parts) > before:
            said = tuple((name, value.casefold().translate(_FOLDED)) for name, value in parts[before].values)
            if said in seen and not any(one.running for one in order.fields):
                message = f"Row {row.number} says the same as row {seen[said]}: {parts[before].words}."
                findings.append(RowFinding(code="row-doubled", message=message, severity="warning", row=row.number))
            seen.setdefault(said, row.number)
    if not parts:
        raise JobError("The list comes to no part at all.", hint="Switch rows on, or look at its columns.")
    return Parts(parts=tuple(parts), findings=tuple(findings))


def _check_columns(order: Order) -> None:
    columns = order.names.columns if order.names else ()
    for name in (*(one.column for one in order.fields), order.count_column):
        if name and name not in columns:
            there = f"It has: {', '.join(columns)}." if columns else "There is no list."
            raise UnreadableError(f"The list has no column “{name}”.", hint=there)


def _column_findings(order: Order) -> list[RowFinding]:
    found = []
    for one in order.fields:
        if not one.column and one.running is None:
            message = f"The field {{{one.name}}} is in no column of the list; it stays empty."
            found.append(RowFinding(code="field-no-column", message=message, severity="warning"))
    used = {one.column for one in order.fields} | {order.count_column}
    idle = [column for column in (order.names.columns if order.names else ()) if column not in used]
    if idle:
        many = (
            f"Columns that no field uses: {', '.join(idle)}." if len(idle) > 1 else f"No field uses column {idle[0]}."
        )
        found.append(RowFinding(code="column-no-field", message=many, severity="note"))
    return found


def _where(row: ListRow | None, count: int) -> str:
    if row is None:
        return "With all numbers"
    return f"With row {row.number}" if count == 1 else f"With row {row.number}, {count:,} times,"


def _rows(order: Order, findings: list[RowFinding]) -> list[tuple[ListRow | None, int]]:
    """Rows that parts are made of, and how many of each; the others are told."""
    if order.names is None:
        counts = [one.running.count for one in order.fields if one.running is not None]
        ends = [count for count in counts if count is not None]
        return [(None, 1)] * (min(ends) if ends else 1)
    rows: list[tuple[ListRow | None, int]] = []
    for row in order.names.rows:
        if row.number in order.rows_off:
            message = f"Row {row.number} is switched off."
            findings.append(RowFinding(code="row-off", message=message, severity="note", row=row.number))
            continue
        count, told = _count(order, order.names, row)
        findings += told
        columns = [one.column for one in order.fields if one.column]
        if columns and count and not any(order.names.cell(row, column) for column in columns):
            message = f"Row {row.number} is empty in all columns that fields use; nothing is made of it."
            findings.append(RowFinding(code="row-empty", message=message, severity="warning", row=row.number))
            continue
        if count:
            rows.append((row, count))
    return rows


def _count(order: Order, names: NameList, row: ListRow) -> tuple[int, list[RowFinding]]:
    if not order.count_column:
        return 1, []
    text = names.cell(row, order.count_column).strip()
    try:
        value = float(text.replace(",", ".")) if text else 1.0
        count = int(value)
        if count != value or count < 0:
            raise ValueError
    except (ValueError, OverflowError):
        message = f"Row {row.number}: “{text[:40]}” is no number of parts; nothing is made of it."
        return 0, [RowFinding(code="row-count", message=message, severity="warning", row=row.number)]
    if count == 0:
        message = f"Row {row.number}: none of it is asked for."
        return 0, [RowFinding(code="row-none", message=message, severity="note", row=row.number)]
    return count, []


def _values(order: Order, row: ListRow | None, index: int) -> list[tuple[str, str]] | RowFinding:
    """What the fields of the next part say; a finding where the running numbers are used up."""
    values = []
    for one in order.fields:
        if one.running is not None:
            number = one.running.at(index)
            if number is None:
                at = f"Row {row.number}: " if row else ""
                message = f"{at}the numbers {one.running.words} of {{{one.name}}} are used up; no part is made."
                return RowFinding(
                    code="row-no-number", message=message, severity="warning", row=row.number if row else None
                )
            values.append((one.name, number))
        else:
            values.append((one.name, order.names.cell(row, one.column) if order.names and row else ""))
    return values
