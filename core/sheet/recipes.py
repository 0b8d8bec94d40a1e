"""Recipes: how one purpose is burned on one stock by one machine."""

from dataclasses import dataclass
from typing import Literal

from core.units import MM_PER_INCH

Air = Literal["off", "low", "high"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a figure comes from, and how sure it is.

    ``kind``: "starting point", "maker's sheet", "measured", "set by hand". ``date`` ISO or empty.
    ``standard_error`` in the figure's own unit where it was fitted.
    """

    kind: str = "starting point"
    date: str = ""
    note: str = ""
    standard_error: float | None = None


STARTING_POINT = Origin(note="Common practice, no source; prove it on a scrap.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """Settings of one layer. ``pitch_mm``, ``scan_angle_deg`` and ``edge_inset_mm`` matter to fills only.

    scan_angle_deg: direction of the scan rows on the bed, 0 along x, towards +y. focus_mm: height of the focus
    above the coat, 0 on it. edge_inset_mm: how far fills are drawn in to make up for spill.
    """

    speed_mm_s: float
    power_pct: float
    passes: int = 1
    pitch_mm: float = MM_PER_INCH / 600
    scan_angle_deg: float = 0.0
    air: Air = "off"
    focus_mm: float = 0.0
    edge_inset_mm: float = 0.0
    origin: Origin = STARTING_POINT

    @property
    def lines_per_inch(self) -> float:
        """Scan lines an inch."""
        return MM_PER_INCH / self.pitch_mm
