"""Places of a machine's bed where nothing may be burned: under clamps, on guides; and how they are typed."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from core.errors import UnreadableError
from core.figures import figure

ZoneKind = Literal["clamp", "guide"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BedZone:
    """A rectangle of the bed, from the top left corner of the bed as it is looked at from above."""

    kind: ZoneKind
    x_mm: float = figure(words="Zone across", unit="mm", least=-1_000, most=100_000)
    y_mm: float = figure(words="Zone down", unit="mm", least=-1_000, most=100_000)
    width_mm: float = figure(words="Width of a zone", unit="mm", least=0.1, most=100_000)
    height_mm: float = figure(words="Height of a zone", unit="mm", least=0.1, most=100_000)

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 on the bed."""
        return (self.x_mm, self.y_mm, self.x_mm + self.width_mm, self.y_mm + self.height_mm)


_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_ROW = re.compile(rf"(\w+)\s+({_NUMBER})\s*,\s*({_NUMBER})\s+({_NUMBER})\s*[x×]\s*({_NUMBER})(?:\s*mm)?")


def zones_text(zones: Sequence[BedZone]) -> str:
    """``"clamp 0,0 30x15; guide 0,580 900x20"``: what it is, where its corner lies, its size, mm."""
    return "; ".join(f"{z.kind} {z.x_mm:g},{z.y_mm:g} {z.width_mm:g}x{z.height_mm:g}" for z in zones)


def zones_from(text: str) -> tuple[BedZone, ...]:
    """The zones of such a text; none for an empty one. Raises UnreadableError."""
    zones = []
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        row = _ROW.fullmatch(part)
        kind = row[1].casefold() if row else ""
        if row is None or kind not in get_args(ZoneKind):
            raise UnreadableError(
                f"“{part}” is no zone of a bed.", hint="Write clamp or guide, its corner, its size: clamp 0,0 30x15."
            )
        x_mm, y_mm, width_mm, height_mm = (float(row[at]) for at in range(2, 6))
        zones.append(BedZone(kind=kind, x_mm=x_mm, y_mm=y_mm, width_mm=width_mm, height_mm=height_mm))  # type: ignore[arg-type]
    return tuple(zones)
