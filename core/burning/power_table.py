"""Power tables: percent asked for, watts measured; how they are typed, and when they make sense."""

import itertools
import math
from collections.abc import Sequence

from core.errors import UnreadableError

_LIKE = "Write percent = watts with both rising, like 10 = 8.2, 50 = 43, 100 = 91."


def check_power_table(rows: Sequence[tuple[float, float]]) -> None:
    """Raise UnreadableError unless percents and watts both rise, percents from 0 to 100."""
    for percent, watts in rows:
        if not (math.isfinite(percent) and math.isfinite(watts) and 0 <= percent <= 100 and watts >= 0):
            raise UnreadableError(
                f"{percent:g} % giving {watts:g} W makes no sense.", hint="Percent from 0 to 100, watts above 0."
            )
    for (percent, watts), (next_percent, next_watts) in itertools.pairwise(rows):
        if next_percent <= percent or next_watts <= watts:
            raise UnreadableError(
                f"The power table does not rise from {percent:g} % ({watts:g} W) to {next_percent:g} % "
                f"({next_watts:g} W).",
                hint="Write the rows with rising percent; the watts must rise, too.",
            )
    if rows and rows[-1][1] <= 0:
        raise UnreadableError("The power table gives no power.", hint=_LIKE)


def power_table_text(rows: Sequence[tuple[float, float]]) -> str:
    """``"10 = 8.2, 50 = 43"``: percent = watts."""
    return ", ".join(f"{percent:g} = {watts:g}" for percent, watts in rows)


def power_table_from(text: str) -> tuple[tuple[float, float], ...]:
    """The rows of such a text; none for an empty one. Raises UnreadableError when they make no sense."""
    rows = []
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        percent, _, watts = part.partition("=")
        try:
            rows.append((float(percent.strip(" %")), float(watts.strip(" W"))))
        except ValueError:
            raise UnreadableError(
                f"“{part}” is no row of a power table.", hint="Write it like 10 = 8.2, 50 = 43, 100 = 91."
            ) from None
    check_power_table(rows)
    return tuple(rows)
