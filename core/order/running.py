"""Numbers that run on from part to part: 1 to 24, 001 …, A to F."""

import re
from dataclasses import dataclass

from core.errors import UnreadableError

_SPAN = re.compile(r"\s*(\d{1,9}|[A-Za-z]{1,2})\s*(?:(?:to|-|–|\.\.)\s*(\d{1,9}|[A-Za-z]{1,2})|(?:…|\.\.\.|on))?\s*")
MAX_RUN = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """start: the first, with its leading zeros; stop: the last, empty for no end."""

    start: str
    stop: str = ""

    @property
    def count(self) -> int | None:
        """How many there are, None without an end."""
        return None if not self.stop else _value(self.stop) - _value(self.start) + 1

    def at(self, index: int) -> str | None:
        """The number of a part, from 0; None behind the last one."""
        if index < 0 or (self.count is not None and index >= self.count):
            return None
        value = _value(self.start) + index
        if self.start.isdecimal():
            return f"{value:0{len(self.start)}d}"
        letters = _as_letters(value)
        return letters.lower() if self.start.islower() else letters

    @property
    def words(self) -> str:
        """As it is written."""
        return f"{self.start} to {self.stop}" if self.stop else f"{self.start} …"


def parse_running(text: str) -> Running:
    """ "1 to 24", "001 …", "A to F". Raises UnreadableError."""
    match = _SPAN.fullmatch(text)
    if match is None:
        raise UnreadableError(f"“{text}” are no running numbers.", hint="Write 1 to 24, 001 … or A to F.")
    start, stop = match.group(1), match.group(2) or ""
    if stop and start.isdecimal() != stop.isdecimal():
        raise UnreadableError(f"“{text}” runs from a number to a letter.", hint="Write 1 to 24, or A to F.")
    running = Running(start=start, stop=stop)
    if running.count is not None and not 0 < running.count <= MAX_RUN:
        raise UnreadableError(
            f"“{text}” makes no run of 1 to {MAX_RUN:,} numbers.", hint="The first comes before the last: 1 to 24."
        )
    return running


def _value(text: str) -> int:
    if text.isdecimal():
        return int(text)
    value = 0
    for letter in text.upper():
        value = value * 26 + ord(letter) - 64
    return value


def _as_letters(value: int) -> str:
    letters = ""
    while value > 0:
        value, rest = divmod(value - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
