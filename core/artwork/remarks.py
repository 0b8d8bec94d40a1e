"""Findings gathered while reading: one sentence a code and subject, however many objects it concerns."""

import re
from dataclasses import dataclass

from core.artwork.drawing import Finding, Missing
from core.findings import Severity

_ONE_OR_MANY = re.compile(r"\[([^|\]]*)\|([^\]]*)\]")
_LONGEST_WORD = 80

Place = tuple[float, float]


@dataclass(slots=True, kw_only=True)
class _Remark:
    severity: Severity
    count: int = 0
    place: Place | None = None


class Remarks:
    """Counts what is worth saying.

    A message may hold ``{count}``, ``[one|many]`` for what depends on it, and names of its own in braces. The first
    known place stands for all; it is in whatever frame the reader uses.
    """

    def __init__(self) -> None:
        self._remarks: dict[tuple[str, str, tuple[tuple[str, str], ...]], _Remark] = {}
        self._spent: dict[str, int] = {}

    def add(
        self,
        code: str,
        message: str,
        *,
        severity: Severity = "warning",
        place: Place | None = None,
        count: int = 1,
        **names: str,
    ) -> None:
        """Count one more of this code, message and names."""
        short = tuple((key, " ".join(name.split())[:_LONGEST_WORD]) for key, name in names.items())
        remark = self._remarks.setdefault((code, message, short), _Remark(severity=severity))
        remark.count += count
        remark.place = remark.place or place

    def allow(self, what: str, amount: int, most: int) -> bool:
        """Whether so much more of something still stays within what one drawing may ask for."""
        self._spent[what] = self._spent.get(what, 0) + amount
        return self._spent[what] <= most

    def findings(self) -> list[tuple[Finding, Place | None]]:
        """Each finding without its place, and the place in the reader's frame."""
        return [
            (Finding(code=code, message=_worded(message, remark.count, names), severity=remark.severity), remark.place)
            for (code, message, names), remark in self._remarks.items()
        ]

    def missing(self, left_out: frozenset[str], unreadable: frozenset[str]) -> list[tuple[Missing, Place | None]]:
        """What remarks of these codes say is not among the shapes, without its place, and the place."""
        return [
            (
                Missing(
                    name="",
                    why=_worded(message, remark.count, names),
                    unreadable=code in unreadable,
                    count=remark.count,
                ),
                remark.place,
            )
            for (code, message, names), remark in self._remarks.items()
            if code in left_out | unreadable
        ]


def _worded(message: str, count: int, names: tuple[tuple[str, str], ...]) -> str:
    number = _ONE_OR_MANY.sub(lambda match: match.group(1 if count == 1 else 2), message)
    return number.format(count=f"{count:,}", **dict(names))
