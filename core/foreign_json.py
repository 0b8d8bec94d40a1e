"""JSON that comes from outside, counted before it is made."""

import json
from typing import Any

from core.errors import UnreadableError

MOST_VALUES = 2_000_000


def read_json(
    data: bytes | str, *, what: str, most_bytes: int, most_values: int = MOST_VALUES, only_numbers: bool = True
) -> Any:
    """The JSON in a file, once it is known that it will not grow beyond what can be held.

    Each value takes some hundred times the byte it may stand in, so they are counted before they are made.
    only_numbers: refuse NaN and infinities here, not only where a figure is checked. Raises UnreadableError naming
    ``what``.
    """
    text = data if isinstance(data, bytes) else data.encode("utf-8", "surrogatepass")
    if len(text) > most_bytes or text.count(b",") + text.count(b"[") + text.count(b"{") > most_values:
        raise UnreadableError(f"{what} holds more than can be read here.")
    try:
        return json.loads(data, parse_constant=_no_number if only_numbers else None)
    except (ValueError, RecursionError):
        raise UnreadableError(f"{what} is damaged: it is no JSON.") from None


def _no_number(word: str) -> None:
    raise ValueError(word)
