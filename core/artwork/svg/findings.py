"""What a reader has to say about a file: each thing once, and not ten thousand times."""

from collections import Counter

from core.artwork.drawing import Finding
from core.artwork.svg.limits import MAX_FINDINGS_PER_CODE
from core.findings import Severity


class Findings:
    """Collects findings; past a number of one kind only counts them."""

    def __init__(self) -> None:
        self._found: list[Finding] = []
        self._seen: set[tuple[str, str]] = set()
        self._counts: Counter[str] = Counter()

    def add(
        self,
        code: str,
        message: str,
        *,
        severity: Severity = "warning",
        place_mm: tuple[float, float] | None = None,
        shape_ids: tuple[str, ...] = (),
    ) -> None:
        """Keep a finding, unless the same was said already."""
        if (code, message) in self._seen:
            return
        self._counts[code] += 1
        if self._counts[code] > MAX_FINDINGS_PER_CODE:
            return
        self._seen.add((code, message))
        x_mm, y_mm = place_mm if place_mm else (None, None)
        self._found.append(
            Finding(code=code, message=message, severity=severity, x_mm=x_mm, y_mm=y_mm, shape_ids=shape_ids)
        )

    def all(self) -> tuple[Finding, ...]:
        """All findings in the order they were met, then what was only counted."""
        more = [
            Finding(
                code=code, message=f"{count - MAX_FINDINGS_PER_CODE} more of the same kind ({code}).", severity="note"
            )
            for code, count in self._counts.items()
            if count > MAX_FINDINGS_PER_CODE
        ]
        return (*self._found, *more)
