"""All causes, and those of a fault."""

from collections.abc import Iterable

from core.errors import UnreadableError
from core.trouble.causes.cause import Cause
from core.trouble.causes.of_burning import BURNING_CAUSES
from core.trouble.causes.of_paint import PAINT_CAUSES
from core.trouble.causes.of_sheet import SHEET_CAUSES

CAUSES: tuple[Cause, ...] = (*PAINT_CAUSES, *BURNING_CAUSES, *SHEET_CAUSES)
BY_CODE = {cause.code: cause for cause in CAUSES}


def causes_of(faults: Iterable[str]) -> tuple[Cause, ...]:
    """The causes that may show as any of these faults, in the table's order."""
    wanted = set(faults)
    return tuple(cause for cause in CAUSES if wanted & {fault for fault, _ in cause.faults})


def cause_named(code: str) -> Cause:
    """The cause of that code. Raises UnreadableError."""
    if code.strip().casefold() not in BY_CODE:
        raise UnreadableError(f"“{code}” is no cause known here.", hint=f"It is one of: {', '.join(BY_CODE)}.")
    return BY_CODE[code.strip().casefold()]
