"""Findings gathered while reading: one sentence a code and subject, however many entities it concerns."""

from dataclasses import dataclass

from core.artwork.drawing import Finding, Severity


@dataclass(slots=True, kw_only=True)
class _Remark:
    severity: Severity
    count: int = 0
    place: tuple[float, float] | None = None


class Remarks:
    """Counts what is worth saying. Messages hold ``{count}``; a place is kept in the drawing's own units."""

    def __init__(self) -> None:
        self._remarks: dict[tuple[str, str], _Remark] = {}
        self._spent: dict[str, int] = {}

    def add(
        self,
        code: str,
        message: str,
        *,
        severity: Severity = "warning",
        place: tuple[float, float] | None = None,
        count: int = 1,
    ) -> None:
        """Count one more of this code and message; the first known place stands for all."""
        remark = self._remarks.setdefault((code, message), _Remark(severity=severity))
        remark.count += count
        remark.place = remark.place or place

    def allow(self, what: str, amount: int, most: int) -> bool:
        """Whether so much more of something still stays within what one drawing may ask for."""
        self._spent[what] = self._spent.get(what, 0) + amount
        return self._spent[what] <= most

    def findings(self) -> list[tuple[Finding, tuple[float, float] | None]]:
        """Each finding without its place, and the place in drawing units."""
        return [
            (Finding(code=code, message=message.format(count=remark.count), severity=remark.severity), remark.place)
            for (code, message), remark in self._remarks.items()
        ]
