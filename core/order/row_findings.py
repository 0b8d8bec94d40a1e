"""What the maker should know about a row of a list or about the list as a whole."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.findings import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class RowFinding:
    """Something found; its code stands in the registry of findings.

    row: the number of the row as its program counts it, from 1, the header included; None for the whole list.
    column: what the column is called, empty for none.
    """

    code: str
    message: str
    severity: Severity = "warning"
    row: int | None = None
    column: str = ""


def in_list_order(findings: Iterable[RowFinding]) -> tuple[RowFinding, ...]:
    """What is told of the whole list first, then row by row, each once."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda one: one.row or 0))
