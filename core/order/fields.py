"""Fields of a design: what of its text a list fills in, and how text that is too long is fitted."""

import re
from dataclasses import dataclass, field
from typing import Literal

from core.errors import UnreadableError
from core.order.running import Running

Fit = Literal["as it is", "narrower", "smaller", "two lines"]
FITS: tuple[Fit, ...] = ("as it is", "narrower", "smaller", "two lines")

LEAST_PCT = 70.0
"""How narrow or small a text is made at most unless the maker says; common practice, no source."""
MARGIN_MM = 2.0
"""How far text stays off the outline round it; common practice, no source."""

_BRACES = re.compile(r"\{([^{}\\;\r\n]{1,60})\}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field. column: of the list, that fills it; running: numbers that do, in place of a column.

    limit_pct: the least width or size, in per cent of the design's. room_mm: how long the text may be; None: as far as
    the outline round it lets it, less ``margin_mm``.
    """

    name: str
    column: str = ""
    running: Running | None = field(default=None, metadata={"omit_default": True})
    fit: Fit = "as it is"
    limit_pct: float = LEAST_PCT
    room_mm: float | None = field(default=None, metadata={"omit_default": True})
    margin_mm: float = field(default=MARGIN_MM, metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """A text without braces that was made a field: which one of the design's texts, counted from 0, and its name."""

    text: int
    name: str


def names_in(text: str) -> tuple[str, ...]:
    """The fields named in a text, each once, in order."""
    return tuple(dict.fromkeys(found.strip() for found in _BRACES.findall(text) if found.strip()))


def with_values(text: str, values: dict[str, str]) -> str:
    """The text with its fields filled in; one that has no value stays as it stands."""
    return _BRACES.sub(lambda match: values.get(match.group(1).strip(), match.group(0)), text)


def check_field(one: Field) -> Field:
    """The same field. Raises UnreadableError where a figure makes no sense."""
    if one.fit not in FITS:
        raise UnreadableError(f"“{one.fit}” is no way to fit text.", hint=f"Take one of: {', '.join(FITS)}.")
    if not 10.0 <= one.limit_pct <= 100.0:
        raise UnreadableError(f"A limit of {one.limit_pct:g} % can't be.", hint="Give 10 to 100.")
    if one.room_mm is not None and not 0.1 <= one.room_mm <= 10_000.0:
        raise UnreadableError(f"A room of {one.room_mm:g} mm can't be.", hint="Give 0.1 to 10,000 mm.")
    if not 0.0 <= one.margin_mm <= 1_000.0:
        raise UnreadableError(f"A margin of {one.margin_mm:g} mm can't be.", hint="Give 0 to 1,000 mm.")
    return one


def matched(name: str, columns: tuple[str, ...]) -> str:
    """The column that a field of this name is filled from, empty for none: capitals, spaces and dashes do not count."""
    alike = {_plain(column): column for column in reversed(columns)}
    return alike.get(_plain(name), "")


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", "", name.casefold())
