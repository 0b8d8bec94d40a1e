"""How an exported file compared with its plan when it was read back."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadBack:
    """What the comparison came to. compared: the outlines held against the plan point by point, of ``lines``."""

    lines: int
    compared: int
    largest_difference_mm: float

    @property
    def words(self) -> str:
        """The result in one line."""
        some = "" if self.compared == self.lines else f" ({self.compared:,} of them point by point, all counted)"
        lines = "1 line" if self.lines == 1 else f"{self.lines:,} lines"
        return f"read back: {lines}{some}, {self.largest_difference_mm:.3f} mm at most"

    @property
    def data(self) -> dict[str, Any]:
        """The result as the report has it."""
        sampled = {} if self.compared == self.lines else {"compared": self.compared}
        return {"lines": self.lines, "largest_difference_mm": self.largest_difference_mm, **sampled}


def read_back_data(proven: Sequence[ReadBack]) -> dict[str, Any]:
    """What reading several files of one plan back gave, for the report: the worst of them."""
    worst = max(proven, key=lambda one: one.largest_difference_mm)
    compared = min(one.compared for one in proven)
    lines = max(one.lines for one in proven)
    return worst.data | {"lines": lines} | ({"compared": compared} if compared < lines else {})
