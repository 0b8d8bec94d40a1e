"""Outlines moved outwards or inwards, for the kerf and for clearances, with round joins.

The beam's own width then leaves every outer corner sharp. The offset of a convex outline obeys Steiner's formula: area
A + P r + π r², length P + 2 π r.
"""

import math

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError

SAGITTA_MM = 0.001
"""How far chords of a rounded corner may lie from its arc."""
_NOTHING_MM = 1e-9


def offset(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region grown (or drawn in, below zero) with round joins, chords within ``SAGITTA_MM`` of the arcs."""
    if abs(distance_mm) < _NOTHING_MM:
        return region
    radius = abs(distance_mm)
    step = math.acos(max(0.0, 1 - min(SAGITTA_MM, radius) / radius))
    quarter = max(4, math.ceil(math.pi / 4 / max(step, 1e-3)))
    return shapely.buffer(region, distance_mm, quad_segs=quarter)


def opening_for(shape: BaseGeometry, clearance_mm: float) -> BaseGeometry:
    """The opening that a shape of this finished size goes into, ``clearance_mm`` wider all round.

    Below zero it is a press fit. Both keep their size when cut with lines moved for the kerf of their own stock.
    Raises UnreadableError.
    """
    if not math.isfinite(clearance_mm):
        raise UnreadableError("The clearance is no number.", hint="Give it in mm, like 0.1, or -0.05 for a press fit.")
    opening = offset(shape, clearance_mm)
    if opening.is_empty:
        raise UnreadableError("Nothing of the opening is left at that clearance.", hint="Press less.")
    return opening
