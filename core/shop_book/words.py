"""What of an entry can be searched for, and what else stands in columns of its own so that it is found at once."""

import hashlib
import json
import re
from collections.abc import Iterator
from typing import Any

_LONGEST = 4_000
_NOT_SEARCHED = frozenset({"settings", "outline", "points", "timing"})
"""Keys whose values nobody looks for: whole documents and rows of coordinates."""
_WORD = re.compile(r"\w", re.UNICODE)


def digest_of(body: str) -> str:
    """A short mark that equal bodies share."""
    return hashlib.sha256(body.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def searched_words(name: str, note: str, body: str) -> str:
    """Name, note and the values of an entry, as one text for the index; a damaged body counts as it stands."""
    try:
        values = " ".join(_values(json.loads(body)))
    except (ValueError, RecursionError):
        values = body
    return f"{name} {note} {values}"[:_LONGEST]


def timed_machine(kind: str, body: str) -> str:
    """The machine's name of a job that was timed; empty for everything else."""
    if kind != "job":
        return ""
    try:
        data = json.loads(body)
    except (ValueError, RecursionError):
        return ""
    timed = isinstance(data, dict) and data.get("timing") is not None
    return str(data.get("machine", "")) if timed else ""


def match_of(words: str) -> str:
    """The words as a query of the index: each has to be the beginning of a word of the entry; empty for none."""
    wanted = [word for word in words.split() if _WORD.search(word)]
    return " ".join('"' + word.replace('"', '""') + '"*' for word in wanted)


def _values(data: Any) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            if key not in _NOT_SEARCHED:
                yield from _values(value)
    elif isinstance(data, list):
        for value in data:
            yield from _values(value)
    elif isinstance(data, (str, int, float)) and not isinstance(data, bool):
        yield str(data)
