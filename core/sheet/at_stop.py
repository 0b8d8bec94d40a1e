"""How a sheet of any outline lies against the machine's stop: by which of its edges, or by which points.

The stop is taken to be two straight fences that meet in a corner of the bed. A sheet pushed into that corner touches
each fence where its outline reaches farthest. It is held when one fence holds it along an edge, or at two points apart,
and the other holds it at all: three points settle a flat part's place (the 3-2-1 rule of locating; two on one fence and
one on the other, since the bed is the third plane).
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, get_args

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region
from core.geometry.turning import Turn
from core.sheet.faces import Corner, turn_matrix
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Sheet

Side = Literal["left", "right", "top", "bottom"]
TOUCHING_MM = 0.02
"""What lies no farther from a fence touches it."""
EDGE_MM = 10.0
"""A shorter stretch counts as a point. Common practice, no source."""
SPAN_MM = 20.0
"""Two points nearer to each other do not keep a sheet from turning. Common practice, no source."""
CORNER_MM = 0.5
"""A corner that lacks less than this is there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """Where a sheet touches one fence: stretches (from, to), mm from the stop's corner along the fence."""

    side: Side
    stretches: tuple[tuple[float, float], ...]

    @property
    def edges(self) -> tuple[tuple[float, float], ...]:
        """The stretches that are long enough to be an edge."""
        return tuple(one for one in self.stretches if one[1] - one[0] >= EDGE_MM)

    @property
    def span_mm(self) -> float:
        """From the first to the last place that touches."""
        return self.stretches[-1][1] - self.stretches[0][0]

    @property
    def words(self) -> str:
        """``"the left edge from 40 to 292 mm"``, ``"the top at 12 and 130 mm"``."""
        if self.edges:
            return f"the {self.side} edge " + " and ".join(f"from {a:.0f} to {b:.0f} mm" for a, b in self.edges)
        return f"the {self.side} at " + " and ".join(f"{(a + b) / 2:.0f}" for a, b in self.stretches) + " mm"


@dataclass(frozen=True, kw_only=True, eq=False)
class AtStop:
    """A sheet at the stop in that corner of the bed. gap_mm: how far its outline stays off the corner itself."""

    corner: Corner
    touches: tuple[Touch, Touch]
    gap_mm: float

    @property
    def corner_there(self) -> bool:
        """Whether the sheet fills the stop's corner."""
        return self.gap_mm <= CORNER_MM

    @property
    def held(self) -> bool:
        """Whether it can't turn while it is pushed into the stop."""
        return any(touch.edges or touch.span_mm >= SPAN_MM for touch in self.touches)

    @property
    def by_edges(self) -> bool:
        """Whether an edge lies along each fence."""
        return all(touch.edges for touch in self.touches)

    @cached_property
    def words(self) -> str:
        """What touches, for people; distances from the stop's corner."""
        touching = " and ".join(touch.words for touch in self.touches)
        if self.by_edges and self.corner_there:
            return f"The {self.touches[0].side} and the {self.touches[1].side} edge lie against the stop."
        if self.by_edges:
            return f"Two edges lie against the stop, told from its corner: {touching}."
        if self.held:
            return f"Three points lie against the stop, told from its corner: {touching}."
        return f"Only two points touch the stop, told from its corner: {touching}. The sheet can turn there."


def at_stop(sheet: Sheet, turn: Turn, corner: Corner) -> AtStop:
    """The sheet lying front down, pushed into that corner of the bed. Raises UnreadableError."""
    region = apply_to_region(turn_matrix(turn, sheet), sheet_region(sheet))
    down, across = corner.split()
    x_mm, y_mm = (0.0 if across == "left" else sheet.width_mm), (0.0 if down == "top" else sheet.height_mm)
    beside = _touch(region, across, x_mm, y_mm)  # type: ignore[arg-type]
    along = _touch(region, down, y_mm, x_mm)  # type: ignore[arg-type]
    return AtStop(corner=corner, touches=(beside, along), gap_mm=shapely.distance(region, shapely.Point(x_mm, y_mm)))


def better_corners(sheet: Sheet, turn: Turn, than: AtStop) -> tuple[Corner, ...]:
    """Corners of the bed where the sheet would lie against the stop by two edges and its own corner."""
    others = [at_stop(sheet, turn, corner) for corner in get_args(Corner) if corner != than.corner]
    return tuple(one.corner for one in others if one.by_edges and one.corner_there)


def _touch(region: BaseGeometry, side: Side, at_mm: float, from_mm: float) -> Touch:
    """at_mm: where the fence lies; from_mm: where the stop's corner lies along it."""
    x0, y0, x1, y1 = region.bounds
    upright = side in ("left", "right")
    low, high = at_mm - TOUCHING_MM, at_mm + TOUCHING_MM
    strip = shapely.box(low, y0 - 1, high, y1 + 1) if upright else shapely.box(x0 - 1, low, x1 + 1, high)
    found = []
    for part in shapely.get_parts(shapely.intersection(region, strip)):
        u0, v0, u1, v1 = part.bounds
        ends = (v0, v1) if upright else (u0, u1)
        first, last = sorted(abs(end - from_mm) for end in ends)
        found.append((float(first), float(last)))
    return Touch(side=side, stretches=tuple(sorted(found)))
